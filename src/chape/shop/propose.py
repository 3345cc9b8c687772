"""What a shop makes next: proposed from what waits in its store, and taken as it was proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.shop.batches import batches_of, choose_batches, wishes_of
from chape.shop.orders import Wanted, list_orders
from chape.shop.stock import shelves
from chape.shop.take import take_batch

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date, datetime

    from chape.shop.batches import Choice
    from chape.shop.store import Shop


def propose(shop: Shop, urgent_by: date, most_blanks: int) -> Choice:
    """Return the next batches of what waits.

    Args:
        shop: whose orders and stock.
        urgent_by: what is due by this day has to be made if the stock allows.
        most_blanks: that are formed in one go.

    Raises:
        InputError: a piece is of a model the shop file does not name.
        CannotMakeError: nothing was found in time.
    """
    orders, on_shelf = shop.read(lambda c: (list_orders(c, Wanted(limit=None)), shelves(c)))
    return choose_batches(shop.file, wishes_of(orders), on_shelf, urgent_by, most_blanks)


def take_pieces(
    shop: Shop, serials: Collection[str], day: date, now: datetime
) -> tuple[tuple[int, int], ...]:
    """Take pieces that wait into work, those that can share blanks together.

    All of them are taken, or none: what was proposed may have changed since.

    Returns:
        The number of each batch, and how many pieces it holds.

    Raises:
        CannotMakeError: a piece does not wait any more, or the shelf does not cover them all.
    """
    wishes = wishes_of(shop.read(lambda c: list_orders(c, Wanted(limit=None))))
    gone = sorted(set(serials) - {wish.serial for wish in wishes})
    if gone or not serials:
        raise CannotMakeError(
            f"piece {gone[0]} does not wait for a batch" if gone else "no piece was named",
            mend="Propose the batches again",
        )
    batches = batches_of(shop.file, [wish for wish in wishes if wish.serial in set(serials)])
    numbers = shop.change(lambda c: [take_batch(c, shop.file, b, day, now) for b in batches])
    return tuple((n, len(b.wishes)) for n, b in zip(numbers, batches, strict=True))
