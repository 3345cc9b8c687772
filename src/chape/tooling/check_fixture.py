"""Findings about a trim fixture: seat, relief, screws and pins."""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.field.contour import regions_above
from chape.findings import Finding, Severity
from chape.tolerances import SAME_LENGTH
from chape.tooling.nesting import RAISED
from chape.tooling.screws import HEAD_CLEARANCE

if TYPE_CHECKING:
    from chape.tooling.model import Fixture, RoundHole

#: Screws that hold a sheath well while its outline is cut (common practice, no source).
SCREWS_WANTED = 4

#: Flange that should lie on the seat between groove and wall, mm (common practice, no source).
SUPPORT_WANTED = 3.0

#: Where the outline crosses the raised mouth there is no flange; this far from it there is, mm.
OFF_MOUTH = 15.0

#: Wall wanted between an insert hole and whatever else is cut, mm (common practice, no source).
INSERT_WALL = 1.5

#: Ground under a screw head may rise by this, mm.
LEVEL = 0.3

FLAT = 0.002


def check_fixture(fixture: Fixture) -> tuple[Finding, ...]:
    """Return findings about one fixture."""
    return (
        *_seat(fixture),
        *_support(fixture),
        *_undercut(fixture),
        *_screw_count(fixture),
        *_heads(fixture),
        *_insert_walls(fixture),
        *_thread(fixture),
        *_pins(fixture),
    )


def _seat(fixture: Fixture) -> list[Finding]:
    over = float((fixture.surface.z - fixture.layout.formed.z).max())
    if over <= SAME_LENGTH:
        return []
    return [
        Finding(
            "seat-too-high",
            Severity.ERROR,
            "fixture, seat",
            "The seat reaches into the formed sheet.",
            "Use a seat clearance of 0 or more.",
            over,
            0.0,
        )
    ]


def flange_support(fixture: Fixture) -> float:
    """Return the least width of flange that lies on the seat between groove and wall, mm.

    Measured along the outlines away from the mouth; infinite where nothing is raised.
    """
    raised = regions_above(fixture.layout.formed, RAISED)
    undercut = max((groove.width for groove in fixture.grooves), default=0.0) / 2
    undercut -= fixture.trim_cutter / 2
    least = float("inf")
    for pattern in fixture.layout.patterns:
        outline = pattern.polygon(FLAT)
        near = shapely.union_all([part for part in raised.geoms if part.intersects(outline)])
        if near.is_empty:
            continue
        mouth = outline.exterior.intersection(near)
        away = outline.exterior.difference(mouth.buffer(OFF_MOUTH))
        if not away.is_empty:
            least = min(least, float(away.distance(near)) - undercut)
    return least


def _support(fixture: Fixture) -> list[Finding]:
    width = flange_support(fixture)
    if width >= SUPPORT_WANTED:
        return []
    return [
        Finding(
            "flange-support-low",
            Severity.WARNING if width > 0 else Severity.ERROR,
            "fixture, relief groove",
            "Little flange lies on the seat between the relief groove and a wall: the edge "
            "chatters.",
            "Use a narrower relief groove, or a wider margin on the sheath.",
            width,
            SUPPORT_WANTED,
        )
    ]


def _undercut(fixture: Fixture) -> list[Finding]:
    """Compare how far a neighbour's groove reaches under a sheath with how far its own does."""
    outlines = [pattern.polygon(FLAT) for pattern in fixture.layout.patterns]
    own = max((groove.width for groove in fixture.grooves), default=0.0) / 2
    own -= fixture.trim_cutter / 2
    worst, pair = -np.inf, (0, 0)
    for a, b in permutations(range(len(outlines)), 2):
        groove = fixture.grooves[a]
        line = shapely.LineString(groove.points)
        into = groove.width / 2 - float(line.distance(outlines[b]))
        if into > worst:
            worst, pair = into, (a, b)
    if worst <= max(own, 0.0) + SAME_LENGTH + 0.01:
        return []
    return [
        Finding(
            "groove-undercuts-neighbour",
            Severity.WARNING,
            f"fixture, groove of {_named(fixture, pair[0])} under {_named(fixture, pair[1])}",
            "A relief groove reaches further under a neighbour than under its own sheath.",
            "Use a wider blank.gap or a narrower fixture.relief_width.",
            float(worst),
            own,
        )
    ]


def _named(fixture: Fixture, number: int) -> str:
    return fixture.layout.name_of(number)


def _screw_count(fixture: Fixture) -> list[Finding]:
    held = [0] * len(fixture.layout.patterns)
    for k in fixture.screws:
        point = shapely.Point(fixture.inserts[k].x, fixture.inserts[k].y)
        for n, pattern in enumerate(fixture.layout.patterns):
            held[n] += pattern.polygon(FLAT).contains(point)
    fewest = min(held)
    if fewest >= SCREWS_WANTED:
        return []
    return [
        Finding(
            "screws-few",
            Severity.WARNING,
            f"fixture, {_named(fixture, held.index(fewest))}",
            "Fewer than four screws hold a sheath while it is trimmed: the edge comes out poor.",
            "Set fixture.screws_per_sheath to 4, and give the sheath at least four eyelets.",
            fewest,
            SCREWS_WANTED,
            "",
        )
    ]


def _heads(fixture: Fixture) -> list[Finding]:
    findings = []
    lines = shapely.union_all([path.polygon(FLAT).exterior for path in fixture.trim_paths])
    head = float(fixture.screw.head_diameter.value) / 2
    limit = head + fixture.trim_cutter / 2 + HEAD_CLEARANCE
    angles = np.arange(16) * np.pi / 8
    rim = head * np.column_stack([np.cos(angles), np.sin(angles)])
    for k, hole in enumerate(fixture.inserts):
        distance = float(lines.distance(shapely.Point(hole.x, hole.y)))
        if distance < limit - SAME_LENGTH - FLAT:
            findings.append(
                Finding(
                    "screw-head-in-path",
                    Severity.ERROR,
                    _where(hole),
                    "The trim cutter would strike a screw's head.",
                    "Use a screw with a smaller head, a wider sheath margin, or fewer screws.",
                    distance,
                    limit,
                )
            )
        ground = float(fixture.layout.formed.at(rim + np.array([hole.x, hole.y])).max())
        if k in fixture.screws and ground > LEVEL:
            findings.append(
                Finding(
                    "screw-head-on-wall",
                    Severity.WARNING,
                    _where(hole),
                    "A screw's head overlaps a raised wall and cannot sit level.",
                    "Use a screw with a smaller head, or a wider seat margin round the eyelets.",
                    ground,
                    LEVEL,
                )
            )
    return findings


def _insert_walls(fixture: Fixture) -> list[Finding]:
    cuts = [shapely.LineString(g.points).buffer(g.width / 2) for g in fixture.grooves]
    cuts += [shapely.Point(p.x, p.y).buffer(p.diameter / 2) for p in fixture.pins]
    taken = shapely.union_all([*cuts, shapely.box(0, 0, fixture.width, fixture.depth).exterior])
    worst = min(
        fixture.inserts,
        key=lambda hole: taken.distance(shapely.Point(hole.x, hole.y)),
        default=None,
    )
    if worst is None:
        return []
    wall = float(taken.distance(shapely.Point(worst.x, worst.y))) - worst.diameter / 2
    if wall >= INSERT_WALL:
        return []
    return [
        Finding(
            "insert-wall-thin",
            Severity.WARNING,
            _where(worst),
            "Little plate is left between an insert and the next cut: the insert may tear out.",
            "Use a narrower relief groove, a smaller screw, or a wider sheath margin.",
            wall,
            INSERT_WALL,
        )
    ]


def _thread(fixture: Fixture) -> list[Finding]:
    hole = min(float(sheath.eyelet.hole.value) for sheath in fixture.layout.sheaths)
    thread = float(fixture.screw.thread.value)
    if not fixture.screws or thread <= hole:
        return []
    return [
        Finding(
            "screw-too-thick",
            Severity.ERROR,
            "fixture, screws",
            "The hold-down screw does not go through the eyelet's hole.",
            "Choose a thinner screw (fixture.screw) or a larger eyelet.",
            thread,
            hole,
        )
    ]


def _pins(fixture: Fixture) -> list[Finding]:
    findings = []
    wanted = sorted((x, y, fixture.board.pin_diameter) for x, y in fixture.board.pins)
    found = sorted((pin.x, pin.y, pin.diameter) for pin in fixture.pins)
    if len(wanted) != len(found) or not np.allclose(wanted, found, atol=SAME_LENGTH):
        findings.append(
            Finding(
                "pins-do-not-match",
                Severity.ERROR,
                "fixture, pins",
                f'The fixture\'s pin holes do not match board "{fixture.board.name}".',
                "Make the fixture for the board it is used on (fixture.board).",
                len(found),
                len(wanted),
                "",
            )
        )
    lines = shapely.union_all([path.polygon(FLAT).exterior for path in fixture.trim_paths])
    for pin in fixture.pins:
        distance = float(lines.distance(shapely.Point(pin.x, pin.y)))
        limit = pin.diameter / 2 + fixture.trim_cutter / 2 + HEAD_CLEARANCE
        if distance < limit:
            findings.append(
                Finding(
                    "pin-under-trim-path",
                    Severity.NOTE,
                    f"fixture, pin at x = {pin.x:g} mm, y = {pin.y:g} mm",
                    "The trim cutter passes over a pin hole.",
                    "Use board pins that end below the relief groove's floor.",
                    distance,
                    limit,
                )
            )
    return findings


def _where(hole: RoundHole) -> str:
    return f"fixture, screw at x = {hole.x:.1f} mm, y = {hole.y:.1f} mm"
