"""Checks of the flat pattern: rivets, clip and outline."""

from __future__ import annotations

from itertools import combinations, pairwise
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.field.outline import arc_of
from chape.findings import Finding, Severity
from chape.sheath.check_clips import check_clips
from chape.sheath.check_held import check_held, mend_of
from chape.sheath.check_openings import check_openings
from chape.sheath.halves import axis_of, half_surface_of, rows_of
from chape.sheath.holes import find_foot
from chape.sheath.model import HoleUse
from chape.tolerances import ARC_FIT, SAME_LENGTH

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from chape.sheath.model import Hole, Piece, Sheath

#: Sheet outside a rivet's flange, at least, mm. Common practice, no source.
FLANGE_MARGIN = 1.0

#: From a hole's centre to the edge of the sheet, in hole diameters: never below the first, and
#: below the second a rivet in metal is thought weak (FAA AC 43.13-1B, chapter 4).
EDGE_LEAST, EDGE_WANTED = 1.0, 2.0

#: Sheet under a rivet's flange is level within this, mm.
LEVEL = 0.15

#: The line of eyelets is fairer than the foot of the wall, and so in places further from it, mm.
FOOT_SLACK = 1.0

#: No bridge of sheet is narrower than this, mm: it would break while the outline is cut.
BRIDGE_LEAST = 3.0


def check_pattern(sheath: Sheath) -> Iterator[Finding]:
    """Yield what is wrong with holes and outline."""
    yield from _check_edges(sheath)
    yield from _check_seats(sheath)
    yield from _check_spacing(sheath)
    yield from check_clips(sheath)
    yield from check_openings(sheath)
    yield from check_held(sheath)
    for piece in sheath.pieces:
        yield from _check_outline(piece, sheath.choices.edging.radius_least)


def rivets_of(holes: Iterable[Hole]) -> list[Hole]:
    """Return the holes that a rivet or a clip's screw goes through."""
    return [hole for hole in holes if hole.use is not HoleUse.DRAIN]


def _check_edges(sheath: Sheath) -> Iterator[Finding]:
    rivets = [hole for piece in sheath.pieces for hole in rivets_of(piece.holes)]
    rims = [(piece, piece.pattern.polygon().exterior) for piece in sheath.pieces]
    distances = [
        float(rim.distance(shapely.Point(hole.u, hole.v)))
        for piece, rim in rims
        for hole in rivets_of(piece.holes)
    ]
    margins = [d - hole.keep_clear for d, hole in zip(distances, rivets, strict=True)]
    wanted = max(FLANGE_MARGIN, sheath.choices.edging.margin)
    least = int(np.argmin(margins))
    if margins[least] < wanted - 2 * ARC_FIT:
        yield Finding(
            "rivet-margin-low",
            Severity.ERROR if margins[least] < FLANGE_MARGIN else Severity.WARNING,
            _place(rivets[least]),
            "Too little sheet is left outside the rivet's flange.",
            mend_of(
                rivets[least],
                "Ask for a wider margin, or let the sheath end further from that rivet.",
            ),
            margins[least],
            wanted,
        )
    shares = [d / hole.diameter for d, hole in zip(distances, rivets, strict=True)]
    least = int(np.argmin(shares))
    if shares[least] < EDGE_WANTED:
        below = shares[least] < EDGE_LEAST
        yield Finding(
            "rivet-edge-low",
            Severity.ERROR if below else Severity.WARNING,
            _place(rivets[least]),
            "From the hole's centre to the edge of the sheet is less than twice its diameter.",
            mend_of(
                rivets[least],
                "Ask for a wider margin or smaller eyelets where the sheath carries a load.",
            ),
            shares[least],
            EDGE_LEAST if below else EDGE_WANTED,
            "diameters",
        )


def _check_seats(sheath: Sheath) -> Iterator[Finding]:
    worst, highest = sheath.pieces[0].holes[0], 0.0
    angles = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    for piece in sheath.pieces:
        for hole in rivets_of(piece.holes):
            rings = [
                (hole.u, hole.v)
                + share * hole.keep_clear * np.column_stack([np.cos(angles), np.sin(angles)])
                for share in (0.5, 0.75, 1.0)
            ]
            rise = float(piece.formed.at(np.vstack(rings)).max())
            if rise > highest:
                worst, highest = hole, rise
    if highest > LEVEL:
        yield Finding(
            "rivet-seat-uneven",
            Severity.ERROR,
            _place(worst),
            "The sheet is not level under the rivet's flange.",
            mend_of(worst, "Ask for a wider seat margin."),
            highest,
            LEVEL,
        )


def _check_spacing(sheath: Sheath) -> Iterator[Finding]:
    rows = rows_of(sheath, upper=False)
    front = [hole for row in rows for hole in row]
    wanted = sheath.choices.eyelets.spacing_least
    least = wanted * max(hole.diameter for hole in front)
    for one, other in combinations(front, 2):
        distance = hypot(one.u - other.u, one.v - other.v)
        if distance < least - SAME_LENGTH:
            yield Finding(
                "rivets-close",
                Severity.WARNING,
                f"{_place(one)} and {_place(other)}",
                f"Two holes stand nearer to each other than {wanted:g} diameters.",
                mend_of(
                    one if other.held is None else other,
                    "Choose a clip whose holes lie further apart, or allow a longer pitch.",
                ),
                distance,
                least,
            )
    # The order in which they stand is that from the mouth to the tip.
    at_the_wall = [reversed(_at_the_wall(sheath, row)) for row in rows]
    for one, other in (pair for row in at_the_wall for pair in pairwise(row)):
        distance = hypot(one.u - other.u, one.v - other.v)
        if distance > sheath.choices.eyelets.pitch_most + 2 * ARC_FIT:
            yield Finding(
                "rivets-far",
                Severity.WARNING,
                f"{_place(one)} to {_place(other)}",
                "Two neighbouring rivets stand further apart than the pitch asked for.",
                mend_of(
                    one if other.held is None else other,
                    "Ask for smaller eyelets, or a clip with a shorter pattern.",
                ),
                distance,
                sheath.choices.eyelets.pitch_most,
            )


def _at_the_wall(sheath: Sheath, holes: Iterable[Hole]) -> list[Hole]:
    """Return the eyelets within a flange's radius of where the wall lets them stand.

    A plate's second row closes nothing there.
    """
    foot = find_foot(half_surface_of(sheath, upper=False), sheath.fold).region
    reach = sheath.eyelet.flange.value + sheath.choices.eyelets.seat_margin + FOOT_SLACK
    return [
        hole
        for hole in holes
        if hole.use is HoleUse.EYELET
        and foot.distance(shapely.Point(hole.u, hole.v + axis_of(sheath))) <= reach
    ]


def _check_outline(piece: Piece, wanted: float) -> Iterator[Finding]:
    pattern, name = piece.pattern, _named(piece)
    polygon = pattern.polygon()
    shrunk = polygon.buffer(-BRIDGE_LEAST / 2)
    if not pattern.is_simple or shrunk.geom_type != "Polygon":
        yield Finding(
            "outline-touches-itself",
            Severity.ERROR,
            name,
            "The outline touches itself, or leaves a bridge of sheet too narrow to cut.",
            "Ask for wider margins.",
            None,
            BRIDGE_LEAST,
        )
    ends = np.roll(pattern.points, -1, axis=0)
    for start, end, bulge in zip(pattern.points, ends, pattern.bulges, strict=True):
        if bulge >= 0:
            continue
        _, radius, _, _ = arc_of(start, end, float(bulge))
        # A fitted arc may be sharper than its curve by what the fit allows.
        sagitta = abs(float(bulge)) * hypot(*(end - start)) / 2
        if radius < wanted - 0.05 and sagitta > 5 * ARC_FIT:
            yield Finding(
                "outline-corner-sharp",
                Severity.ERROR,
                f"{name}, u = {start[0]:.0f} mm, v = {start[1]:.0f} mm",
                "An inside corner is sharper than the trim cutter.",
                "Ask for a larger least radius, or wider margins.",
                radius,
                wanted,
            )


def _named(piece: Piece) -> str:
    return f"flat pattern of the {piece.name}"


def _place(hole: Hole) -> str:
    return f"{hole.use.value} at u = {hole.u:.0f} mm, v = {hole.v:.0f} mm"
