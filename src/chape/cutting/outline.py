"""Outlines: parts of sheet trimmed free along true lines and arcs.

The cutter climbs: with the part inside and the cutter outside of it, it goes round clockwise. It
comes in on an arc from the waste, sinks along the outline, goes once round at full depth, and
leaves on an arc into the waste.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, ceil, cos, pi, sin, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point

from chape import tolerances
from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import tip_heights
from chape.errors import CannotMakeError
from chape.field.envelope import Body
from chape.field.outline import Outline, arc_of, exterior_of, fit_outline, offset

if TYPE_CHECKING:
    from chape.cutting.drill import Tool
    from chape.cutting.ground import Ground
    from chape.cutting.model import KeepOut
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Air between a cutter and a screw head, mm.
HEAD_AIR = 1.0

#: Slope of the way down along an outline: five degrees (common practice, no source).
RAMP = tan(5 * pi / 180)

#: Radii of the arcs that lead in and out, mm, the widest that stays off other parts.
LEADS = (3.0, 2.0, 1.4, 1.0, 0.6)

#: Starts looked at closely for each width of lead.
TRIES = 6

#: The last of the outline is cut twice over this length, so that no nib stays, mm.
OVERLAP = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Under:
    """What lies under the sheet: the fixture, and the height (mm) the tip runs at in its groove."""

    fixture: HeightField
    tip: float

    def clears(self, points: Floats, radius: float) -> bool:
        """Return whether a cutter of ``radius`` at points (n, 2) stays clear of the fixture."""
        heights = tip_heights(self.fixture, Body.flat(radius), points)
        return bool(heights.max() <= self.tip + tolerances.SAME_LENGTH)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One line or arc of a way: start and end (2,), bulge, length in mm."""

    start: Floats
    end: Floats
    bulge: float
    length: float

    def split(self, at: float) -> tuple[Piece, Piece]:
        """Return the piece in two, the first ``at`` mm long."""
        share = at / self.length
        if self.bulge == 0:
            middle = self.start + share * (self.end - self.start)
            return _piece(self.start, middle, 0.0), _piece(middle, self.end, 0.0)
        centre, radius, first, sweep = arc_of(self.start, self.end, self.bulge)
        angle = first + share * sweep
        middle = centre + radius * np.array([cos(angle), sin(angle)])
        return (
            _piece(self.start, middle, tan(sweep * share / 4)),
            _piece(middle, self.end, tan(sweep * (1 - share) / 4)),
        )

    def heading(self) -> float:
        """Return the direction at its start, radians."""
        way = self.end - self.start
        straight = atan2(way[1], way[0])
        # The chord of an arc lies half its sweep away from the tangent at its start.
        return straight - 2 * float(np.arctan(self.bulge))


def _piece(start: Floats, end: Floats, bulge: float) -> Piece:
    chord = float(np.hypot(*(end - start)))
    if bulge == 0:
        return Piece(start, end, 0.0, chord)
    sweep = 4 * abs(float(np.arctan(bulge)))
    return Piece(start, end, bulge, chord / 2 / sin(sweep / 2) * sweep)


def pieces_of(outline: Outline) -> list[Piece]:
    """Return the lines and arcs of an outline, without those too short to be told apart."""
    following = np.roll(outline.points, -1, axis=0)
    pieces = [
        _piece(start, end, float(bulge))
        for start, end, bulge in zip(outline.points, following, outline.bulges, strict=True)
    ]
    return [piece for piece in pieces if piece.length > tolerances.SAME_LENGTH]


def way_around(part: Outline, radius: float) -> list[Piece]:
    """Return the way of a cutter's middle around a part: clockwise, ``radius`` mm outside."""
    # Half the tolerance is held back outside, so that the fitted arcs never come in.
    spare = tolerances.ARC_FIT / 2
    around = offset(part, radius + spare, spare / 4)
    outward = shapely.orient_polygons(max(shapely.get_parts(around), key=lambda p: p.area))
    fitted = fit_outline(outward, spare)
    turned = Outline(fitted.points[::-1], -np.roll(fitted.bulges[::-1], -1))
    ring = LineString(exterior_of(outward))
    if not ring.is_simple:
        raise CannotMakeError(
            "the way around a part crosses itself", mend="Take a smaller trim cutter"
        )
    return pieces_of(turned)


def started_at(pieces: list[Piece], at: float) -> list[Piece]:
    """Return a closed way started ``at`` mm along it."""
    before: list[Piece] = []
    for n, piece in enumerate(pieces):
        if at < piece.length:
            if at < tolerances.SAME_LENGTH:
                return [*pieces[n:], *before]
            first, second = piece.split(at)
            return [second, *pieces[n + 1 :], *before, first]
        at -= piece.length
        before.append(piece)
    return pieces


def cut_outlines(
    parts: tuple[Outline, ...],
    under: Under,
    tool: Tool,
    ground: Ground,
    posts: tuple[KeepOut, ...],
    safe: float,
) -> Track:
    """Trim parts free, each in as many depths as the sheet's height along it asks.

    Args:
        parts: outlines of the parts, counter-clockwise.
        under: the fixture, and how far into its groove the tip goes.
        tool: a flat cutter.
        ground: top of the sheet.
        posts: screw heads to keep off.
        safe: height at which nothing can be met, mm.

    Raises:
        CannotMakeError: a screw head stands in the way.
    """
    track = Track(safe)
    for n, part in enumerate(parts):
        others = shapely.union_all([other.polygon() for m, other in enumerate(parts) if m != n])
        ways = way_around(part, tool.cutter.radius)
        _keep_off(ways, posts, tool)
        barred = _barred(ways, others, posts, tool)
        _cut_part(track, ways, barred, under, tool, ground)
    track.lift()
    return track


def _keep_off(ways: list[Piece], posts: tuple[KeepOut, ...], tool: Tool) -> None:
    ring = LineString(_flat(ways))
    for post in posts:
        room = ring.distance(Point(post.x, post.y)) - tool.cutter.radius - post.radius
        if room < HEAD_AIR - 1e-6:
            raise CannotMakeError(
                f"the screw head at x {post.x:.1f}, y {post.y:.1f} stands {room:.2f} mm from the "
                f"trim cutter's way; {HEAD_AIR:g} mm are needed",
                mend="Screw the sheath down through other eyelets, or take a smaller head",
            )


def _flat(ways: list[Piece]) -> Floats:
    """Return a way as points (n, 2)."""
    points = [ways[0].start]
    for piece in ways:
        if piece.bulge:
            centre, radius, first, sweep = arc_of(piece.start, piece.end, piece.bulge)
            angles = first + sweep * np.linspace(0, 1, 9)[1:-1]
            points.extend(centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]))
        points.append(piece.end)
    return np.array(points)


def _cut_part(
    track: Track,
    ways: list[Piece],
    barred: shapely.Geometry,
    under: Under,
    tool: Tool,
    ground: Ground,
) -> None:
    start, lead = _best_start(ways, barred, under, tool, ground)
    tip = under.tip
    ways = started_at(ways, start)
    radius = tool.cutter.radius
    entry, centre = _lead(ways[0], lead, coming=True)
    top = float(ground.highest(np.vstack([entry[None, :], _flat(ways)]), radius).max())
    # What lies below the flange plane is the groove's air: it asks for no pass of its own.
    count = max(1, ceil((top - max(tip, 0.0)) / tool.rates.depth - 1e-9))
    here = top + 0.3
    track.go(float(entry[0]), float(entry[1]), ground, radius)
    track.down(here + APPROACH)
    track.lines(np.array([[*entry, here]]), tool.rates.plunge)
    track.arc(np.array([*ways[0].start, here]), centre, tool.rates.feed, clockwise=False)
    total, gone = sum(piece.length for piece in ways), 0.0
    for depth in [*np.linspace(top, 0.0, count + 1)[1:-1].tolist(), tip]:
        ways, ramped = _ramp(track, ways, here, depth, tool)
        gone += ramped + OVERLAP
        for piece in [*ways, *_until(ways, OVERLAP)]:
            stands = float(ground.highest(_flat([piece]), radius).max()) > depth
            _follow(track, piece, depth, tool.rates.feed if stands else tool.rates.air)
        ways, here = started_at(ways, OVERLAP), depth
    # On through what is cut, to the one place that was found fit for the arc out.
    onward = (OVERLAP - gone) % total
    for piece in _until(ways, onward):
        _follow(track, piece, tip, tool.rates.air)
    _leave(track, started_at(ways, onward), tip, lead, tool)


def _ramp(
    track: Track, ways: list[Piece], top: float, tip: float, tool: Tool
) -> tuple[list[Piece], float]:
    """Sink along the way from ``top`` to ``tip``.

    Returns:
        The way from where the tip was reached, and how far along that is, mm.
    """
    total = sum(piece.length for piece in ways)
    needed = min((top - tip) / RAMP, total * 0.9)
    ramp = _until(ways, needed)
    travelled = 0.0
    for piece in ramp:
        travelled += piece.length
        height = top + (tip - top) * min(travelled / needed, 1.0)
        _follow(track, piece, height, tool.rates.feed)
    return started_at(ways, needed), needed


def _until(ways: list[Piece], length: float) -> list[Piece]:
    """Return the first ``length`` mm of a closed way."""
    taken: list[Piece] = []
    for piece in ways:
        if length <= tolerances.SAME_LENGTH:
            break
        part = piece if piece.length <= length else piece.split(length)[0]
        taken.append(part)
        length -= part.length
    return taken


def _follow(track: Track, piece: Piece, height: float, feed: float) -> None:
    end = np.array([*piece.end, height])
    if piece.bulge == 0:
        track.lines(end[None, :], feed)
        return
    centre, _, _, _ = arc_of(piece.start, piece.end, piece.bulge)
    track.arc(end, centre, feed, clockwise=piece.bulge < 0)


def _lead(piece: Piece, radius: float, *, coming: bool) -> tuple[Floats, Floats]:
    """Return the outer end and the centre of a quarter arc that meets the start of a piece.

    Round a part clockwise the waste is on the left.
    """
    angle = piece.heading()
    ahead, left = np.array([cos(angle), sin(angle)]), np.array([-sin(angle), cos(angle)])
    centre = piece.start + radius * left
    away = -radius * ahead if coming else radius * ahead
    return centre + away, centre


def _leave(track: Track, ways: list[Piece], tip: float, lead: float, tool: Tool) -> None:
    """Curve off into the waste."""
    out, centre = _lead(ways[0], lead, coming=False)
    track.arc(np.array([*out, tip]), centre, tool.rates.feed, clockwise=False)
    track.lift()


def _barred(
    ways: list[Piece], others: shapely.Geometry, posts: tuple[KeepOut, ...], tool: Tool
) -> shapely.Geometry:
    """Return what the arcs in and out may not touch: any part, and screw heads."""
    part = shapely.Polygon(_flat(ways)).buffer(-tool.cutter.radius)
    heads = [Point(post.x, post.y).buffer(post.radius + HEAD_AIR) for post in posts]
    barred = shapely.union_all([others, part, *heads])
    shapely.prepare(barred)
    return barred


def _best_start(
    ways: list[Piece], barred: shapely.Geometry, under: Under, tool: Tool, ground: Ground
) -> tuple[float, float]:
    """Return where along the way to come in (mm), and on how wide an arc (mm).

    Low sheet, straight pieces, and room for both arcs over the relief groove.
    """
    total = sum(piece.length for piece in ways)
    for lead in LEADS:
        scored = []
        for at in np.arange(0.0, total, 4.0).tolist():
            turned = started_at(ways, at)
            score = _score(turned, lead, barred, tool, ground)
            if score is not None:
                scored.append((score, at, turned))
        # The fixture is asked last, for the likeliest few: asking is slow.
        for _, at, turned in sorted(scored, key=lambda found: found[:2])[:TRIES]:
            if under.clears(_reach_of(turned, lead), tool.cutter.radius):
                return at, lead
    raise CannotMakeError(
        "there is no room in the waste, over the relief groove, for the trim cutter to come in",
        mend="Widen the gap between the sheaths on the blank, or the relief groove",
    )


def _reach_of(ways: list[Piece], lead: float) -> Floats:
    """Return the ends of the arcs in and out, and where they meet the way, (3, 2)."""
    entry, _ = _lead(ways[0], lead, coming=True)
    # The way out starts where the overlap ends.
    out, _ = _lead(started_at(ways, OVERLAP)[0], lead, coming=False)
    return np.array([entry, ways[0].start, out])


def _score(
    ways: list[Piece], lead: float, barred: shapely.Geometry, tool: Tool, ground: Ground
) -> float | None:
    """Return how bad a start is, or None where an arc would touch what is barred."""
    if ways[0].length < 2 * OVERLAP:
        return None
    reach = _reach_of(ways, lead)
    if LineString(reach).buffer(tool.cutter.radius).intersection(barred).area > 0.05:
        return None
    tops = ground.highest(reach, tool.cutter.radius)
    return float(tops.max()) + (0.0 if ways[0].bulge == 0 else 0.5)
