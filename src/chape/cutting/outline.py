"""Outlines: parts of sheet trimmed free along true lines and arcs.

The cutter climbs: with the part inside and the cutter outside of it, it goes round clockwise. It
comes in on an arc from the waste, sinks along the outline, goes once round at full depth, and a
second time to take what its bending left; then it leaves on an arc into the waste.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, pi, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString, Point

from chape import tolerances
from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import tip_heights
from chape.cutting.order import Stop, shortest_route
from chape.cutting.way import (
    Piece,
    first_of,
    flattened,
    length_of,
    quarter,
    started_at,
    walked,
    way_around,
)
from chape.errors import CannotMakeError
from chape.field.arcs import arc_of
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.drill import Tool
    from chape.cutting.ground import Ground
    from chape.cutting.model import KeepOut
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.field.outline import Outline

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

#: Starts are tried this far apart along an outline, mm.
PITCH = 4.0

#: A start on an arc is as good as one on a line whose sheet stands this much higher, mm.
STRAIGHTER = 0.5


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
class Plan:
    """One part's way, started where the cutter may come in on an arc of radius ``lead`` mm."""

    ways: list[Piece]
    lead: float


def cut_outlines(
    parts: tuple[Outline, ...],
    under: Under,
    tool: Tool,
    ground: Ground,
    posts: tuple[KeepOut, ...],
    safe: float,
    *,
    spring: bool = True,
    start: tuple[float, float] = (0.0, 0.0),
) -> Track:
    """Trim parts free, each in as many depths as the sheet's height along it asks.

    Args:
        parts: outlines of the parts, counter-clockwise, apart from each other.
        under: the fixture, and how far into its groove the tip goes.
        tool: a flat cutter.
        ground: top of the sheet.
        posts: screw heads to keep off.
        safe: height at which nothing can be met, mm.
        spring: go round a second time at full depth, for the edge's sake.
        start: where the cutter comes from, mm.

    Raises:
        CannotMakeError: another part or a screw head stands in the way, or there is no room to
            come in.
    """
    shapes = [part.polygon() for part in parts]
    plans = []
    for n, part in enumerate(parts):
        ways = way_around(part, tool.cutter.radius)
        others = shapely.union_all([shape for m, shape in enumerate(shapes) if m != n])
        _keep_off_parts(n, ways, shapes, tool)
        _keep_off_heads(ways, posts, tool)
        barred = _Barred(shapes[n], others, posts, tool.cutter.radius)
        plans.append(_best_start(ways, barred, under, tool, ground))
    track = Track(safe)
    entries = [quarter(plan.ways[0], plan.lead, coming=True).start for plan in plans]
    route = shortest_route([Stop(entry[None, :]) for entry in entries], start)
    track.saved += route.saved
    for n, _ in route.visits:
        _cut_part(track, plans[n], under, tool, ground, spring=spring)
    track.lift()
    return track


def _keep_off_parts(n: int, ways: list[Piece], shapes: list[shapely.Polygon], tool: Tool) -> None:
    """See that the way round one part goes through no other, and that none holds another."""
    ring = LineString(flattened(ways))
    for m, shape in enumerate(shapes):
        if m == n:
            continue
        if shape.intersects(shapes[n]):
            raise CannotMakeError(
                f"parts {min(m, n) + 1} and {max(m, n) + 1} lie on one another",
                mend="Lay them apart on the blank",
            )
        room = ring.distance(shape)
        if room < tool.cutter.radius - tolerances.ARC_FIT:
            raise CannotMakeError(
                f"the trim cutter's way round part {n + 1} comes {room:.2f} mm from part {m + 1}, "
                f"nearer than its radius of {tool.cutter.radius:g} mm",
                mend="Widen blank.gap, or take a narrower trim cutter",
            )


def _keep_off_heads(ways: list[Piece], posts: tuple[KeepOut, ...], tool: Tool) -> None:
    ring = LineString(flattened(ways))
    for post in posts:
        room = ring.distance(Point(post.x, post.y)) - tool.cutter.radius - post.radius
        # Not a number keeps nothing off.
        if not room >= HEAD_AIR - 1e-6:
            raise CannotMakeError(
                f"the screw head at x {post.x:.1f}, y {post.y:.1f} stands {room:.2f} mm from the "
                f"trim cutter's way; {HEAD_AIR:g} mm are needed",
                mend="Screw the sheath down through other eyelets, or take a smaller head",
            )


def _cut_part(
    track: Track, plan: Plan, under: Under, tool: Tool, ground: Ground, *, spring: bool
) -> None:
    tip, ways, radius, feed = under.tip, plan.ways, tool.cutter.radius, tool.rates.feed
    arc = quarter(ways[0], plan.lead, coming=True)
    top = float(ground.highest(walked([arc, *ways], radius / 2), radius).max())
    # What lies below the flange plane is the groove's air: it asks for no pass of its own.
    count = max(1, ceil((top - max(tip, 0.0)) / tool.rates.depth - 1e-9))
    here = top + 0.3
    track.go(float(arc.start[0]), float(arc.start[1]), ground, radius)
    track.down(here + APPROACH)
    track.lines(np.array([[*arc.start, here]]), tool.rates.plunge)
    _follow(track, arc, here, feed)
    total, gone = length_of(ways), 0.0
    for depth in [*np.linspace(top, 0.0, count + 1)[1:-1].tolist(), tip]:
        ways, ramped = _ramp(track, ways, here, depth, tool)
        gone += ramped + OVERLAP
        for piece in [*ways, *first_of(ways, OVERLAP)]:
            stands = float(ground.highest(walked([piece], radius / 2), radius).max()) > depth
            _follow(track, piece, depth, feed if stands else tool.rates.air)
        ways, here = started_at(ways, OVERLAP), depth
    if spring:
        for piece in [*ways, *first_of(ways, OVERLAP)]:
            _follow(track, piece, tip, feed)
        ways = started_at(ways, OVERLAP)
        gone += OVERLAP
    # On through what is cut, to the one place that was found fit for the arc out.
    onward = (OVERLAP - gone) % total
    for piece in first_of(ways, onward):
        _follow(track, piece, tip, tool.rates.air)
    out = quarter(started_at(ways, onward)[0], plan.lead, coming=False)
    _follow(track, out, tip, feed)
    track.lift()


def _ramp(
    track: Track, ways: list[Piece], top: float, tip: float, tool: Tool
) -> tuple[list[Piece], float]:
    """Sink along the way from ``top`` to ``tip``.

    Returns:
        The way from where the tip was reached, and how far along that is, mm.
    """
    needed = min((top - tip) / RAMP, length_of(ways) * 0.9)
    travelled = 0.0
    for piece in first_of(ways, needed):
        travelled += piece.length
        height = top + (tip - top) * min(travelled / needed, 1.0)
        _follow(track, piece, height, tool.rates.feed)
    return started_at(ways, needed), needed


def _follow(track: Track, piece: Piece, height: float, feed: float) -> None:
    end = np.array([*piece.end, height])
    if piece.bulge == 0:
        track.lines(end[None, :], feed)
        return
    centre, _, _, _ = arc_of(piece.start, piece.end, piece.bulge)
    track.arc(end, centre, feed, clockwise=piece.bulge < 0)


class _Barred:
    """What the arcs in and out may not touch: the part itself, other parts, and screw heads."""

    def __init__(
        self,
        part: shapely.Polygon,
        others: shapely.Geometry,
        posts: tuple[KeepOut, ...],
        radius: float,
    ) -> None:
        self.radius = radius
        self.parts = shapely.union_all([part, others])
        self.heads = shapely.union_all(
            [Point(post.x, post.y).buffer(post.radius + HEAD_AIR, quad_segs=64) for post in posts]
        )
        shapely.prepare(self.parts)
        shapely.prepare(self.heads)

    def clears(self, arcs: list[Piece]) -> bool:
        """Return whether a cutter on the arcs touches nothing that is barred."""
        for arc in arcs:
            line = LineString(flattened([arc]))
            # The arcs touch the way, which lies a radius and a little from its own part.
            if shapely.dwithin(line, self.parts, self.radius - tolerances.ARC_FIT):
                return False
            if shapely.dwithin(line, self.heads, self.radius - tolerances.SAME_LENGTH):
                return False
        return True


def _best_start(
    ways: list[Piece], barred: _Barred, under: Under, tool: Tool, ground: Ground
) -> Plan:
    """Return the way started where the cutter comes in best.

    Low sheet, straight pieces, and room for both arcs over the relief groove.
    """
    radius = tool.cutter.radius
    for lead in LEADS:
        scored = []
        for at in np.arange(0.0, length_of(ways), PITCH).tolist():
            turned = started_at(ways, at)
            if turned[0].length < 2 * OVERLAP:
                continue
            arcs = _arcs(turned, lead)
            if barred.clears(arcs):
                top = float(ground.highest(walked(arcs[:1], radius / 2), radius).max())
                scored.append((top + STRAIGHTER * (turned[0].bulge != 0), at, turned))
        # The fixture is asked last, for the likeliest few: asking is slow.
        for _, _, turned in sorted(scored, key=lambda found: found[:2])[:TRIES]:
            points = np.vstack([flattened([arc]) for arc in _arcs(turned, lead)])
            if under.clears(points, radius):
                return Plan(turned, lead)
    raise CannotMakeError(
        "there is no room in the waste, over the relief groove, for the trim cutter to come in",
        mend="Widen the gap between the sheaths on the blank, or the relief groove",
    )


def _arcs(ways: list[Piece], lead: float) -> list[Piece]:
    """Return the arcs in and out; the way out starts where the overlap ends."""
    last = started_at(ways, OVERLAP)[0]
    return [quarter(ways[0], lead, coming=True), quarter(last, lead, coming=False)]
