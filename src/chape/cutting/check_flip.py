"""Whether what is cut from below meets what is cut from above."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.allowed import near_line
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence, Mask
    from chape.cutting.model import Setup
    from chape.field.grid import Floats, Grid
    from chape.tooling.model import Groove, RoundHole

#: Material removed by less than this is not a groove, mm.
SCRATCH = 0.1
#: A vent's halves may lie off each other by this, mm.
OFF_PLACE = 0.1


def check_flip_side(evidence: Evidence) -> tuple[Finding, ...]:
    """Return whether a flipped piece was cut as if it had not been turned over."""
    setup = evidence.setup
    if not setup.flipped or not setup.grooves:
        return ()
    grid = setup.stock.grid
    cut = setup.stock.z - evidence.removal.stock.z > SCRATCH
    if not cut.any():
        return ()
    mirrored = tuple(_turned(groove, setup.width) for groove in setup.grooves)
    right = float((cut & _inside(grid, setup.grooves)).sum() / cut.sum())
    wrong = float((cut & _inside(grid, mirrored)).sum() / cut.sum())
    if right >= 0.5 or wrong <= right:
        return ()
    return (
        Finding(
            "flip-wrong-side",
            Severity.ERROR,
            setup.name,
            f"{wrong:.0%} of what is cut lies in the mirror image of the grooves, {right:.0%} in"
            " the grooves: the piece is cut as if it had not been turned over",
            "Mirror the program left to right (x becomes width less x).",
            100 * right,
            50.0,
            unit="%",
        ),
    )


def check_flip(top: Setup, back: Setup) -> tuple[Finding, ...]:
    """Return vents of the top that end in no groove of the back, and grooves that meet no vent.

    Args:
        top: the setup the vents are drilled in.
        back: the same piece turned over left to right.
    """
    vents = [hole for hole in top.holes if hole.use == "vent"]
    if not vents or not back.grooves:
        return ()
    grooves = [_turned(groove, back.width) for groove in back.grooves]
    places = np.array([[hole.x, hole.y] for hole in vents])
    away = np.array([_distances(groove, places) - groove.width / 2 for groove in grooves])
    radii = np.array([hole.diameter / 2 for hole in vents])
    met = away <= -radii[None, :] + 1e-6
    missed = np.flatnonzero(~met.any(axis=0))
    idle = np.flatnonzero(~met.any(axis=1))
    found = []
    if len(missed):
        hole = vents[int(missed[0])]
        nearest = float(away[:, missed[0]].min() + hole.diameter / 2)
        found.append(
            Finding(
                "vent-misses-groove",
                Severity.ERROR,
                f"{back.name}, vent at x {hole.x:.2f}, y {hole.y:.2f} of the top",
                f"{len(missed)} vents open beside the back grooves",
                "Check that the back is mirrored left to right, and that grooves follow the vents.",
                nearest,
                0.0,
            )
        )
    if len(missed) and len(idle):
        found.append(
            Finding(
                "groove-without-vent",
                Severity.WARNING,
                f"{back.name}, groove {int(idle[0]) + 1}",
                f"{len(idle)} grooves lie under no vent",
                "Check that the back is mirrored left to right.",
                float(len(idle)),
                0.0,
                unit="",
            )
        )
    return (*found, *_not_through(top, back, vents, met))


def _not_through(top: Setup, back: Setup, vents: list[RoundHole], met: Mask) -> tuple[Finding, ...]:
    """Return vents that stop short of their groove, and of what is drilled towards them."""
    floors = top.z_bottom - np.array([groove.z_floor for groove in back.grooves])
    worst, where, count = 0.0, vents[0], 0
    for n, vent in enumerate(vents):
        # The way from below comes as high as its groove, or as the hole drilled from the back.
        opposite = [
            top.z_bottom - hole.z_bottom
            for hole in back.holes
            if np.hypot(back.width - hole.x - vent.x, hole.y - vent.y) <= OFF_PLACE
        ]
        reached = [*floors[met[:, n]].tolist(), *opposite]
        short = vent.z_bottom - max(reached) if reached else 0.0
        if short > 1e-6:
            count += 1
            if short > worst:
                worst, where = short, vent
    if not count:
        return ()
    return (
        Finding(
            "vent-not-through",
            Severity.ERROR,
            f"{top.name}, vent at x {where.x:.2f}, y {where.y:.2f}",
            f"{count} vents end in the plate: what is drilled from the top and what is cut from "
            "the back do not meet",
            "Drill deeper from the top, or towards it from the back.",
            worst,
            0.0,
        ),
    )


def _turned(groove: Groove, width: float) -> Groove:
    """Return a groove as seen when the piece is turned over left to right."""
    turned = np.column_stack([width - groove.points[:, 0], groove.points[:, 1]])
    return replace(groove, points=turned)


def _inside(grid: Grid, grooves: tuple[Groove, ...]) -> Mask:
    inside = np.zeros(grid.shape, dtype=np.bool_)
    for groove in grooves:
        reach = groove.width / 2 + grid.spacing
        for window, distance in near_line(grid, groove, reach):
            inside[window] |= distance <= reach
    return inside


def _distances(groove: Groove, places: Floats) -> Floats:
    """Return (n,) distance of places from a groove's middle line."""
    best = np.full(len(places), np.inf)
    for start, end in zip(groove.points[:-1], groove.points[1:], strict=True):
        way = end - start
        squared = float(way @ way)
        to_place = places - start
        share = np.clip(to_place @ way / squared, 0, 1) if squared else np.zeros(len(places))
        best = np.minimum(best, np.hypot(*(to_place - share[:, None] * way).T))
    return best
