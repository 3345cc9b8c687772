"""From a designed half to the pieces of sheet a sheath is cut from.

A folded sheath is one piece, its two halves side by side. A paired one is two: each lies in its own
flat frame as it comes off the mould, outside up, so that the upper half is turned over.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath import holes, slots
from chape.sheath.formed import laid_out
from chape.sheath.model import Hand, Piece
from chape.sheath.outline import flat_pattern, trimmed_alone, with_lip

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.sheath.formed import Lip
    from chape.sheath.holes import Spot
    from chape.sheath.model import Fold, Sheath, SheathChoices
    from chape.sheath.slots import SlotSpot

#: What the one piece of a folded sheath is called.
ONE = "sheath"


@dataclass(frozen=True, slots=True, eq=False)
class CutHalf:
    """A designed half, sheath frame.

    Attributes:
        front, back: formed surface of either half; they differ by the thumb ramp.
        outline: trimmed, without the lip of the ramp.
        lip: of the thumb ramp, on the front half; None without one.
        spots, slots: of either half.
    """

    front: HeightField
    back: HeightField
    outline: Polygon
    lip: Lip | None
    spots: tuple[Spot, ...]
    slots: tuple[SlotSpot, ...]


def pieces_of(
    half: CutHalf, choices: SheathChoices, fold: Fold | None, mouth_x: float
) -> tuple[Piece, ...]:
    """Return the pieces of a sheath: the whole, or front and back.

    Args:
        half: as designed.
        choices: give hand and least radius.
        fold: None for two pieces.
        mouth_x: where the mouth is cut, mm.
    """
    if fold is None:
        trimmed = with_lip(half.outline, half.lip, choices, mouth_x)
        left = choices.hand is Hand.LEFT
        return (
            _alone("front", half, half.front, trimmed, choices, upper=left),
            _alone("back", half, half.back, half.outline, choices, upper=not left),
        )
    return (
        Piece(
            ONE,
            laid_out(half.front, half.back, choices.hand),
            flat_pattern(half.outline, half.lip, choices, mouth_x, fold),
            holes.laid_on_both(half.spots, fold.line),
            slots.laid_on(half.slots, fold.line, upper=False)
            + slots.laid_on(half.slots, fold.line, upper=True),
        ),
    )


def formed_as(sheath: Sheath, half: HeightField) -> tuple[Piece, ...]:
    """Return a sheath's pieces with both halves formed as another half, without thumb ramp."""
    if sheath.fold is not None:
        (piece,) = sheath.pieces
        return (replace(piece, formed=laid_out(half, half, sheath.choices.hand)),)
    front, back = sheath.pieces
    left = sheath.choices.hand is Hand.LEFT
    return (
        replace(front, formed=_turned(half, upper=left)),
        replace(back, formed=_turned(half, upper=not left)),
    )


def _alone(
    name: str,
    half: CutHalf,
    formed: HeightField,
    outline: Polygon,
    choices: SheathChoices,
    *,
    upper: bool,
) -> Piece:
    return Piece(
        name,
        _turned(formed, upper=upper),
        trimmed_alone(outline, choices, upper=upper),
        holes.laid_on(half.spots, 0.0, upper=upper),
        slots.laid_on(half.slots, 0.0, upper=upper),
    )


def _turned(half: HeightField, *, upper: bool) -> HeightField:
    """Return a half's surface in the flat frame of its own piece."""
    if not upper:
        return half
    grid = half.grid
    # Counted from the last node, so that the first lies on a multiple of the spacing too.
    last = round(grid.y0 / grid.spacing) + grid.ny - 1
    turned = Grid(grid.x0, -last * grid.spacing, grid.spacing, grid.nx, grid.ny)
    return HeightField(turned, half.z[::-1])
