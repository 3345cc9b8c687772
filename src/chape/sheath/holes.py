"""Where holes may stand: the foot of the wall, and the line of eyelets beside it.

Eyelets sit on a locus beside the foot of the wall: as near to it as the rivet's flange allows. All
planning is done on one half, in the sheath frame; the other half is its mirror image. Which holes
there are is planned in ``sheath/place_holes.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

import shapely
from shapely import LineString, Polygon

from chape.errors import CannotMakeError
from chape.field.contour import regions_above
from chape.field.outline import rounded
from chape.sheath.model import Hole, HoleUse
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from chape.catalog.hardware import Eyelet
    from chape.field.heights import HeightField
    from chape.sheath.model import SheathChoices

#: What stands higher than this above the flange plane is wall, mm.
FOOT_LEVEL = 0.02

#: Level sheet between the drain and a rivet's flange, mm. Common practice, no source.
DRAIN_MARGIN = 0.4


@dataclass(frozen=True, slots=True)
class Spot:
    """A hole of one half, sheath frame, mm."""

    x: float
    y: float
    diameter: float
    use: HoleUse
    keep_clear: float

    def distance(self, other: Spot) -> float:
        """Return the distance between two centres, mm."""
        return hypot(self.x - other.x, self.y - other.y)


@dataclass(frozen=True, slots=True, eq=False)
class Foot:
    """Where wall and strip of one half stand on the flange plane, sheath frame.

    Attributes:
        region: cavity and strip; runs past the trimmed edge at mouth and tip.
        nose: (x, y) of the cavity's lowest point when carried tip down.
        strip_y: lower side of the strip beyond the tip.
    """

    region: Polygon
    nose: tuple[float, float]
    strip_y: float


def find_foot(half: HeightField) -> Foot:
    """Return the foot line of a half-sheath.

    Raises:
        CannotMakeError: the cavity does not reach the strip, so that there is no one region.
    """
    regions = regions_above(half, FOOT_LEVEL)
    region = Polygon(max(regions.geoms, key=lambda part: part.area).exterior)
    x_min, _, _, y_max = region.bounds
    # Just behind its own end the strip is all there is.
    first = region.intersection(shapely.box(x_min, -1e4, x_min + 2 * half.grid.spacing + 2, 1e4))
    strip_y = float(first.bounds[1])
    below = region.intersection(shapely.box(-1e4, -1e4, 1e4, strip_y - 0.5))
    if below.is_empty:
        raise CannotMakeError(
            f"the strip at y = {strip_y:.1f} to {y_max:.1f} mm covers the whole cavity",
            mend="Check the knife's outline and thickness",
        )
    corners = shapely.get_coordinates(below)
    lowest = corners[:, 0] < corners[:, 0].min() + 1e-6
    x, y = corners[lowest].mean(axis=0)
    return Foot(region, (float(x), float(y)), strip_y)


def rivet_line(
    foot: Foot, eyelet: Eyelet, choices: SheathChoices, x_first: float, x_last: float
) -> LineString:
    """Return the locus of eyelet centres, from the mouth round to the tip.

    Args:
        foot: foot of the wall.
        eyelet: gives the flange.
        choices: gives seat margin and least radius.
        x_first: no eyelet nearer the tip than this, mm.
        x_last: no eyelet nearer the mouth than this, mm.

    Raises:
        CannotMakeError: there is no room for a line of eyelets.
    """
    away = eyelet.flange.value / 2 + choices.eyelets.seat_margin
    # Filled a little, so that the line does not turn sharply into every corner.
    fair = rounded(foot.region.buffer(away, quad_segs=32), choices.edging.radius_least + away, 0.0)
    window = shapely.box(x_first, -1e4, x_last, foot.strip_y - away - 0.5)
    line = shapely.line_merge(LineString(fair.exterior).intersection(window))
    parts = [part for part in shapely.get_parts(line) if isinstance(part, LineString)]
    parts = [part for part in parts if part.length > eyelet.flange.value]
    if not parts:
        raise CannotMakeError(
            "there is no room for eyelets between mouth and tip",
            mend="Let the sheath wrap more of the handle, or shorten the thumb ramp",
        )
    longest = max(parts, key=lambda part: part.length)
    corners = shapely.get_coordinates(longest)
    return longest if corners[0, 0] > corners[-1, 0] else longest.reverse()


def laid_on_both(spots: tuple[Spot, ...], fold_line: float) -> tuple[Hole, ...]:
    """Return the holes of both halves in the flat frame, front half (v < 0) first.

    A hole on the fold line is there once.
    """
    return tuple(
        Hole(spot.x, side * (spot.y - fold_line), spot.diameter, spot.use, spot.keep_clear)
        for side in (1.0, -1.0)
        for spot in spots
        if side > 0 or abs(spot.y - fold_line) > SAME_LENGTH
    )
