"""Takes batches into work: goods off the shelf, pieces into the batch, all or nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import insert, update

from chape.errors import CannotMakeError
from chape.shop.batches import needs_of
from chape.shop.model import PieceState
from chape.shop.stock import Reason, move_stock, shelves, to_buy
from chape.shop.tables import BATCHES, PIECES

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.engine import Connection

    from chape.shop.batches import Batch
    from chape.shop.shop_file import ShopFile


def take_batch(
    connection: Connection, file: ShopFile, batch: Batch, day: date, now: datetime
) -> int:
    """Take a batch into work; return its number.

    Raises:
        CannotMakeError: a piece is in work already, or the shelf does not cover it; what to buy.
    """
    needs = needs_of(file, batch)
    there = {shelf.good: shelf.on_hand for shelf in shelves(connection)}
    short = {good: count for good, count in needs.items() if there.get(good, 0) < count}
    if short:
        good, count = min(short.items())
        buy = to_buy(shelves(connection), needs)
        words = ", ".join(f"{p.packs * p.pack} of {p.good}" for p in buy if p.good in short)
        raise CannotMakeError(
            f"the batch takes {count} of {good}, and {there.get(good, 0)} are on hand",
            mend=f"Buy {words}",
        )
    made = connection.execute(
        insert(BATCHES).values(
            model=batch.model, sheet=batch.sheet, colour=batch.colour, mould=batch.mould,
            fixture=batch.fixture, blanks=batch.blanks, day=day, taken=now,
        )
    )  # fmt: skip
    (number,) = made.inserted_primary_key or (0,)
    for wish in batch.wishes:
        moved = connection.execute(
            update(PIECES)
            .where(PIECES.c.id == wish.piece, PIECES.c.state == PieceState.WAITING)
            .values(state=PieceState.BATCHED, batch_id=number)
        )
        if moved.rowcount != 1:
            raise CannotMakeError(
                f"piece {wish.serial} is in work already, or was cancelled",
                mend="Propose the batches again",
            )
    for good, count in needs.items():
        move_stock(connection, good, -count, Reason.USED, now, batch=int(number))
    return int(number)
