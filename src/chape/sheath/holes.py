"""Where holes may stand: the foot of the wall, and the lines of eyelets beside it.

Eyelets sit on a locus beside the foot of the wall: as near to it as the rivet's flange allows. A
paired sheath has a second one beside its spine. All planning is done on one half, in the sheath
frame; the other half is its mirror image. Which holes there are is planned in
``sheath/place_holes.py``.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING

import shapely
from shapely import LineString, Point, Polygon

from chape.errors import CannotMakeError
from chape.field.contour import regions_above
from chape.field.outline import rounded
from chape.sheath.halves import NO_STRIP, side_of
from chape.sheath.model import Hole, HoleUse
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.catalog.hardware import Eyelet
    from chape.field.heights import HeightField
    from chape.sheath.model import Drain, Fold, SheathChoices

#: What stands higher than this above the flange plane is wall, mm.
FOOT_LEVEL = 0.02

#: Level sheet between the drain and a rivet's flange, mm. Common practice, no source.
DRAIN_MARGIN = 0.4


@dataclass(frozen=True, slots=True)
class Spot:
    """A hole of one half, sheath frame, mm; ``held`` is which of the maker's own places, if any."""

    x: float
    y: float
    diameter: float
    use: HoleUse
    keep_clear: float
    held: int | None = None

    def distance(self, other: Spot) -> float:
        """Return the distance between two centres, mm."""
        return hypot(self.x - other.x, self.y - other.y)


@dataclass(frozen=True, slots=True, eq=False)
class Foot:
    """Where wall and strip of one half stand on the flange plane, sheath frame.

    Attributes:
        region: cavity and strip; runs past the trimmed edge at mouth and tip.
        nose: (x, y) of the cavity's lowest point when carried tip down.
        strip_y: lower side of the strip beyond the tip; far up where there is no strip.
    """

    region: Polygon
    nose: tuple[float, float]
    strip_y: float


def find_foot(half: HeightField, fold: Fold | None) -> Foot:
    """Return the foot line of a half-sheath.

    Args:
        half: its formed surface.
        fold: that it has a strip for; None for a half closed all round.

    Raises:
        CannotMakeError: the cavity does not reach the strip, so that there is no one region.
    """
    regions = regions_above(half, FOOT_LEVEL)
    region = Polygon(max(regions.geoms, key=lambda part: part.area).exterior)
    x_min, _, _, y_max = region.bounds
    if fold is None:
        return Foot(region, _lowest(region), NO_STRIP)
    # Just behind its own end the strip is all there is.
    first = region.intersection(shapely.box(x_min, -1e4, x_min + 2 * half.grid.spacing + 2, 1e4))
    strip_y = float(first.bounds[1])
    below = region.intersection(shapely.box(-1e4, -1e4, 1e4, strip_y - 0.5))
    if below.is_empty:
        raise CannotMakeError(
            f"the strip at y = {strip_y:.1f} to {y_max:.1f} mm covers the whole cavity",
            mend='Check the knife\'s outline and thickness, or set sheath.style = "paired"',
        )
    return Foot(region, _lowest(below), strip_y)


def _lowest(region: BaseGeometry) -> tuple[float, float]:
    """Return the point nearest the tip's end, the middle of several."""
    corners = shapely.get_coordinates(region)
    lowest = corners[:, 0] < corners[:, 0].min() + 1e-6
    x, y = corners[lowest].mean(axis=0)
    return float(x), float(y)


def rivet_lines(
    foot: Foot,
    eyelet: Eyelet,
    choices: SheathChoices,
    x_first: float,
    x_last: tuple[float, float],
) -> tuple[LineString, ...]:
    """Return the loci of eyelet centres, each from the mouth round to the tip.

    One on the edge side, and one on the spine side where no fold closes it. Without a fold the tip
    stays free between the two, for the drain.

    Args:
        foot: foot of the wall.
        eyelet: gives the flange.
        choices: gives seat margin, least radius, spacing and drain.
        x_first: no eyelet nearer the tip than this, mm.
        x_last: no eyelet nearer the mouth than this, on the edge side and on the spine side, mm.

    Raises:
        CannotMakeError: there is no room for a line of eyelets.
    """
    away = eyelet.flange.value / 2 + choices.eyelets.seat_margin
    # Filled a little, so that the line does not turn sharply into every corner.
    fair = rounded(foot.region.buffer(away, quad_segs=32), choices.edging.radius_least + away, 0.0)
    rim = LineString(fair.exterior)
    if foot.strip_y < NO_STRIP:
        window = shapely.box(x_first, -1e4, x_last[0], foot.strip_y - away - 0.5)
        return (_longest(rim.intersection(window), eyelet),)
    _, tip = foot.nose
    aside = choices.eyelets.spacing_least * eyelet.hole.value / 2
    windows = (
        shapely.box(x_first, -1e4, x_last[0], tip - aside),
        shapely.box(x_first, tip + aside, x_last[1], 1e4),
    )
    drain = choices.drain.diameter
    taken = Point(*foot.nose).buffer(drain + DRAIN_MARGIN + eyelet.flange.value / 2)
    free = rim.difference(taken) if drain else rim
    return tuple(_longest(free.intersection(window), eyelet) for window in windows)


def held_drains(drain: Drain) -> BaseGeometry | None:
    """Return what the drains that stand where the maker wants them keep rivets' flanges out of."""
    if not drain.at or not drain.diameter:
        return None
    reach = drain.diameter / 2 + DRAIN_MARGIN
    return shapely.union_all([Point(at).buffer(reach) for at in drain.at])


def _longest(line: BaseGeometry, eyelet: Eyelet) -> LineString:
    """Return the longest stretch of a locus, from the mouth to the tip."""
    line = shapely.line_merge(line)
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


def laid_on(spots: tuple[Spot, ...], axis: float, *, upper: bool) -> tuple[Hole, ...]:
    """Return the holes of one half in its flat frame, v measured from y = ``axis``."""
    side = side_of(upper=upper)
    return tuple(
        Hole(spot.x, side * (spot.y - axis), spot.diameter, spot.use, spot.keep_clear, spot.held)
        for spot in spots
    )


def laid_on_both(spots: tuple[Spot, ...], fold_line: float) -> tuple[Hole, ...]:
    """Return the holes of both halves of a folded sheath; one on the fold line is there once."""
    beside = tuple(spot for spot in spots if abs(spot.y - fold_line) > SAME_LENGTH)
    return laid_on(spots, fold_line, upper=False) + laid_on(beside, fold_line, upper=True)
