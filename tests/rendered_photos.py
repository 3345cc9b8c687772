"""Photographs of knives of known outline, drawn for the tests alone.

A whole camera: pose, lens distortion, a middle that is not quite the picture's, blur, vignetting,
noise, the curve that a phone writes its pixels with, and the JPEG it writes them into, whose colour
is half as fine as its light. A whole scene: a printed sheet on a desk under
uneven light, a knife leaning from tip to butt above it, its cast shadow and the dark line where it
touches the paper, a blade nearly as bright as paper, a dark or wooden handle.

It shares nothing with ``chape.knife.camera``: rays are bent straight by fixed-point iteration, and
every pixel looks up its colour along its ray. Textures are drawn with exact coverage, so that edges
are known to far less than a pixel.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache
from io import BytesIO

import cv2
import numpy as np
from PIL import Image

from chape.knife.picture import Picture
from chape.knife.reference_sheet import (
    BAR,
    Paper,
    ReferenceSheet,
    marker_cells,
    reference_sheet,
)
from real_camera import RealCamera

#: Texture pixels per mm: about those of a picture of 4 million pixels, so that textures drawn with
#: exact coverage need no oversampling there.
FINE = 6

#: Qualities of JPEG that phones write, from and to.
QUALITIES = (85, 95)

PAPER, INK, DESK = 0.86, 0.035, np.array([0.22, 0.15, 0.10])

#: Colours of handles, linear red, green, blue.
HANDLES = {
    "black": (0.02, 0.02, 0.022),
    "wood": (0.26, 0.11, 0.045),
    "pale wood": (0.55, 0.36, 0.19),
    "grey": (0.16, 0.16, 0.17),
    "green": (0.10, 0.19, 0.07),
}


def _coded(light):
    """What a phone writes for light of 0 to 1, 0 to 255 (IEC 61966-2-1)."""
    high = 1.055 * np.power(light, 1 / 2.4, where=light > 0, out=np.zeros_like(light)) - 0.055
    return np.where(light <= 0.0031308, 12.92 * light, high) * 255


CODED = _coded(np.linspace(0, 1, 16384)).astype(np.float32)


@dataclass(frozen=True)
class Lying:
    """How a knife lies: where its tip is, its turn, which face is up, heights of its mid-plane."""

    tip: tuple[float, float]
    turn: float
    mirrored: bool = False
    tip_height: float = 0.0
    butt_height: float = 9.0

    def frame(self, length):
        """Tip (3,), unit vectors along and across in the sheet's frame."""
        rise = (self.butt_height - self.tip_height) / length
        level = np.sqrt(1 - rise**2)
        c, s = np.cos(self.turn), np.sin(self.turn)
        along = np.array([level * c, level * s, rise])
        across = np.array([-s, c, 0.0]) * (-1 if self.mirrored else 1)
        return np.array([*self.tip, self.tip_height]), along, across


@dataclass(frozen=True)
class Scene:
    """What lies there and how it is lit."""

    outline: np.ndarray
    blade_length: float
    lying: Lying
    sheets: tuple[ReferenceSheet, ...] = (reference_sheet(Paper.A4),)
    placed: tuple[tuple[float, float, float], ...] = ((0.0, 0.0, 0.0),)
    #: how far the paper is kept, per sheet: x from, x to of its own frame
    kept: tuple[tuple[float, float], ...] | None = None
    blade: float = 0.75
    handle: str = "black"
    light: tuple[float, float, float] = (0.0, 0.0, 0.0)
    warmth: float = 0.0
    shadow: tuple[float, float, float, float] = (3.0, -4.0, 2.5, 0.4)
    contact: float = 0.35
    second: bool = False
    knife: bool = True
    extra: tuple = field(default=())


def coverage(rings, origin, shape, fine=FINE, rows=4):
    """Share of each texture pixel inside polygon rings: exact along x, ``rows`` lines along y.

    ``origin`` is the x, y of the first pixel's outer corner; y runs downwards in the texture.
    """
    height, width = shape
    steps = np.zeros((height * rows, width + 2), dtype=np.float32)
    level = (np.arange(height * rows) + 0.5) / rows
    for ring in rings:
        x = (ring[:, 0] - origin[0]) * fine
        y = (origin[1] - ring[:, 1]) * fine
        for x1, y1, x2, y2 in zip(x, y, np.roll(x, -1), np.roll(y, -1), strict=True):
            if y1 == y2:
                continue
            sign = 1.0 if y2 > y1 else -1.0
            first, last = np.searchsorted(level, sorted((y1, y2)))
            row = np.arange(first, last)
            at = np.clip(x1 + (level[row] - y1) / (y2 - y1) * (x2 - x1), 0, width)
            cell = at.astype(int)
            steps[row, cell] += sign * (1 - (at - cell))
            steps[row, cell + 1] += sign * (at - cell)
    inside = np.abs(np.cumsum(steps, axis=1)[:, :width])
    return inside.reshape(height, rows, width).mean(axis=1)


def _span(low, high, count, fine=FINE, start=0.0):
    """Share of each of ``count`` texture pixels between two places."""
    edges = np.arange(count + 1) / fine + start
    inside = np.clip(edges, low, high)
    return (inside[1:] - inside[:-1]) * fine


@cache
def sheet_texture(sheet):
    """Linear grey of a printed sheet, its first row at the top of the paper."""
    width, height = sheet.size
    columns, rows = round(width * FINE) + 1, round(height * FINE) + 1
    ink = np.zeros((rows, columns), dtype=np.float32)
    top = height

    def box(x1, x2, y1, y2):
        ink[...] = np.maximum(
            ink, np.outer(_span(top - y2, top - y1, rows), _span(x1, x2, columns))
        )

    for number, corners in sheet.corners.items():
        black = marker_cells(number)
        left, upper = corners[0]
        side = corners[1, 0] - corners[0, 0]
        cell = side / 6
        y_share = [
            _span(top - upper + k * cell, top - upper + (k + 1) * cell, rows) for k in range(6)
        ]
        x_share = [_span(left + k * cell, left + (k + 1) * cell, columns) for k in range(6)]
        for r, c in np.argwhere(black):
            rr, cc = np.flatnonzero(y_share[r]), np.flatnonzero(x_share[c])
            ink[np.ix_(rr, cc)] += np.outer(y_share[r][rr], x_share[c][cc])
    (x1, y), (x2, _) = sheet.bar
    scale = (x2 - x1) / BAR
    box(x1, x2, y - 0.075 * scale, y + 0.075 * scale)
    return PAPER + (INK - PAPER) * np.clip(ink, 0, 1)


def knife_texture(scene, random):
    """Linear colour and coverage of a knife, (h, w, 4), and its first pixel's corner."""
    low, high = scene.outline.min(axis=0) - 2, scene.outline.max(axis=0) + 2
    columns, rows = (np.ceil((high - low) * FINE)).astype(int)
    origin = (low[0], high[1])
    x = low[0] + (np.arange(columns) + 0.5) / FINE
    y = high[1] - (np.arange(rows) + 0.5) / FINE
    streak = cv2.GaussianBlur(random.standard_normal((1, columns)).astype(np.float32), (0, 0), 40)
    streak = streak[0] / max(np.abs(streak).max(), 1e-6)
    bevel = np.where(y - low[1] - 2 < 7, 0.88, 1.0)
    steel = scene.blade * PAPER * np.outer(bevel, 1 + 0.10 * streak)
    colour = np.repeat(steel[..., None], 3, axis=2) * np.array([0.985, 1.0, 1.015])
    grain = cv2.GaussianBlur(
        random.standard_normal((rows, columns)).astype(np.float32), (0, 0), 12, sigmaY=2
    )
    grain = 1 + 0.25 * grain / max(grain.std() * 3, 1e-6)
    handle = x >= scene.blade_length
    colour[:, handle] = (np.array(HANDLES[scene.handle]) * grain[..., None])[:, handle]
    alpha = coverage([scene.outline], origin, (rows, columns))
    return np.dstack([colour * alpha[..., None], alpha]).astype(np.float32), origin


def _look_up(camera, oversample):
    """Rays on a net of every 8th pixel, and how a net is stretched to all pixels."""
    width, height = camera.size
    block = 8
    columns, rows = -(-width // block) + 2, -(-height // block) + 2
    u = block * (np.arange(columns) - 1 + 0.5) - 0.5
    v = block * (np.arange(rows) - 1 + 0.5) - 0.5
    rays = camera.rays(*np.meshgrid(u, v))

    def stretch(net):
        factor = block * oversample
        fine = cv2.resize(
            net.astype(np.float32),
            (columns * factor, rows * factor),
            interpolation=cv2.INTER_LINEAR,
        )
        return fine[factor : factor + height * oversample, factor : factor + width * oversample]

    return rays, stretch


def _lit(scene, texture, sheet, place, knife, knife_origin):
    """A sheet's texture under its light, with the knife's shadow on it, (h, w, 3)."""
    rows, columns = texture.shape
    across, up, bow = scene.light
    x = np.linspace(-1, 1, columns, dtype=np.float32)
    y = np.linspace(1, -1, rows, dtype=np.float32)[:, None]
    light = 1 + across * x + up * y + bow * (x * x + y * y)
    if scene.knife:
        light = light * _shadow(scene, texture.shape, sheet, place, knife, knife_origin)
    warm = np.array([1 + scene.warmth, 1.0, 1 - scene.warmth], dtype=np.float32)
    return ((texture * light)[..., None] * warm).astype(np.float32)


def _shadow(scene, shape, sheet, place, knife, knife_origin):
    coarse = 4
    rows, columns = shape[0] // coarse, shape[1] // coarse
    tip, along, turned = scene.lying.frame(np.ptp(scene.outline[:, 0]))
    step = coarse / FINE
    x, y = np.meshgrid(
        (np.arange(columns) + 0.5) * step, sheet.size[1] - (np.arange(rows) + 0.5) * step
    )
    c, s = np.cos(place[2]), np.sin(place[2])
    x, y = place[0] + c * x - s * y, place[1] + s * x + c * y
    dx, dy, soft, dark = scene.shadow
    found = []
    for move, width in (((dx, dy), soft), ((0.0, 0.0), 0.9)):
        away = np.stack([x - tip[0] - move[0], y - tip[1] - move[1]], axis=-1)
        a, b = away @ along[:2], away @ turned[:2]
        u = (a - knife_origin[0]) * FINE - 0.5
        v = (knife_origin[1] - b) * FINE - 0.5
        hidden = cv2.remap(
            np.ascontiguousarray(knife[..., 3]),
            u.astype(np.float32),
            v.astype(np.float32),
            cv2.INTER_LINEAR,
        )
        found.append(cv2.GaussianBlur(hidden, (0, 0), max(width / step, 0.5)))
    shade = (1 - dark * found[0]) * (1 - scene.contact * found[1])
    return cv2.resize(shade, (shape[1], shape[0]), interpolation=cv2.INTER_LINEAR)


def photograph(
    scene, camera, seed=0, *, blur=0.9, noise=2.5, exposure=1.0, oversample=1, quality=None
):
    """Return the picture, (h, w, 3) uint8; ``blur`` in pixels, ``noise`` in steps of 255.

    It has been through a JPEG of a ``quality`` that the seed draws from ``QUALITIES``; 0 leaves
    that out.
    """
    random = np.random.default_rng(seed)
    rays, stretch = _look_up(camera, oversample)
    stands = np.array(camera.stands)
    knife, knife_origin = knife_texture(scene, random)
    size = (camera.size[1] * oversample, camera.size[0] * oversample)
    seen = np.empty((*size, 3), dtype=np.float32)
    seen[:] = DESK
    ground = stands[:2] - stands[2] * rays[..., :2] / rays[..., 2:]
    kept = scene.kept or tuple((0.0, sheet.size[0]) for sheet in scene.sheets)
    for sheet, place, (first, last) in zip(scene.sheets, scene.placed, kept, strict=True):
        texture = _lit(scene, sheet_texture(sheet), sheet, place, knife, knife_origin)
        c, s = np.cos(place[2]), np.sin(place[2])
        away = ground - np.array(place[:2])
        own = np.stack(
            [c * away[..., 0] + s * away[..., 1], c * away[..., 1] - s * away[..., 0]], -1
        )
        u = stretch(own[..., 0] * FINE - 0.5)
        v = stretch((sheet.size[1] - own[..., 1]) * FINE - 0.5)
        paper = cv2.remap(texture, u, v, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        on = (u > first * FINE) & (u < last * FINE) & (v > 0) & (v < sheet.size[1] * FINE)
        seen[on] = paper[on]
    if scene.knife:
        for lying in (scene.lying, *scene.extra):
            _lay(
                seen, knife, knife_origin, lying, np.ptp(scene.outline[:, 0]), rays, stands, stretch
            )
    pixels = _developed(seen, camera, random, blur, noise, exposure, oversample)
    if quality is None:
        quality = int(random.integers(QUALITIES[0], QUALITIES[1] + 1))
    return through_jpeg(pixels, quality) if quality else pixels


def through_jpeg(pixels, quality):
    """The picture as read back from a JPEG whose colour is halved both ways, as phones write it."""
    written = BytesIO()
    Image.fromarray(pixels).save(written, "JPEG", quality=quality, subsampling="4:2:0")
    return np.asarray(Image.open(written).convert("RGB"))


def _lay(seen, knife, origin, lying, length, rays, stands, stretch):
    tip, along, across = lying.frame(length)
    normal = np.cross(along, across)
    reach = ((tip - stands) @ normal) / (rays @ normal)
    spot = stands + reach[..., None] * rays - tip
    u = stretch((spot @ along - origin[0]) * FINE - 0.5)
    v = stretch((origin[1] - spot @ across) * FINE - 0.5)
    near = (u > -2) & (u < knife.shape[1] + 2) & (v > -2) & (v < knife.shape[0] + 2)
    rows, columns = np.flatnonzero(near.any(axis=1)), np.flatnonzero(near.any(axis=0))
    if len(rows) == 0:
        return
    box = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    over = cv2.remap(knife, u[box], v[box], cv2.INTER_LINEAR)
    seen[box] = over[..., :3] + (1 - over[..., 3:]) * seen[box]


def _developed(seen, camera, random, blur, noise, exposure, oversample):
    if blur > 0:
        seen = cv2.GaussianBlur(seen, (0, 0), blur * oversample)
    if oversample > 1:
        seen = cv2.resize(seen, camera.size, interpolation=cv2.INTER_AREA)
    width, height = camera.size
    x = (np.arange(width, dtype=np.float32) - width / 2) / width
    y = (np.arange(height, dtype=np.float32) - height / 2)[:, None] / width
    seen = seen * (exposure * (1 - 0.35 * (x * x + y * y)))[..., None]
    coded = CODED[(np.clip(seen, 0, 1) * (len(CODED) - 1) + 0.5).astype(np.uint16)]
    coded += noise * random.standard_normal(coded.shape, dtype=np.float32)
    return np.clip(np.rint(coded), 0, 255).astype(np.uint8)


def knife_outline(kind, length=220.0):
    """Closed outlines (n, 2) in the knife frame, counter-clockwise, and the blade's length."""
    t = np.linspace(0, 1, 160)
    blade = 0.52 * length
    if kind == "drop point":
        lower = np.column_stack(
            [
                blade * t,
                15 - 15 * np.minimum(1, (t / 0.45)) ** 0.6 * (2 - np.minimum(1, t / 0.45)) ** 0.4,
            ]
        )
        upper = np.column_stack([blade * t, 15 + 12 * (1 - (1 - t) ** 2.2)])
        deep = 4.0
    elif kind == "straight":
        lower = np.column_stack([blade * t, np.zeros(160)])
        lower[:, 1] = np.where(t < 0.14, 20 * (1 - t / 0.14), 0.0)
        upper = np.column_stack([blade * t, 20 + 6 * np.minimum(1, t / 0.5)])
        deep = 2.0
    else:
        half = 14 * np.minimum(1, t / 0.4) ** 0.75
        lower = np.column_stack([blade * t, 14 - half])
        upper = np.column_stack([blade * t, 14 + half])
        deep = 5.0
    s = np.linspace(0, 1, 220)
    x = blade + (length - blade) * s
    swell = 2.5 * np.sin(2 * np.pi * s) ** 2
    middle = (lower[-1, 1] + upper[-1, 1]) / 2
    handle_half = 12.5 + swell
    guard = deep * np.exp(-(((s - 0.02) / 0.03) ** 2))
    round_off = np.sqrt(np.clip(1 - np.clip((s - 0.93) / 0.07, 0, 1) ** 2, 0, 1))
    lower_handle = np.column_stack([x, middle - (handle_half + guard) * (0.35 + 0.65 * round_off)])
    upper_handle = np.column_stack(
        [x, middle + (handle_half + 0.6 * guard) * (0.35 + 0.65 * round_off)]
    )
    ring = np.vstack([lower, lower_handle, upper_handle[::-1], upper[::-1][:-1]])
    if not np.allclose(lower[0], upper[0]):
        ring = np.vstack([ring, upper[:1]])
    return ring, blade


def picture_of(pixels, focal_35=None):
    """The picture as ``read_picture`` would give it."""
    return Picture(pixels, focal_35, None)


__all__ = ["Lying", "RealCamera", "Scene", "knife_outline", "photograph", "picture_of", "replace"]
