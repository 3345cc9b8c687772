"""The hole plan: eyelets along the open side, a clip's pattern on them, and a drain.

Eyelets sit on a locus beside the foot of the wall: as near to it as the rivet's flange allows. A
clip is placed first; its holes that lie on the locus carry a rivet like any other. Clip holes go
through both flanges, because one rivet or screw holds the clip and closes the flange. All planning
is done on one half, in the sheath frame; the other half is its mirror image.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.ops import substring

from chape.errors import CannotMakeError
from chape.field.contour import regions_above
from chape.field.outline import rounded
from chape.sheath.model import Hole, HoleUse
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from chape.catalog.hardware import Clip, Eyelet
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.sheath.model import SheathChoices

#: What stands higher than this above the flange plane is wall, mm.
FOOT_LEVEL = 0.02

#: A hole this near the locus is on it, mm: a rivet's seat margin gives that much.
ON_LOCUS = 0.3

#: Distance of neighbouring rivets in hole diameters, at least (FAA AC 43.13-1B, chapter 4).
SPACING_LEAST = 3.0

#: Level sheet between the drain and a rivet's flange, mm. Common practice, no source.
DRAIN_MARGIN = 0.4

#: A clip may lie a millimetre further from where it is wanted for this much less of excess, mm.
ASTRAY = 0.02

#: Places tried along the locus for a clip, mm apart.
CLIP_STEP = 0.5


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


def plan_holes(
    line: LineString, eyelet: Eyelet, clip: Clip | None, choices: SheathChoices
) -> tuple[Spot, ...]:
    """Return the eyelets of one half from mouth to tip, then its clip holes.

    Raises:
        CannotMakeError: the clip does not fit, with the longest that would.
    """
    pattern = () if clip is None else _place_clip(line, eyelet, clip, choices)
    anchors = [(0.0, _eyelet(line, 0.0, eyelet)), (line.length, _eyelet(line, line.length, eyelet))]
    least = SPACING_LEAST * eyelet.hole.value
    on_line = [spot for spot in pattern if spot.use is HoleUse.EYELET]
    off_line = [spot for spot in pattern if spot.use is not HoleUse.EYELET]
    # A clip's hole replaces an end eyelet that would crowd it.
    anchors = [
        (at, spot)
        for at, spot in anchors
        if all(spot.distance(other) >= least for other in pattern)
    ]
    anchors += [(line.project(Point(spot.x, spot.y)), spot) for spot in on_line]
    anchors.sort(key=lambda pair: pair[0])
    eyelets = _filled(line, anchors, eyelet, choices.eyelets.pitch_most, off_line)
    return (*eyelets, *off_line)


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


def _eyelet(line: LineString, along: float, eyelet: Eyelet) -> Spot:
    at = line.interpolate(along)
    return Spot(at.x, at.y, eyelet.hole.value, HoleUse.EYELET, eyelet.flange.value / 2)


def _filled(
    line: LineString,
    anchors: list[tuple[float, Spot]],
    eyelet: Eyelet,
    pitch_most: float,
    off_line: list[Spot],
) -> list[Spot]:
    """Fill the line between fixed eyelets evenly, none further apart than the pitch."""
    spots = []
    for (start, first), (end, last) in pairwise(anchors):
        gaps, between = 1, [first, last]
        # Along a curve the straight distance is shorter than the way, so it is what counts.
        while max(a.distance(b) for a, b in pairwise(between)) > pitch_most + SAME_LENGTH:
            gaps += 1
            inner = [
                _eyelet(line, start + (end - start) * k / gaps, eyelet) for k in range(1, gaps)
            ]
            between = [first, *inner, last]
        spots += between[:-1]
    spots.append(anchors[-1][1])
    least = SPACING_LEAST * eyelet.hole.value
    return [
        spot
        for spot in spots
        if spot in (a for _, a in anchors) or all(spot.distance(o) >= least for o in off_line)
    ]


def _place_clip(
    line: LineString, eyelet: Eyelet, clip: Clip, choices: SheathChoices
) -> tuple[Spot, ...]:
    """Return the clip's holes where they add the least sheet, near where the maker wants them."""
    wanted = 0.0 if choices.clip is None else choices.clip.along * line.length
    holes = np.array(clip.holes, dtype=np.float64)
    inside = _inner_side(line)
    best: tuple[float, Floats] | None = None
    for along in np.arange(0.0, line.length, CLIP_STEP):
        for angle in clip.angles:
            placed = _placed(line, holes, float(along), radians(angle))
            if placed is None:
                continue
            placed, excess = _moved_out(line, inside, placed)
            cost = excess + _bow(line, placed) / 2 + ASTRAY * abs(float(along) - wanted)
            if best is None or cost < best[0]:
                best = (cost, placed)
    if best is None:
        span = float(np.hypot(*np.ptp(holes, axis=0)))
        reach = float(np.hypot(*np.subtract(line.coords[0], line.coords[-1])))
        raise CannotMakeError(
            f'the clip "{clip.name}" needs {span:.1f} mm from its first hole to its last, and the '
            f"eyelet line from mouth to tip has {reach:.1f} mm",
            mend=f"Choose a clip no longer than {reach:.0f} mm, or let the sheath wrap more of the "
            "handle",
        )
    on_line = shapely.distance(line, shapely.points(best[1])) <= ON_LOCUS
    same = abs(clip.hole.value - eyelet.hole.value) <= ON_LOCUS
    return tuple(
        Spot(float(x), float(y), eyelet.hole.value, HoleUse.EYELET, eyelet.flange.value / 2)
        if on and same
        else Spot(float(x), float(y), clip.hole.value, HoleUse.CLIP, eyelet.flange.value / 2)
        for (x, y), on in zip(best[1], on_line, strict=True)
    )


def _placed(line: LineString, holes: Floats, along: float, angle: float) -> Floats | None:
    """Return the pattern with its first hole on the line, turned by ``angle`` from the line.

    The line's direction is that of the chord to where the pattern's last hole would come.
    """
    start = line.interpolate(along)
    span = float(np.hypot(*(holes[-1] - holes[0])))
    toward = _reached(line, along, span) if span else line.interpolate(along + 1.0)
    if toward is None:
        return None
    heading = np.arctan2(toward.y - start.y, toward.x - start.x) + angle
    if span:
        heading -= np.arctan2(*(holes[-1] - holes[0])[::-1])
    turn = np.array([[cos(heading), -sin(heading)], [sin(heading), cos(heading)]])
    placed: Floats = (holes - holes[0]) @ turn.T + np.array([start.x, start.y])
    return placed


def _bow(line: LineString, placed: Floats) -> float:
    """Return how far the line bows out between a pattern's first and last hole, mm."""
    ends = sorted(line.project(Point(*hole)) for hole in (placed[0], placed[-1]))
    if ends[1] - ends[0] < SAME_LENGTH:
        return 0.0
    between = substring(line, ends[0], ends[1])
    return float(between.hausdorff_distance(LineString([placed[0], placed[-1]])))


def _reached(line: LineString, along: float, span: float) -> Point | None:
    """Return where the line is first a straight distance ``span`` away from a place on it."""
    start = line.interpolate(along)
    low, high = along + span, min(line.length, along + 1.6 * span)
    if low > line.length or start.distance(line.interpolate(high)) < span:
        return None
    for _ in range(40):
        middle = (low + high) / 2
        if start.distance(line.interpolate(middle)) < span:
            low = middle
        else:
            high = middle
    return line.interpolate(high)


def _inner_side(line: LineString) -> BaseGeometry:
    """Return the region on the wall's side of the line: to its right, seen from the mouth."""
    return line.buffer(-60.0, single_sided=True)


def _moved_out(line: LineString, inside: BaseGeometry, placed: Floats) -> tuple[Floats, float]:
    """Move a pattern away from the wall until no hole is inside; return it and its excess, mm."""
    points = shapely.points(placed)
    distance = shapely.distance(line, points)
    depth = np.where(shapely.contains(inside, points), distance, 0.0)
    deepest = int(np.argmax(depth))
    if depth[deepest] > 0:
        on_line = line.interpolate(line.project(points[deepest]))
        move = np.array([on_line.x, on_line.y]) - placed[deepest]
        placed = placed + move
        points = shapely.points(placed)
        distance = shapely.distance(line, points)
    return placed, float(distance.sum())
