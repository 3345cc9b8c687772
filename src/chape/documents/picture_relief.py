"""Views of moulds and fixtures: a height field as a lit block, seen from above and aside.

Parallel projection. Plan directions ``right`` and ``forward`` follow from the azimuth a, and a
point (x, y, z) comes to stand on the picture at

    across = x cos a − y sin a
    up     = (x sin a + y cos a) sin e + z cos e          (e: elevation of the eye)

Each picture column is walked from the near edge to the far one, and paints only what rises above
everything nearer (`relief_paint.py`). The light is one sun with soft shadows, and a sky that is
dimmer where walls hide it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.documents import palette
from chape.documents.relief_light import Shades, light_on
from chape.documents.relief_paint import paint

if TYPE_CHECKING:
    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.tooling.model import RoundHole

Pixels = npt.NDArray[np.uint8]
Indices = npt.NDArray[np.uint16]

#: Each pixel is the mean of this many samples both ways.
SAMPLES = 2

#: A line on the surface stays hidden behind what lies nearer by more than this, mm.
HIDES = 2.0

#: Rows of the colour table: shades of the block, of the bench, then one for each line colour.
_TONES, _BENCH = 1024, 256
_INKS = _TONES + _BENCH
_SHADOW = palette.Colour(92, 84, 74)

#: How dark the floor of a drilled hole is shown.
HOLE_LIGHT = 0.16


@dataclass(frozen=True, slots=True)
class Material:
    """Colours of a block in full shade, in plain light, and where it shines."""

    shade: Colour
    plain: Colour
    shine: Colour


MOULD = Material(palette.Colour(70, 58, 48), palette.Colour(226, 211, 186), palette.WASH)
FIXTURE = Material(
    palette.Colour(28, 47, 54), palette.Colour(142, 172, 174), palette.Colour(240, 246, 244)
)


@dataclass(frozen=True, slots=True)
class View:
    """Where the eye is.

    Attributes:
        azimuth: turned about the upright, radians; 0 looks along +y.
        elevation: above the horizon, radians.
        columns: width of the picture, pixels.
    """

    azimuth: float = radians(-28)
    elevation: float = radians(48)
    columns: int = 1200


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """What is shown: the top of a plate, its size, and what is drawn on it.

    Attributes:
        surface: top, covering the plate.
        width, depth: of the plate from the frame's origin, mm.
        z_bottom: underside, mm.
        holes: shown as dark bores.
        lines: (n, 2) polylines drawn on the surface, each with its colour.
    """

    surface: HeightField
    width: float
    depth: float
    z_bottom: float
    holes: tuple[RoundHole, ...] = ()
    lines: tuple[tuple[Floats, Colour], ...] = ()


def relief(block: Block, material: Material, view: View | None = None) -> Pixels:
    """Return the view as (rows, columns, 3) pixels on white paper."""
    view = View() if view is None else view
    surface = _drilled(block)
    light = light_on(surface)
    light[_hole_mask(block)] = HOLE_LIGHT
    frame = _Frame.around(block, view)
    shape = (frame.rows, frame.columns)
    tone: Shades = np.full(shape, -1.0, np.float32)
    away: Shades = np.full(shape, -1e9, np.float32)
    paint(
        tone,
        away,
        surface.z,
        light,
        np.array([surface.grid.x0, surface.grid.y0, surface.grid.spacing]),
        np.array([block.width, block.depth, block.z_bottom]),
        np.array([cos(view.azimuth), sin(view.azimuth), cos(view.elevation), sin(view.elevation)]),
        np.array([frame.across, frame.up, frame.pixel]),
    )
    index = _indexed(tone, frame.ground(block, view))
    for number, (points, _) in enumerate(block.lines):
        _draw_line(index, _INKS + number, away, surface, points, view, frame)
    return _averaged(index, _inks(material, tuple(colour for _, colour in block.lines)))


@dataclass(frozen=True, slots=True)
class _Frame:
    """The picture's window: lower-left corner, size of a sample, and samples both ways."""

    across: float
    up: float
    pixel: float
    rows: int
    columns: int

    @classmethod
    def around(cls, block: Block, view: View) -> _Frame:
        """Return the window that holds the whole block and its shadow."""
        top = float(block.surface.z.max())
        corners = np.array(
            [
                (x, y, z)
                for x in (0.0, block.width)
                for y in (0.0, block.depth)
                for z in (block.z_bottom, top)
            ]
        )
        across, up = _projected(corners, view)
        margin = 0.035 * float(np.ptp(across))
        columns = view.columns * SAMPLES
        pixel = (float(np.ptp(across)) + 2 * margin) / columns
        rows = int(np.ceil((float(np.ptp(up)) + 2 * margin) / pixel / SAMPLES)) * SAMPLES
        return cls(across.min() - margin, up.min() - margin, pixel, rows, columns)

    def ground(self, block: Block, view: View) -> Floats:
        """Return how much light the bench keeps at every pixel, (rows/2, columns/2)."""
        step = self.pixel * SAMPLES
        across = self.across + step * (np.arange(self.columns // SAMPLES) + 0.5)[None, :]
        up = self.up + step * (np.arange(self.rows // SAMPLES)[::-1] + 0.5)[:, None]
        forward = (up - block.z_bottom * cos(view.elevation)) / sin(view.elevation)
        x = across * cos(view.azimuth) + forward * sin(view.azimuth)
        y = -across * sin(view.azimuth) + forward * cos(view.azimuth)
        beside_x = np.maximum(np.maximum(-x, x - block.width), 0)
        beside_y = np.maximum(np.maximum(-y, y - block.depth), 0)
        # The shadow of a block under an even sky, near enough: it fades with the distance.
        reach = 0.011 * (block.width + block.depth) / 2
        dark = np.exp(-np.hypot(beside_x, beside_y) / reach)
        kept: Floats = 1 - np.maximum(0.45 * dark - 0.02, 0)
        return kept


def _projected(points: Floats, view: View) -> tuple[Floats, Floats]:
    """Return ``across`` and ``up`` of (n, 3) points."""
    a, e = view.azimuth, view.elevation
    x, y, z = points.T
    return x * cos(a) - y * sin(a), (x * sin(a) + y * cos(a)) * sin(e) + z * cos(e)


def _hole_mask(block: Block) -> npt.NDArray[np.bool_]:
    """Return which nodes lie inside a hole."""
    grid = block.surface.grid
    mask = np.zeros(grid.shape, np.bool_)
    x, y = grid.x, grid.y
    for hole in block.holes:
        # A bore narrower than a few nodes would vanish on the picture.
        radius = max(hole.diameter / 2, 1.5 * grid.spacing)
        i = np.flatnonzero(np.abs(x - hole.x) <= radius)
        j = np.flatnonzero(np.abs(y - hole.y) <= radius)
        if not len(i) or not len(j):
            continue
        inside = (x[i][None, :] - hole.x) ** 2 + (y[j][:, None] - hole.y) ** 2 <= radius**2
        mask[j[0] : j[-1] + 1, i[0] : i[-1] + 1] |= inside
    return mask


def _drilled(block: Block) -> HeightField:
    """Return the surface with its bores sunk, as far as the eye can follow them."""
    mask = _hole_mask(block)
    z = np.where(mask, np.maximum(block.surface.z - 4.0, block.z_bottom), block.surface.z)
    return block.surface.with_z(z)


def _indexed(tone: Shades, ground: Floats) -> Indices:
    """Turn light into rows of the table ``_inks``: block from 0 to 2, bench from 0 to 1."""
    bench = (_TONES + ground * (_BENCH - 1)).astype(np.uint16)
    index: Indices = np.repeat(np.repeat(bench, SAMPLES, axis=0), SAMPLES, axis=1)
    painted = tone >= 0
    index[painted] = np.minimum(tone[painted] * (_TONES / 2), _TONES - 1).astype(np.uint16)
    return index


def _inks(material: Material, lines: tuple[Colour, ...]) -> npt.NDArray[np.uint16]:
    """Return the colour table: block from shade over plain to shine, bench, then line colours."""
    tone = np.linspace(0, 2, _TONES)
    ramp = [material.shade, material.plain, material.shine]
    block = np.column_stack(
        [np.interp(tone, [0, 1, 2], channel) for channel in zip(*ramp, strict=True)]
    )
    kept = np.linspace(0, 1, _BENCH)
    bench = np.column_stack(
        [np.interp(kept, [0, 1], channel) for channel in zip(_SHADOW, palette.PAPER, strict=True)]
    )
    table = np.vstack([block, bench, *(np.array([colour]) for colour in lines)])
    inks: npt.NDArray[np.uint16] = np.rint(table).astype(np.uint16)
    return inks


def _draw_line(
    index: Indices,
    ink: int,
    away: Shades,
    surface: HeightField,
    points: Floats,
    view: View,
    frame: _Frame,
) -> None:
    """Draw a polyline on the surface where nothing nearer hides it. Changes ``index``."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    fine = np.arange(0, along[-1], frame.pixel / 2)
    plan = np.column_stack([np.interp(fine, along, points[:, axis]) for axis in (0, 1)])
    across, height = _projected(np.column_stack([plan, surface.at(plan)]), view)
    forward = plan[:, 0] * sin(view.azimuth) + plan[:, 1] * cos(view.azimuth)
    column = ((across - frame.across) / frame.pixel).astype(np.int64)
    row = frame.rows - 1 - ((height - frame.up) / frame.pixel).astype(np.int64)
    for down in (-1, 0, 1):
        for aside in (-1, 0, 1):
            r, c = row + down, column + aside
            on = (r >= 0) & (r < frame.rows) & (c >= 0) & (c < frame.columns)
            r, c = r[on], c[on]
            # ``away`` holds how far off the painted sample lies; a nearer one hides the line.
            seen = away[r, c] >= forward[on] - HIDES
            index[r[seen], c[seen]] = ink


def _averaged(index: Indices, inks: npt.NDArray[np.uint16]) -> Pixels:
    """Return the mean of each pixel's samples, (rows, columns, 3)."""
    total = sum(
        inks[index[down::SAMPLES, aside::SAMPLES]]
        for down in range(SAMPLES)
        for aside in range(SAMPLES)
    )
    return np.asarray(total // SAMPLES**2).astype(np.uint8)
