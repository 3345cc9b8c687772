"""Checks of what is open in the sheet besides rivet holes: drains and slots."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import shapely

from chape.findings import Finding, Severity
from chape.sheath.check_held import BACK, mend_of
from chape.sheath.drain_holes import left_standing
from chape.sheath.halves import axis_of, half_holes, half_surface_of, side_of, without_ramp
from chape.sheath.holes import FOOT_LEVEL, find_foot
from chape.sheath.model import HoleUse
from chape.sheath.slots import RIVET_MARGIN, WALL_MARGIN, edge_distance
from chape.tolerances import ARC_FIT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.sheath.model import Hole, Piece, Sheath, Slot

#: A slot is cut this near to where it was put, and an outline fitted, mm.
SLACK = 0.05 + 2 * ARC_FIT


def check_openings(sheath: Sheath) -> Iterator[Finding]:
    """Yield what is wrong with drains and slots."""
    yield from _check_water(sheath)
    for upper in (False, True):
        holes = half_holes(sheath, upper=upper)
        for drain in (hole for hole in holes if hole.use is HoleUse.DRAIN):
            yield from _check_covered(drain, holes)
    for piece in sheath.pieces:
        for slot in piece.slots:
            yield from _check_slot(sheath, piece, slot)


def _check_water(sheath: Sheath) -> Iterator[Finding]:
    """See that no water stays in either half as the sheath is carried."""
    carry = sheath.choices.carry
    foot = find_foot(half_surface_of(sheath, upper=without_ramp(sheath)), sheath.fold)
    ends = (min(piece.pattern.bounds[0] for piece in sheath.pieces), sheath.mouth_x)
    drained = [_discs(sheath, upper=upper) for upper in (False, True)]
    for n, discs in enumerate(drained):
        if n and all(one.equals_exact(other, 1e-6) for one, other in zip(*drained, strict=False)):
            # The same drains in the other half let the same water out.
            break
        standing = left_standing(foot, sheath.fold, discs, carry, ends)
        if not standing:
            continue
        worst = standing[0]
        yield Finding(
            "drain-high" if discs else "no-drain",
            Severity.ERROR if discs else Severity.WARNING,
            f"x = {worst.x:.0f} mm, y = {worst.y:.0f} mm",
            f"Carried {carry.value}, water stays in the sheath.",
            BACK if sheath.choices.drain.at else "Give the drain a diameter, or a wider one.",
            worst.depth,
            0.0,
        )
        return
    if not any(drained) and sheath.choices.drain.diameter > 0:
        way = "the mouth" if sheath.fold is None else "the mouth and the fold's channel"
        yield Finding(
            "drains-by-itself",
            Severity.NOTE,
            "drain",
            f"Carried {carry.value}, water runs out at {way}: no drain is made.",
            "Nothing to mend; choose another carry if the sheath hangs otherwise.",
        )


def _discs(sheath: Sheath, *, upper: bool) -> list[shapely.Polygon]:
    """Return a half's drains in the sheath frame; those on the fold line belong to both halves."""
    holes = [hole for piece in sheath.pieces for hole in piece.holes if abs(hole.v) < ARC_FIT]
    holes += half_holes(sheath, upper=upper)
    side, axis = side_of(upper=upper), axis_of(sheath)
    return [
        _reaching(hole.u, side * hole.v + axis, hole.diameter / 2, sheath)
        for hole in holes
        if hole.use is HoleUse.DRAIN
    ]


def _reaching(x: float, y: float, radius: float, sheath: Sheath) -> shapely.Polygon:
    """Return a drain as seen from the side; one on the fold line opens the bend's apex."""
    fold = sheath.fold
    disc = shapely.Point(x, y).buffer(radius)
    if fold is None or abs(y - fold.line) > ARC_FIT:
        return disc
    return shapely.box(x - radius, y - 1e3, x + radius, y + 1e3)


def _check_covered(drain: Hole, holes: tuple[Hole, ...]) -> Iterator[Finding]:
    for rivet in holes:
        if rivet.use is HoleUse.DRAIN:
            continue
        room = hypot(rivet.u - drain.u, rivet.v - drain.v) - rivet.keep_clear
        if room < drain.diameter / 2:
            yield Finding(
                "drain-under-rivet",
                Severity.ERROR,
                f"drain at u = {drain.u:.0f} mm, v = {drain.v:.0f} mm",
                "A rivet's flange covers part of the drain.",
                mend_of(drain, "Make the drain smaller, or ask for a wider seat margin."),
                room - drain.diameter / 2,
                0.0,
            )


def _check_slot(sheath: Sheath, piece: Piece, slot: Slot) -> Iterator[Finding]:
    """See that a slot keeps off the edge, off the walls and off every rivet's flange."""
    area = slot.area(0.005)
    gauge = float(sheath.sheet.gauge.value)
    edge = float(piece.pattern.polygon().exterior.distance(area))
    rise = _nearest_wall(piece, slot)
    near = min(
        (
            float(area.distance(shapely.Point(hole.u, hole.v))) - hole.keep_clear
            for hole in piece.holes
        ),
        default=RIVET_MARGIN,
    )
    wanted = edge_distance(gauge)
    if edge < wanted - SLACK:
        yield _of_slot(
            "slot-edge-low", slot, "Too little sheet is left outside the slot.", edge, wanted
        )
    if rise < WALL_MARGIN - SLACK:
        yield _of_slot(
            "slot-wall-low", slot, "The slot comes too near to the wall's foot.", rise, WALL_MARGIN
        )
    if near < RIVET_MARGIN - SLACK:
        yield _of_slot(
            "slot-near-rivet",
            slot,
            "The slot comes too near to a rivet's flange.",
            near,
            RIVET_MARGIN,
        )


def _of_slot(code: str, slot: Slot, message: str, measured: float, limit: float) -> Finding:
    return Finding(
        code,
        Severity.ERROR,
        f"slot at u = {slot.u:.0f} mm, v = {slot.v:.0f} mm",
        message,
        "Move the slot along, or further out.",
        measured,
        limit,
    )


def _nearest_wall(piece: Piece, slot: Slot) -> float:
    """Return how far a slot lies from what stands above the flange, at most what matters, mm."""
    grid = piece.formed.grid
    area = slot.area(0.02)
    reach = WALL_MARGIN + 2 * grid.spacing
    x_min, y_min, x_max, y_max = area.buffer(reach).bounds
    i = slice(*grid.x.searchsorted((x_min, x_max)).tolist())
    j = slice(*grid.y.searchsorted((y_min, y_max)).tolist())
    raised = piece.formed.z[j, i] > FOOT_LEVEL
    if not raised.any():
        return reach
    x, y = grid.mesh()
    points = shapely.points(x[j, i][raised], y[j, i][raised])
    # The foot lies within a cell of the first node that stands above it.
    return min(reach, float(shapely.distance(area, points).min()))
