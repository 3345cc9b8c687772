"""Which cutter of the rack does what, and whether it is long enough.

For plates the rack's own order settles between equals; for sheet the shorter cutter, which is
stiffer and leaves the better edge.
"""

from __future__ import annotations

from math import inf, radians, tan
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.cutting.locate import tip_heights
from chape.errors import CannotMakeError
from chape.field.envelope import Body

if TYPE_CHECKING:
    from collections.abc import Iterable

    from chape.catalog.model import Cutter
    from chape.cutting.model import Moves
    from chape.field.heights import HeightField
    from chape.tooling.model import RoundHole

#: A drill this near to a hole's diameter makes it, mm.
DRILL_FIT = 0.1

#: A cutter this much too large still fits a fillet or a groove, mm: lengths written in inches are
#: seldom exact, and what it cuts too far is far below what any check sees.
SNUG = 0.005

#: A cutter that bores leaves room to turn: its diameter as a share of the hole's, at most.
BORE_SHARE = 0.78

#: Air between a holder, or a shank wider than its cutter, and anything, mm.
HOLDER_AIR = 0.5


def _of_kind(cutters: Iterable[Cutter], kind: CutterKind) -> list[Cutter]:
    return [cutter for cutter in cutters if cutter.kind is kind]


def roughing_cutter(cutters: tuple[Cutter, ...]) -> Cutter:
    """Return the widest flat cutter, the first in the rack of several.

    Raises:
        CannotMakeError: there is none.
    """
    flats = _of_kind(cutters, CutterKind.FLAT)
    if not flats:
        raise CannotMakeError("the rack holds no flat cutter to rough with", mend="Add one")
    return min(flats, key=lambda cutter: (-cutter.diameter, cutter.number))


def finishing_cutters(cutters: tuple[Cutter, ...]) -> list[Cutter]:
    """Return the balls, largest first: each cuts what those before it do not reach.

    Raises:
        CannotMakeError: there is none.
    """
    balls = _of_kind(cutters, CutterKind.BALL)
    if not balls:
        raise CannotMakeError("the rack holds no ball cutter to finish with", mend="Add one")
    return sorted(balls, key=lambda cutter: (-cutter.diameter, cutter.number))


def for_fillet(cutters: tuple[Cutter, ...], fillet: float) -> tuple[Cutter, ...]:
    """Return the cutters without the balls smaller than an inside fillet asks for.

    Larger ones stay: they finish the most of a surface, and the one that fits picks out the rest.

    Args:
        cutters: the rack.
        fillet: least inside radius of the surface, mm.

    Raises:
        CannotMakeError: no ball is small enough.
    """
    balls = _of_kind(cutters, CutterKind.BALL)
    fitting = [ball for ball in balls if ball.radius <= fillet + SNUG]
    if balls and not fitting:
        least = min(ball.radius for ball in balls)
        raise CannotMakeError(
            f"the smallest ball in the rack has a radius of {least:g} mm and is too large for "
            f"fillets of {fillet:g} mm",
            mend=f"Add a ball of {2 * fillet:g} mm or less, or make the fillet {least:g} mm",
        )
    largest = max((ball.radius for ball in fitting), default=0.0)
    return tuple(c for c in cutters if c.kind is not CutterKind.BALL or c.radius >= largest)


def hole_cutter(
    cutters: tuple[Cutter, ...], hole: RoundHole, *, sheet: bool, underside: float = -inf
) -> Cutter:
    """Return the drill of the hole's size, or the flat cutter that bores it.

    A drill makes a hole that goes through ``underside`` only where its point may come out below.

    Raises:
        CannotMakeError: none fits, or those that fit are too short.
    """
    deep = hole.z_top - hole.z_bottom
    drills = [
        cutter
        for cutter in _of_kind(cutters, CutterKind.DRILL)
        if abs(cutter.diameter - hole.diameter) <= DRILL_FIT
        and (hole.z_bottom >= underside or point_of(cutter) <= underside - hole.z_bottom + SNUG)
    ]
    flats = _of_kind(cutters, CutterKind.FLAT)
    roomy = [cutter for cutter in flats if cutter.diameter <= BORE_SHARE * hole.diameter]
    tight = [cutter for cutter in flats if cutter.diameter <= hole.diameter - 0.2]
    fitting = drills + (roomy or tight)
    if not fitting:
        raise CannotMakeError(
            f"no cutter in the rack makes the {hole.use} hole of {hole.diameter:g} mm at "
            f"x {hole.x:.1f}, y {hole.y:.1f}",
            mend=f"Add a drill of {hole.diameter:g} mm or a smaller flat cutter",
        )
    reaching = [cutter for cutter in fitting if cutter.flute_length >= deep - 1e-6]
    if not reaching:
        longest = max(cutter.flute_length for cutter in fitting)
        raise CannotMakeError(
            f"the {hole.use} hole of {hole.diameter:g} mm at x {hole.x:.1f}, y {hole.y:.1f} is "
            f"{deep:.1f} mm deep, and the longest cutter that fits cuts {longest:g} mm",
            mend=f"Add a cutter with flutes of {deep:.1f} mm, or take a thinner plate",
        )
    if sheet:
        return min(reaching, key=lambda c: (c not in drills, -c.diameter, c.stick_out))
    return min(reaching, key=lambda c: (c not in drills, -c.diameter, c.number))


def point_of(drill: Cutter) -> float:
    """Return the height of a drill's point, mm."""
    return drill.radius / tan(radians(drill.point_angle / 2))


def slot_cutter(
    cutters: tuple[Cutter, ...], width: float, deep: float, what: str, *, sheet: bool
) -> Cutter:
    """Return the widest flat cutter that fits a groove of ``width`` mm, ``deep`` mm deep.

    Raises:
        CannotMakeError: none fits, or those that fit are too short.
    """
    flats = _of_kind(cutters, CutterKind.FLAT)
    fitting = [cutter for cutter in flats if cutter.diameter <= width + SNUG]
    if not fitting:
        raise CannotMakeError(
            f"no flat cutter in the rack is as narrow as {what} of {width:g} mm",
            mend=f"Add a flat cutter of {width:g} mm or less",
        )
    reaching = [cutter for cutter in fitting if cutter.flute_length >= deep - 1e-6]
    if not reaching:
        longest = max(cutter.flute_length for cutter in fitting)
        raise CannotMakeError(
            f"{what} is {deep:.1f} mm deep, and the longest cutter that fits cuts {longest:g} mm",
            mend=f"Add a flat cutter with flutes of {deep:.1f} mm",
        )
    if sheet:
        return min(reaching, key=lambda cutter: (-cutter.diameter, cutter.stick_out))
    return min(reaching, key=lambda cutter: (-cutter.diameter, cutter.number))


def require_reach(cutter: Cutter, moves: Moves, standing: HeightField, what: str) -> None:
    """See that neither holder nor a wide shank meets what stands beside the cut.

    Args:
        cutter: with its stick-out and its shank.
        moves: the cut, tip places.
        standing: top of the material while it is made, mm.
        what: the cut, in words.

    Raises:
        CannotMakeError: with the stick-out or flute length that would do.
    """
    collars = [(cutter.stick_out, cutter.holder_diameter / 2, "stick-out", "holder")]
    if cutter.shank_diameter > cutter.diameter + 1e-6:
        collars.append((cutter.flute_length, cutter.shank_diameter / 2, "flutes", "shank"))
    for length, radius, name, part in collars:
        low = moves.end[moves.end[:, 2] + length < float(standing.z.max()) + HOLDER_AIR]
        if not len(low):
            continue
        needed = tip_heights(standing, Body.flat(radius), low[:, :2]) - low[:, 2] + HOLDER_AIR
        worst = int(np.argmax(needed))
        if needed[worst] > length:
            x, y, z = low[worst]
            raise CannotMakeError(
                f"{what}: T{cutter.number} with {name} of {length:g} mm is too short; at "
                f"x {x:.1f}, y {y:.1f}, z {z:.1f} its {part} would meet the material",
                mend=f"Take a cutter with {name} of {needed[worst]:.1f} mm or more",
            )
