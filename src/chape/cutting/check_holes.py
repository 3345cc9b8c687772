"""Whether every hole and groove is there, where it should be, as wide and as deep as it should be.

Position and diameter come from the cutter's path, exactly: a cutter of radius R whose middle goes
through points c sweeps, in direction u, as far as max(c·u) + R. Half the sum of two opposite
reaches is the radius, half their difference the middle. Depth comes from what the cut left.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.allowed import (
    ASIDE,
    DEEPER,
    near_line,
    near_point,
    target_heights,
)
from chape.cutting.sweep import shape_of
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence, Mask
    from chape.field.grid import Floats
    from chape.tooling.model import RoundHole

#: A hole may lie off its place by this, mm.
OFF_PLACE = 0.1
#: A hole's diameter may be off by this, mm.
OFF_SIZE = 0.1
#: A hole's floor, or a groove's, may be left higher by this, mm.
SHALLOW = 0.1
#: Directions a hole is measured in.
DIRECTIONS = 24
#: How far from its place a hole is looked for, mm.
SEARCH = 1.5


def check_holes(evidence: Evidence) -> tuple[Finding, ...]:
    """Return holes and grooves that are missing, off place, of the wrong size or too shallow."""
    found: list[Finding] = []
    for hole in evidence.setup.holes:
        found += _hole(evidence, hole)
    return (*found, *_grooves(evidence))


def _finding(
    evidence: Evidence, code: str, hole: RoundHole, message: str, measured: float, limit: float
) -> Finding:
    mends = {
        "hole-missing": "Drill or bore the hole.",
        "hole-off-place": "Move the hole in the program, or check the setup it was made for.",
        "hole-wrong-size": "Take another cutter or bore to another radius.",
        "hole-shallow": "Go deeper; a drill's point must pass the bottom of a through hole.",
    }
    return Finding(
        code,
        Severity.ERROR,
        f"{evidence.setup.name}, {hole.use} hole at x {hole.x:.2f}, y {hole.y:.2f}",
        message,
        mends[code],
        measured,
        limit,
    )


def _hole(evidence: Evidence, hole: RoundHole) -> list[Finding]:
    near = _cuts_of(evidence, hole)
    if not near.any():
        return [
            _finding(
                evidence,
                "hole-missing",
                hole,
                f"No cut reaches the bottom of the {hole.use} hole",
                0.0,
                hole.diameter,
            )
        ]
    reaches = _reaches(evidence, hole, near)
    half = DIRECTIONS // 2
    widths = reaches[:half] + reaches[half:]
    angles = np.arange(half) * np.pi / half
    shifts = (reaches[:half] - reaches[half:]) / 2
    # Least squares over even directions: the middle is twice the mean of shift times direction.
    middle = 2 * np.array([np.mean(shifts * np.cos(angles)), np.mean(shifts * np.sin(angles))])
    off = float(np.hypot(*middle))
    found = []
    if off > OFF_PLACE:
        message = f"The {hole.use} hole lies {off:.3f} mm off its place"
        found.append(_finding(evidence, "hole-off-place", hole, message, off, OFF_PLACE))
    worst = float(widths[int(np.argmax(np.abs(widths - hole.diameter)))])
    if abs(worst - hole.diameter) > OFF_SIZE:
        message = f"The {hole.use} hole comes out {worst:.3f} mm wide, not {hole.diameter:g} mm"
        found.append(_finding(evidence, "hole-wrong-size", hole, message, worst, hole.diameter))
    left = _left_in(evidence, hole, near)
    if not found and left > SHALLOW:
        message = f"{left:.2f} mm of material stay in the {hole.use} hole"
        found.append(_finding(evidence, "hole-shallow", hole, message, left, SHALLOW))
    return found


def _cuts_of(evidence: Evidence, hole: RoundHole) -> Mask:
    """Return the segments that cut at the hole's bottom and stay near the hole."""
    segments = evidence.segments
    ends, place = segments.ends, np.array([hole.x, hole.y])
    low = np.minimum(ends[:, 2], ends[:, 5]) <= hole.z_bottom + DEEPER
    near: Mask = low & ~segments.rapid
    reach = hole.diameter / 2 + SEARCH - evidence.radius[segments.move]
    for first in (0, 3):
        near &= np.hypot(*(ends[:, first : first + 2] - place).T) <= reach + 1e-9
    return near


def _reaches(evidence: Evidence, hole: RoundHole, near: Mask) -> Floats:
    """Return how far the hole reaches from its place in even directions, mm."""
    ends = evidence.segments.ends[near]
    radius = evidence.radius[evidence.segments.move[near]]
    angles = np.arange(DIRECTIONS) * 2 * np.pi / DIRECTIONS
    directions = np.column_stack([np.cos(angles), np.sin(angles)])
    points = np.vstack([ends[:, :2], ends[:, 3:5]]) - np.array([hole.x, hole.y])
    radii = np.concatenate([radius, radius])
    reaches: Floats = (points @ directions.T + radii[:, None]).max(axis=0)
    return reaches


def _left_in(evidence: Evidence, hole: RoundHole, near: Mask) -> float:
    """Return how much material stands in the hole above its bottom.

    A hole that was drilled keeps the shape of the drill's point, unless it goes through the piece.
    """
    setup = evidence.setup
    grid = setup.stock.grid
    window, distance = near_point(grid, hole.x, hole.y, hole.diameter / 2)
    # Few nodes lie in a narrow hole; one that its wall may rightly pass on the inside says nothing.
    surely = hole.diameter / 2 - OFF_PLACE - OFF_SIZE / 2
    nodes = distance <= max(surely - grid.spacing / 2, min(surely, grid.spacing * 0.75))
    if not nodes.any():
        return 0.0
    slopes = [shape_of(setup.cutters[n])[3] for n in np.unique(evidence.segments.cutter[near])]
    bottom = np.maximum(hole.z_bottom + max(slopes) * distance, setup.z_bottom)
    if hole.z_bottom <= setup.z_bottom:
        bottom = np.full_like(distance, setup.z_bottom)
    left = evidence.removal.stock.z[window] - bottom
    return float(left[nodes].max())


def _grooves(evidence: Evidence) -> tuple[Finding, ...]:
    """Every groove cut to its floor, all along."""
    setup = evidence.setup
    grid, after = setup.stock.grid, evidence.removal.stock.z
    found = []
    target = target_heights(setup)
    for number, groove in enumerate(setup.grooves, start=1):
        worst, spot = 0.0, (0.0, 0.0)
        for window, distance in near_line(grid, groove, groove.width / 2):
            inside = distance <= groove.width / 2 - max(ASIDE, grid.spacing / 2)
            if not inside.any():
                continue
            # A slot in sheet ends below the sheet, whatever is relieved in the fixture under it.
            under = groove.z_floor if setup.sheet_gauge > 0 else target[window]
            floor = np.minimum(groove.z_floor, under)
            left = np.where(inside, after[window] - floor, 0.0)
            j, i = np.unravel_index(int(np.argmax(left)), left.shape)
            if left[j, i] > worst:
                worst = float(left[j, i])
                spot = (float(grid.x[window[1]][i]), float(grid.y[window[0]][j]))
        if worst > SHALLOW:
            found.append(
                Finding(
                    "groove-not-cut",
                    Severity.ERROR,
                    f"{setup.name}, groove {number} at x {spot[0]:.2f}, y {spot[1]:.2f}",
                    f"{worst:.2f} mm of material stay in the groove",
                    "Cut the groove to its floor along its whole length.",
                    worst,
                    SHALLOW,
                )
            )
    return tuple(found)
