"""Several sheaths on one blank, and the whole blank as formed."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError, InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tolerances import SAME_LENGTH
from chape.tooling.marks import front_mark, locators, raise_locators, raise_mark
from chape.tooling.model import Layout, Part, Placement
from chape.tooling.nesting import Shapes
from chape.tooling.patterns import choose_pattern, usable

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.sheath.model import Piece, Sheath
    from chape.tooling.model import BlankChoices
    from chape.tooling.nesting import Copy


def lay_out(sheath: Sheath, blank: BlankChoices) -> Layout:
    """Lay the wanted number of copies on a blank.

    Copies are turned by quarter turns and moved by whole grid cells, so that each is the sheath's
    own field, node for node. The pattern is the best by ``patterns.choose_pattern``.

    Raises:
        InputError: the clamp border leaves no sheet, or the field cannot be copied.
        CannotMakeError: the copies do not fit; says how many would, and by how much it fails.
    """
    for piece in sheath.pieces:
        _check_input(piece, blank)
    shapes = Shapes(sheath.pieces, float(sheath.sheet.gauge.value), blank)
    chosen = choose_pattern(shapes, blank)
    parts = tuple(_part(sheath, copy, shapes.spacing) for copy in chosen.copies)
    patterns = tuple(part.pattern for part in parts)
    grid = Grid.over(0.0, 0.0, blank.width, blank.depth, shapes.spacing)
    z = np.zeros(grid.shape)
    for part in parts:
        _raise_copy(z, grid, sheath.pieces[part.piece].formed, part.place)
    raised = shapes.placed_raised(chosen.copies)
    buttons = locators(blank, patterns, raised, sheath.choices.fillet)
    mark = front_mark(blank, patterns, raised, buttons)
    raise_locators(z, grid, buttons, sheath.choices.fillet)
    if mark is not None:
        raise_mark(z, grid, mark, sheath.choices.fillet)
    return Layout(
        sheaths=(sheath,),
        blank=blank,
        parts=parts,
        formed=HeightField(grid, z),
        locators=buttons,
        front_mark=mark,
    )


def _check_input(piece: Piece, blank: BlankChoices) -> None:
    if min(usable(blank)) <= 0:
        raise InputError(
            f"a clamp border of {blank.clamp_border:g} mm leaves nothing of a blank of "
            f"{blank.width:g} x {blank.depth:g} mm",
            mend="Use a narrower border or a larger blank",
            field="blank.clamp_border",
        )
    grid = piece.formed.grid
    for start in (grid.x0, grid.y0):
        if abs(start / grid.spacing - round(start / grid.spacing)) * grid.spacing > SAME_LENGTH:
            raise InputError(
                f"the sheath's field starts at {start:g} mm, between the nodes of a grid of "
                f"{grid.spacing:g} mm",
                mend="Start its grid at a multiple of its spacing",
            )
    lowest = float(piece.formed.z.min())
    if lowest < -SAME_LENGTH:
        raise CannotMakeError(
            f"the formed sheath reaches {-lowest:.2f} mm below its flange plane, which a blank "
            "formed over one mould cannot",
            mend="Choose clearances that keep the whole sheath above its flanges",
        )


def _part(sheath: Sheath, copy: Copy, spacing: float) -> Part:
    place = Placement(copy.i * spacing, copy.j * spacing, copy.turns)
    pattern = sheath.pieces[copy.piece].pattern.moved(place.x, place.y, place.quarter_turns)
    return Part(0, copy.piece, place, pattern)


def turned_field(formed: HeightField, quarter_turns: int) -> tuple[Floats, float, float]:
    """Return a field's heights turned counter-clockwise about the origin, and its first node.

    Args:
        formed: field over (x, y).
        quarter_turns: how often it is turned.

    Returns:
        Heights (rows along y), then x and y of the first node, mm.
    """
    x_min, y_min, x_max, y_max = formed.grid.bounds
    # Rows run upwards, so that turning back an array turns the surface on.
    z = np.rot90(formed.z, -quarter_turns)
    first = ((x_min, y_min), (-y_max, x_min), (-x_max, -y_max), (y_min, -x_max))
    return z, *first[quarter_turns % 4]


def _raise_copy(
    z: npt.NDArray[np.float64], grid: Grid, formed: HeightField, place: Placement
) -> None:
    """Raise the blank's heights to those of one copy, node for node."""
    turned, x, y = turned_field(formed, place.quarter_turns)
    i = floor((x + place.x - grid.x0) / grid.spacing + 0.5)
    j = floor((y + place.y - grid.y0) / grid.spacing + 0.5)
    rows, columns = turned.shape
    # Flat sheet around the copy may reach past the blank; the copy itself may not.
    low_i, low_j = max(0, -i), max(0, -j)
    high_i, high_j = min(columns, grid.nx - i), min(rows, grid.ny - j)
    part = z[j + low_j : j + high_j, i + low_i : i + high_i]
    np.maximum(part, turned[low_j:high_j, low_i:high_i], out=part)
