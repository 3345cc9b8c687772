"""What a piece costs, what to ask for it, and when a new mould has paid for itself.

Everything a piece takes is counted: its share of a full blank (cut loss included), eyelets and
clip, consumables, minutes of hands and router, and what pieces that are scrapped cost the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError, InputError
from chape.shop.batches import goods_of_blank, goods_of_piece, sheet_good
from chape.shop.route import step_time, steps_of
from chape.shop.stock import Good

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from chape.shop.shop_file import ShopFile
    from chape.shop.stock import Shelf

HOUR = 3600.0

#: No mould and fixture of a small shop cost more.
DEAREST = 1e6


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for.

    Attributes:
        model: of the shop.
        sheet, colour: of the sheet.
        clip: None for none.
        quantity: pieces.
    """

    model: str
    sheet: str
    colour: str
    clip: str | None = None
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class Quote:
    """The price of one piece, and how it comes about; money of the shop's currency.

    Attributes:
        parts: what goes in, and what each costs for one piece.
        scrap: share of pieces that are scrapped.
        cost: of one good piece, with overhead.
        price: of one piece.
        quantity: pieces.
        hands, machine: seconds for one piece.
        unpriced: goods whose price nobody entered; they count as nothing.
    """

    parts: tuple[tuple[str, float], ...]
    scrap: float
    cost: float
    price: float
    quantity: int
    hands: float
    machine: float
    unpriced: tuple[Good, ...]

    @property
    def total(self) -> float:
        """The price of all pieces."""
        return self.price * self.quantity


def quote(
    file: ShopFile, wanted: Wanted, on_shelf: Sequence[Shelf], learned: Mapping[str, float]
) -> Quote:
    """Return what to ask for pieces of a model, made on full blanks.

    Args:
        file: prices of hours, overhead and margin.
        wanted: the pieces.
        on_shelf: whose packages say what goods cost.
        learned: step -> seconds, "scrap MODEL" -> share.

    Raises:
        InputError: there is no such model, or the quantity cannot be.
    """
    if not 1 <= wanted.quantity <= 100_000:
        raise InputError(f"found the quantity {wanted.quantity}", mend="Write 1 to 100000")
    model, money = file.model(wanted.model), file.money
    cents = {shelf.good: shelf.cents for shelf in on_shelf}
    sheet = sheet_good(model, wanted.sheet, wanted.colour)
    goods = {good: count / model.per_blank for good, count in goods_of_blank(model, sheet).items()}
    for good, count in goods_of_piece(model).items():
        goods[good] = goods.get(good, 0.0) + count
    if wanted.clip is not None:
        goods[Good("clip", wanted.clip)] = 1.0
    hands = machine = 0.0
    for step in steps_of(model, clip=wanted.clip is not None):
        takes = step_time(step, model, file, learned, wanted.sheet)
        share = 1 / model.per_blank if step.per == "blank" else 1.0
        hands += takes.hands * share
        machine += takes.alone * share if step.station == "router" else 0.0
    parts = [(str(good), cents.get(good, 0.0) * count / 100) for good, count in goods.items()]
    parts += [
        ("consumables", money.consumables),
        ("hands", money.hand_hour * hands / HOUR),
        ("router", money.machine_hour * machine / HOUR),
    ]
    scrap = learned.get(f"scrap {wanted.model}", 0.0)
    cost = sum(each for _, each in parts) / (1 - scrap) * (1 + money.overhead)
    asked = cost / (1 - money.margin)
    price = rounded_up(asked, money.rounding) if model.price is None else model.price
    return Quote(
        parts=tuple(parts),
        scrap=scrap,
        cost=cost,
        price=price,
        quantity=wanted.quantity,
        hands=hands,
        machine=machine,
        unpriced=tuple(sorted(good for good in goods if not cents.get(good))),
    )


def pays_from(found: Quote, tools: float) -> int:
    """Return from how many pieces on a mould and fixture have paid for themselves.

    Raises:
        InputError: the tools cost what nothing does.
        CannotMakeError: a piece brings no more than it costs.
    """
    if not 0 <= tools <= DEAREST:
        raise InputError(f"found tools for {tools}", mend=f"Write 0 to {DEAREST:.0f}")
    brings = found.price - found.cost
    if brings <= 0:
        raise CannotMakeError(
            f"a piece costs {found.cost:.2f} and brings {found.price:.2f}",
            mend="Ask more for it, or make it in less time",
        )
    return max(1, ceil(tools / brings - 1e-9))


def rounded_up(price: float, step: float) -> float:
    """Return the next multiple of a step, for a price that is not one already.

    >>> rounded_up(31.02, 0.5)
    31.5
    """
    return round(ceil(round(price / step, 6)) * step, 2)
