"""A bank card on the scanner's glass, by which the scan's scale is checked.

A card of ISO/IEC 7810 size ID-1 is 85.60 mm long and 53.98 mm wide; its corners are rounded by
2.88 to 3.48 mm. An unused card keeps to 85.47 to 85.72 and 53.92 to 54.03 mm (both from memory of
the standard). It is told from other things by its shape, so it may lie anyhow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from chape.knife.edge import find_edge

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.edge import Sample
    from chape.knife.segment import Flat

    Mask = npt.NDArray[np.bool_]

#: Length, width and corner radius, mm.
LONG, SHORT, CORNER = 85.60, 53.98, 3.18

#: How far the mean of a card's two sides may be off the standard's, as a share.
CARD_SPREAD = 0.0015

#: Sides are looked for between these sizes, mm: a wrong resolution makes a card seem so small or
#: large.
SMALLEST, LARGEST = 12.0, 400.0

#: A thing is a card where its sides' ratio is within this of a card's, as a share, and its corners
#: are cut by 0.4 to 1.7 times what a card's are.
SAME_RATIO, CORNERS = 0.012, (0.4, 1.7)

#: What differs from the background by this many steps of 255 is something, at least.
LEAST_STEP = 12.0

#: Paper is kept this far round the card when the knife is looked for, mm.
ROUND = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Card:
    """A card that was found.

    Attributes:
        length, width: as they measure at the scan's stated scale, mm.
        corners: (4, 2) where its sides meet, mm.
        covered: (h, w) pixels of the flat picture that it covers, and a rim.
    """

    length: float
    width: float
    corners: Floats
    covered: Mask

    @property
    def scale(self) -> float:
        """True mm per mm as scanned: the mean of both sides, each weighed by its length."""
        return float((LONG + SHORT) / (self.length + self.width))

    @property
    def apart(self) -> float:
        """How far the scales of the two sides differ, as a share."""
        return abs((self.length / LONG) / (self.width / SHORT) - 1)


def find_card(flat: Flat, sample: Sample, blur: float) -> Card | None:
    """Return the card in a flat picture, None where there is none.

    Args:
        flat: the whole scan.
        sample: its light at places, mm, as ``find_edge`` wants it.
        blur: of the picture, mm.
    """
    for ring in _things(flat):
        (_, _), sides, _ = cv2.minAreaRect(ring.astype(np.float32))
        long, short = max(sides), min(sides)
        if not (short >= SMALLEST and long <= LARGEST and _is_card(long, short, 4 * SAME_RATIO)):
            continue
        outline = shapely.Polygon(ring).buffer(0.4)
        near = shapely.get_coordinates(shapely.geometry.polygon.orient(outline).exterior)[:-1]
        edge = find_edge(near, sample, blur)
        fitted = _sides(edge.ring, ring, long / LONG)
        if fitted is None:
            continue
        corners, length, width = fitted
        if _is_card(length, width, SAME_RATIO) and _is_rounded(edge.ring, corners, length / LONG):
            return Card(length, width, corners, _covered(flat, corners))
    return None


def _is_card(long: float, short: float, within: float) -> bool:
    return bool(abs((long / short) / (LONG / SHORT) - 1) < within)


def _things(flat: Flat) -> list[Floats]:
    """Return rings, mm, of whatever differs from the background, the largest first."""
    shrink = max(1, round(0.25 / flat.step))
    height, width = flat.pixels.shape[:2]
    small = cv2.resize(
        flat.pixels, (width // shrink, height // shrink), interpolation=cv2.INTER_AREA
    )
    colours = cv2.cvtColor(small, cv2.COLOR_RGB2LAB).astype(np.float32)
    rim = np.concatenate([colours[:4].reshape(-1, 3), colours[-4:].reshape(-1, 3)])
    rim = np.concatenate([rim, colours[:, :4].reshape(-1, 3), colours[:, -4:].reshape(-1, 3)])
    away = np.linalg.norm(colours - np.median(rim, axis=0), axis=-1)
    noise = float(np.median(np.abs(away - np.median(away))))
    level = max(LEAST_STEP, 6 * noise)
    closed = cv2.morphologyEx(
        (away > level).astype(np.uint8), cv2.MORPH_CLOSE, np.ones((5, 5), dtype=np.uint8)
    )
    rings, _ = cv2.findContours(closed, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    things = [ring.reshape(-1, 2).astype(float) for ring in rings if len(ring) > 40]
    things.sort(key=len, reverse=True)
    # A shrunken pixel's middle lies at the middle of those it was made of.
    return [flat.to_mm(thing * shrink + (shrink - 1) / 2)[::-1] for thing in things[:20]]


def _sides(edge: Floats, ring: Floats, scale: float) -> tuple[Floats, float, float] | None:
    """Return where the four sides meet, and how far opposite sides stand apart: long, short."""
    middle, (across, up), turn = cv2.minAreaRect(ring.astype(np.float32))
    angle = np.radians(turn) + (0 if across >= up else np.pi / 2)
    long, short = max(across, up), min(across, up)
    along = np.array([np.cos(angle), np.sin(angle)])
    square = np.array([along, [-along[1], along[0]]])
    own = (edge - np.array(middle)) @ square.T
    keep = 1.6 * CORNER * scale
    lines = []
    for axis, (half, other) in ((1, (short / 2, long / 2)), (0, (long / 2, short / 2))):
        for sign in (-1, 1):
            on = (np.abs(own[:, axis] - sign * half) < 1.5 * scale) & (
                np.abs(own[:, 1 - axis]) < other - keep
            )
            if on.sum() < 30:
                return None
            lines.append(_line(own[on, 1 - axis], own[on, axis]))
    (a1, b1), (a2, b2), (c1, d1), (c2, d2) = lines
    # Sides along: v = a + b u; sides across: u = c + d v. Distances at their middles.
    width = (a2 - a1) * float(np.cos(np.arctan((b1 + b2) / 2)))
    length = (c2 - c1) * float(np.cos(np.arctan((d1 + d2) / 2)))
    found = []
    for (a, b), (c, d) in (
        ((a1, b1), (c1, d1)), ((a1, b1), (c2, d2)), ((a2, b2), (c2, d2)), ((a2, b2), (c1, d1)),
    ):  # fmt: skip
        u = (c + d * a) / (1 - b * d)
        found.append((u, a + b * u))
    corners: Floats = np.array(found) @ square + np.array(middle)
    return corners, length, width


def _line(along: Floats, off: Floats) -> tuple[float, float]:
    """Return level and slope of a line through points, strays left out."""
    kept = np.ones(len(along), dtype=bool)
    slope = level = 0.0
    for _ in range(3):
        slope, level = (float(each) for each in np.polyfit(along[kept], off[kept], 1))
        apart = np.abs(off - level - slope * along)
        kept = apart <= max(3 * float(np.median(apart)), 0.02)
    return level, slope


def _is_rounded(edge: Floats, corners: Floats, scale: float) -> bool:
    """Say whether the corners are cut off as a card's are; one may be worn, or hidden."""
    wanted = CORNER * (np.sqrt(2) - 1) * scale
    cut = np.array([np.hypot(*(edge - corner).T).min() for corner in corners])
    return int(((cut > CORNERS[0] * wanted) & (cut < CORNERS[1] * wanted)).sum()) >= 3


def _covered(flat: Flat, corners: Floats) -> Mask:
    grown = shapely.MultiPoint(corners).convex_hull.buffer(ROUND)
    x, y = (shapely.get_coordinates(grown) - np.array(flat.corner)).T / flat.step
    pixels = np.rint(np.column_stack([x, -y])).astype(np.int32)
    covered = np.zeros(flat.pixels.shape[:2], dtype=np.uint8)
    cv2.fillPoly(covered, [pixels], 1)
    return np.asarray(covered > 0)
