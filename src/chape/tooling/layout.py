"""Several sheaths on one blank, and the whole blank as formed."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.errors import CannotMakeError, InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tolerances import SAME_LENGTH
from chape.tooling.marks import front_mark, locators, raise_locators, raise_mark
from chape.tooling.model import Layout, Part, Placement
from chape.tooling.nesting import Wanted, choose_layout, shape_of, usable

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.sheath.model import Piece, Sheath
    from chape.tooling.fitting import Laid
    from chape.tooling.model import BlankChoices, Most
    from chape.tooling.settling import Settled


def lay_out(
    sheath: Sheath, blank: BlankChoices, others: Sequence[tuple[Sheath, int]] = ()
) -> Layout:
    """Lay the wanted copies of one or several sheaths on a blank.

    Copies are turned by quarter turns and moved by whole grid cells, so that each is the sheath's
    own field, node for node. The layout is the best by ``nesting.choose_layout``.

    Args:
        sheath: of which ``blank.copies`` are laid.
        blank: its size, border and gap.
        others: further sheaths on the same blank, and how many of each.

    Raises:
        InputError: the clamp border leaves no sheet, a field cannot be copied, or the sheaths are
            not of one sheet and one grid.
        CannotMakeError: the copies do not fit; says how many would, and which blank would do.
    """
    sheaths = (sheath, *(other for other, _ in others))
    _check_alike(sheaths)
    kinds = [(n, m) for n, each in enumerate(sheaths) for m in range(len(each.pieces))]
    pieces = [sheaths[n].pieces[m] for n, m in kinds]
    for piece in pieces:
        _check_input(piece, blank)
    copies = (blank.copies, *(number for _, number in others))
    wanted = Wanted(
        tuple(shape_of(piece) for piece in pieces),
        tuple(copies[n] for n, _ in kinds),
        sum(copies),
    )
    spacing = _spacing(sheath)
    chosen, most = choose_layout(wanted, blank, float(sheath.sheet.gauge.value), spacing)
    parts = tuple(_part(sheaths, kinds[laid.kind], laid, chosen.step) for laid in chosen.laid)
    raised = shapely.union_all(
        [_placed(wanted.shapes[p.kind].raised, p, chosen) for p in chosen.laid]
    )
    return _formed(sheaths, blank, parts, raised, most)


def _formed(
    sheaths: tuple[Sheath, ...],
    blank: BlankChoices,
    parts: tuple[Part, ...],
    raised: shapely.Geometry,
    most: Most,
) -> Layout:
    """Raise the parts on the blank, with its locators and its front mark."""
    fillet = min(sheath.choices.fillet for sheath in sheaths)
    grid = Grid.over(0.0, 0.0, blank.width, blank.depth, _spacing(sheaths[0]))
    z = np.zeros(grid.shape)
    for part in parts:
        _raise_copy(z, grid, sheaths[part.sheath].pieces[part.piece].formed, part.place)
    patterns = tuple(part.pattern for part in parts)
    buttons = locators(blank, patterns, raised, fillet)
    mark = front_mark(blank, patterns, raised, buttons)
    raise_locators(z, grid, buttons, fillet)
    if mark is not None:
        raise_mark(z, grid, mark, fillet)
    return Layout(
        sheaths=sheaths,
        blank=blank,
        parts=parts,
        formed=HeightField(grid, z),
        locators=buttons,
        front_mark=mark,
        at_most=most,
    )


def _check_alike(sheaths: tuple[Sheath, ...]) -> None:
    """Raise unless the sheaths can be formed from one blank over one mould.

    Raises:
        InputError: they are of different sheet, or designed on different grids.
    """
    first = sheaths[0]
    for other in sheaths[1:]:
        if other.sheet != first.sheet:
            raise InputError(
                f'"{other.choices.name}" is of {other.sheet.name} and "{first.choices.name}" of '
                f"{first.sheet.name}, and one blank is of one sheet",
                mend="Choose the same sheath.sheet in both files",
                field="blank.others",
            )
        if _spacing(other) != _spacing(first):
            raise InputError(
                f'"{other.choices.name}" is designed on a grid of {_spacing(other):g} mm and '
                f'"{first.choices.name}" on one of {_spacing(first):g} mm',
                mend="Write the same sheath.spacing in both files",
                field="blank.others",
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


def _spacing(sheath: Sheath) -> float:
    return sheath.pieces[0].formed.grid.spacing


def _part(sheaths: tuple[Sheath, ...], kind: tuple[int, int], laid: Laid, step: float) -> Part:
    number, piece = kind
    place = Placement(laid.i * step, laid.j * step, laid.turns)
    pattern = sheaths[number].pieces[piece].pattern
    return Part(number, piece, place, pattern.moved(place.x, place.y, place.quarter_turns))


def _placed(shape: shapely.Geometry, laid: Laid, chosen: Settled) -> shapely.Geometry:
    turned = affinity.rotate(shape, 90 * laid.turns, origin=(0, 0))
    return affinity.translate(turned, laid.i * chosen.step, laid.j * chosen.step)


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
