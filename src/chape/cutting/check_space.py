"""Whether a program keeps its cutters, shanks and holders out of what they must not meet."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.parsed import EventKind
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence, Mask
    from chape.cutting.model import KeepOut
    from chape.field.grid import Floats

#: Contact less deep than this is rounding, mm.
CONTACT = 0.01
#: Cutters may go below the piece by this, into the spoil board, mm.
SPOIL = 1.0


def check_space(evidence: Evidence) -> tuple[Finding, ...]:
    """Return rapids through material, strikes, posts hit, and moves beyond the travel."""
    return (
        *_unknown_places(evidence),
        *_rapids(evidence),
        *_strikes(evidence),
        *_travel(evidence),
        *_depth(evidence),
        *_posts(evidence),
    )


def _unknown_places(evidence: Evidence) -> tuple[Finding, ...]:
    """Until the text says how high the cutter is, it may not travel; until where, not cut."""
    program = evidence.program
    start, end = program.start, program.end
    across = ((end[:, :2] != start[:, :2]) & ~np.isnan(end[:, :2])).any(axis=1)
    blind = np.isnan(start[:, 2]) & across
    lost = evidence.cutting & (np.isnan(start).any(axis=1) | np.isnan(end).any(axis=1))
    top = float(evidence.setup.stock.z.max())
    unseen = np.isnan(start[:, :2]).any(axis=1) & across & (end[:, 2] < top)
    return evidence.first(
        "place-unknown",
        blind | lost | unseen,
        "{count} moves start where the program has not said the cutter stands",
        "Begin with a rapid to the safe height, then one across it.",
    )


def _rapids(evidence: Evidence) -> tuple[Finding, ...]:
    program, depth = evidence.program, evidence.depth
    through = program.rapid & (depth > CONTACT)
    stray = program.rapid & ~through & (evidence.stray > CONTACT)
    with np.errstate(invalid="ignore"):
        step = np.nan_to_num(np.abs(program.end - program.start))
    mixed = program.rapid & (step[:, 2] > 1e-6) & (step[:, :2] > 1e-6).any(axis=1)
    mixed &= np.isfinite(program.start).all(axis=1) & ~through & ~stray
    return (
        *evidence.worst(
            "rapid-into-material",
            depth,
            through,
            "A rapid goes {value} mm deep into material ({count} rapids)",
            "Lift above the material before travelling.",
            limit=CONTACT,
        ),
        *evidence.worst(
            "rapid-dog-leg",
            evidence.stray,
            stray,
            "A rapid may go {value} mm deep into material on a machine that moves its axes one"
            " after the other ({count} rapids)",
            "Lift first, then travel, then sink.",
            limit=CONTACT,
        ),
        *evidence.first(
            "rapid-mixed",
            mixed,
            "{count} rapids change height while travelling",
            "Lift first, then travel, then sink.",
            severity=Severity.WARNING,
        ),
    )


def _strikes(evidence: Evidence) -> tuple[Finding, ...]:
    return (
        *evidence.worst(
            "holder-strike",
            evidence.holder,
            evidence.holder > CONTACT,
            "The holder goes {value} mm deep into material ({count} moves)",
            "Let the cutter stick out further, or cut in more levels.",
            limit=CONTACT,
        ),
        *evidence.worst(
            "shank-strike",
            evidence.shank,
            evidence.shank > CONTACT,
            "The shank above the flutes goes {value} mm deep into material ({count} moves)",
            "Take a cutter with longer flutes, or cut in more levels.",
            limit=CONTACT,
        ),
    )


def _travel(evidence: Evidence) -> tuple[Finding, ...]:
    found: list[Finding] = []
    for axis, name in enumerate("xyz"):
        places = evidence.program.end[:, axis]
        places = places[np.isfinite(places)]
        if len(places) == 0:
            continue
        low, high = float(places.min()), float(places.max())
        for n in np.flatnonzero(evidence.program.sweep):
            if axis < 2:
                low, high = _widened(evidence, int(n), axis, low, high)
        room = float(evidence.setup.machine.travel[axis])
        if high - low > room:
            found.append(
                Finding(
                    "travel-exceeded",
                    Severity.ERROR,
                    f"{evidence.setup.name}, {name} from {low:.2f} to {high:.2f} mm",
                    f"The program needs {high - low:.2f} mm of travel in {name}; the machine has"
                    f" {room:g} mm",
                    "Take a larger machine or a smaller piece.",
                    high - low,
                    room,
                )
            )
    return tuple(found)


def _widened(
    evidence: Evidence, move: int, axis: int, low: float, high: float
) -> tuple[float, float]:
    """Return a range widened by the whole circle of an arc, where that is not far wrong."""
    program = evidence.program
    centre = float(program.centre[move, axis])
    radius = float(np.hypot(*(program.start[move, :2] - program.centre[move])))
    if abs(program.sweep[move]) > np.pi:
        return min(low, centre - radius), max(high, centre + radius)
    return low, high


def _depth(evidence: Evidence) -> tuple[Finding, ...]:
    setup, program = evidence.setup, evidence.program
    below = setup.z_bottom - program.end[:, 2]
    below = np.where(np.isfinite(below), below, -inf)
    return evidence.worst(
        "below-piece",
        below,
        below > SPOIL + CONTACT,
        "The cutter goes {value} mm below the piece ({count} moves)",
        "Cut less deep, or check the zero of the program.",
        limit=SPOIL,
    )


def _posts(evidence: Evidence) -> tuple[Finding, ...]:
    """Screw heads: those put in by hand stand from the stop that follows their bores."""
    setup, program = evidence.setup, evidence.program
    if not setup.keep_outs:
        return ()
    later = [post for post in setup.keep_outs if post.after_stop]
    stop = screw_stop(evidence, later) if later else 0
    found: list[Finding] = []
    if stop is None:
        found.append(
            Finding(
                "screw-stop-missing",
                Severity.ERROR,
                setup.name,
                "The program never stops for the screws that hold the parts while they are cut"
                " free",
                "Put M0 after the bores and before the outlines.",
            )
        )
        stop = 0
    entered = np.full(len(program), -inf)
    for post in setup.keep_outs:
        deep = _overlap(evidence, post)
        if post.after_stop:
            deep = np.where(evidence.segments.move >= stop, deep, -inf)
        np.maximum.at(entered, evidence.segments.move, deep)
    found += evidence.worst(
        "screw-head-hit",
        entered,
        entered > 0,
        "Cutter or holder overlaps a screw head by {value} mm ({count} moves)",
        "Move the screw, or keep the path off it.",
        limit=0.0,
    )
    return tuple(found)


def screw_stop(evidence: Evidence, posts: list[KeepOut]) -> int | None:
    """Return the first move after the stop that the screws go in at, None where there is none.

    That is the first M0 after the last of the screws' own holes reached its depth.
    """
    program = evidence.program
    ready = 0
    for post in posts:
        for hole in evidence.setup.holes:
            aside = np.hypot(hole.x - post.x, hole.y - post.y)
            if aside > hole.diameter / 2:
                continue
            away = np.hypot(program.end[:, 0] - hole.x, program.end[:, 1] - hole.y)
            done = (away <= hole.diameter / 2) & (program.end[:, 2] <= hole.z_bottom + CONTACT)
            if done.any():
                ready = max(ready, int(np.argmax(done)) + 1)
    stops = [e.move for e in program.events if e.kind is EventKind.STOP and e.move >= ready]
    # A stop before anything was cut is for the first cutter, not for screws.
    stops = [move for move in stops if (evidence.depth[:move] > CONTACT).any()]
    return min(stops, default=None)


def _overlap(evidence: Evidence, post: KeepOut) -> Floats:
    """Return (segments,) how far cutter, shank or holder overlap a post in the plane, mm."""
    cutters = evidence.setup.cutters
    ends = evidence.segments.ends
    deepest = np.full(len(ends), -inf)
    for radius_of, lift_of in (
        ([c.radius for c in cutters], [0.0 for _ in cutters]),
        ([c.shank_diameter / 2 for c in cutters], [c.flute_length for c in cutters]),
        ([c.holder_diameter / 2 for c in cutters], [c.stick_out for c in cutters]),
    ):
        radius = np.array(radius_of)[evidence.segments.cutter]
        lift = np.array(lift_of)[evidence.segments.cutter]
        near = np.minimum(ends[:, 2], ends[:, 5]) + lift < post.z_top
        deep = _lowest_overlap(ends, radius, lift, post, near)
        deepest = np.maximum(deepest, deep)
    return deepest


def _lowest_overlap(
    ends: Floats, radius: Floats, lift: Floats, post: KeepOut, near: Mask
) -> Floats:
    """Return how far discs overlap a post over the part of each segment that is low enough."""
    deep = np.full(len(ends), -inf)
    a, b = ends[near, :3], ends[near, 3:]
    if len(a) == 0:
        return deep
    way = b - a
    limit = post.z_top - lift[near]
    # The share of the segment below the post's top.
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = np.where(way[:, 2] == 0, 0.0, (limit - a[:, 2]) / way[:, 2])
    first = np.where((way[:, 2] < 0) & (a[:, 2] >= limit), np.clip(crossing, 0, 1), 0.0)
    last = np.where((way[:, 2] > 0) & (b[:, 2] >= limit), np.clip(crossing, 0, 1), 1.0)
    squared = (way[:, :2] ** 2).sum(axis=1)
    to_post = np.array([post.x, post.y]) - a[:, :2]
    along = (to_post * way[:, :2]).sum(axis=1) / np.where(squared > 0, squared, 1.0)
    share = np.clip(np.where(squared > 0, along, 0.0), first, last)
    distance = np.hypot(*(a[:, :2] + share[:, None] * way[:, :2] - [post.x, post.y]).T)
    deep[near] = post.radius + radius[near] - distance
    return deep
