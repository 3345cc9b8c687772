"""Takes batches into work: goods off the shelf, pieces into the batch, all or nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from chape.errors import CannotMakeError
from chape.shop.batches import needs_of
from chape.shop.model import ENDED, PieceState
from chape.shop.stock import Reason, move_stock, shelves, to_buy
from chape.shop.tables import BATCHES, ORDERS, PIECES

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.engine import Connection

    from chape.shop.batches import Batch
    from chape.shop.shop_file import ShopFile


@dataclass(frozen=True, slots=True)
class TakenPiece:
    """A piece in work, with what the bench has to know of it."""

    serial: str
    state: PieceState
    due: date
    clip: str | None


@dataclass(frozen=True, slots=True)
class TakenBatch:
    """A batch in work.

    Attributes:
        number: of the batch.
        model, sheet, colour, mould, fixture: of its pieces.
        blanks: how many.
        pieces: those that are still in work, in the order they lie on the blanks.
    """

    number: int
    model: str
    sheet: str
    colour: str
    mould: str
    fixture: str
    blanks: int
    pieces: tuple[TakenPiece, ...]


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


def batches_in_work(connection: Connection) -> tuple[TakenBatch, ...]:
    """Return the batches with pieces that are not done, in the order they were taken."""
    rows = connection.execute(
        select(
            PIECES.c.batch_id, PIECES.c.number, PIECES.c.state,
            ORDERS.c.reference, ORDERS.c.due, ORDERS.c.clip,
        )
        .join(ORDERS, ORDERS.c.id == PIECES.c.order_id)
        .where(PIECES.c.batch_id.is_not(None), PIECES.c.state.not_in((*ENDED, PieceState.PACKED)))
        .order_by(PIECES.c.batch_id, ORDERS.c.due, PIECES.c.id)
    )  # fmt: skip
    pieces: dict[int, list[TakenPiece]] = {}
    for row in rows.mappings():
        serial = f"{row['reference']}-{row['number']}"
        pieces.setdefault(row["batch_id"], []).append(
            TakenPiece(serial, row["state"], row["due"], row["clip"])
        )
    found = connection.execute(
        select(BATCHES).where(BATCHES.c.id.in_(list(pieces))).order_by(BATCHES.c.id)
    )
    return tuple(
        TakenBatch(
            number=row["id"],
            model=row["model"],
            sheet=row["sheet"],
            colour=row["colour"],
            mould=row["mould"],
            fixture=row["fixture"],
            blanks=row["blanks"],
            pieces=tuple(pieces[row["id"]]),
        )
        for row in found.mappings()
    )
