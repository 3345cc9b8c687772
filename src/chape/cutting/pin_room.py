"""Room for a tool holder over the holes of a fixture's pins, which go through the whole plate."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.choose import HOLDER_AIR, hole_cutter
from chape.cutting.locate import tip_heights
from chape.errors import CannotMakeError
from chape.field.envelope import Body
from chape.tooling.boards import DOWEL_INSET

if TYPE_CHECKING:
    from chape.catalog.model import Board
    from chape.cutting.model import Setup
    from chape.field.grid import Floats
    from chape.tooling.model import RoundHole

#: Places for other pins are looked for along the edges at this step, mm.
STEP = 1.0


def require_pin_room(setup: Setup, board: Board) -> None:
    """See that the holder clears the seats while the pins' holes are made.

    Args:
        setup: the clamping of a fixture that goes on the board.
        board: whose pins they are.

    Raises:
        CannotMakeError: it does not; says where pins could stand. Or no cutter makes such a hole.
    """
    for pin in (hole for hole in setup.holes if hole.use == "pin"):
        over = float(lacking(setup, pin, np.array([[pin.x, pin.y]]))[0])
        if over > 0:
            raise CannotMakeError(
                f'pin ({pin.x:g}, {pin.y:g}) of board "{board.name}" stands so near to a seat that '
                f"the holder would go {over:.1f} mm into it while the pin's hole is made",
                mend=_mend(setup, pin),
            )


def lacking(setup: Setup, pin: RoundHole, places: Floats) -> Floats:
    """Return by how much the holder would go into the finished seat, pins standing elsewhere.

    Args:
        setup: the clamping.
        pin: whose hole is made.
        places: (n, 2) where it would stand, mm.

    Returns:
        (n,) mm; negative where there is room.
    """
    cutter = hole_cutter(setup.cutters, pin, sheet=False, underside=setup.z_bottom)
    # A cutter that bores swings about the hole's middle, and its holder with it.
    swing = max(0.0, (pin.diameter - cutter.diameter) / 2)
    holder = Body.flat(cutter.holder_diameter / 2 + swing)
    lowest = pin.z_bottom + cutter.stick_out
    return tip_heights(setup.target, holder, places) + HOLDER_AIR - lowest


def _mend(setup: Setup, pin: RoundHole) -> str:
    """Return what would help: two other pins, halfway along the edges or as near as can be."""
    middle = setup.depth / 2
    aside = np.arange(0.0, middle - 2 * DOWEL_INSET, STEP)
    y = np.column_stack([middle + aside, middle - aside]).ravel()
    right = setup.width - DOWEL_INSET
    room = [
        lacking(setup, pin, np.column_stack([np.full_like(y, x), y])) <= 0
        for x in (DOWEL_INSET, right)
    ]
    free = np.flatnonzero(room[0] & room[1])
    if not len(free):
        return "Use a wider clamp border (blank.clamp_border) or a larger blank"
    at = y[free[0]]
    return (
        f"Use a board (fixture.board) for plates of {setup.width:g} x {setup.depth:g} mm: with "
        f"pins = [[{DOWEL_INSET:g}, {at:g}], [{right:g}, {at:g}]], say, in workshop.toml"
    )
