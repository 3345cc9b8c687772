"""Orders: entered, listed, and their pieces moved along.

Everything here works on the connection of one transaction of the store.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, update

from chape.errors import CannotMakeError, InputError
from chape.shop.model import ENDED, PROGRESS, Order, OrderLine, OrderState, Piece, PieceState
from chape.shop.tables import COUNTERS, ORDERS, PIECES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date, datetime

    from sqlalchemy.engine import Connection, RowMapping

    from chape.catalog.read import Catalog
    from chape.shop.shop_file import ShopFile

#: Columns of an order that are its line, as they are entered.
LINE = tuple(OrderLine.model_fields)

#: Orders on one page of a list.
PAGE = 50


def check_line(
    line: OrderLine, file: ShopFile, catalog: Catalog, today: date | None = None
) -> None:
    """Refuse an order that names a model, sheet or clip nobody knows, or a day that is over.

    Args:
        line: the order.
        file: the shop file, with its models.
        catalog: with sheets and clips.
        today: the day it came in where the order does not say; None lets any due day pass.

    Raises:
        InputError: which of them, and what there is.
    """
    if today is not None and line.placed is None and line.due < today:
        raise InputError(
            f"it is due on {line.due}, and today is {today}",
            mend="Correct the due day; if the order is an old one, say when it came in (placed)",
            field="due",
        )
    if line.model is not None:
        made_for = file.model(line.model).hand
        if made_for not in (None, line.hand):
            raise InputError(
                f"{line.model} is made for the {made_for} hand, not the {line.hand.value}",
                mend="Order another model, or the other hand",
                field="hand",
            )
    for kind, name, field in (("sheets", line.sheet, "sheet"), ("clips", line.clip, "clip")):
        if name is None:
            continue
        try:
            catalog.entry(kind, name)
        except InputError as error:
            raise InputError(error.problem, mend=error.mend, field=field) from None


def add_orders(
    connection: Connection, lines: Sequence[OrderLine], now: datetime
) -> tuple[Order, ...]:
    """Enter orders, each with its pieces waiting; return them as they are in the store."""
    entered = []
    for line in lines:
        reference = _next_reference(connection, now.year)
        values = {name: getattr(line, name) for name in LINE}
        values["placed"] = line.placed or now.date()
        made = connection.execute(
            insert(ORDERS).values(reference=reference, state=OrderState.OPEN, entered=now, **values)
        )
        (order,) = made.inserted_primary_key or (None,)
        connection.execute(
            insert(PIECES),
            [
                {"order_id": order, "number": number, "state": PieceState.WAITING}
                for number in range(1, line.quantity + 1)
            ],
        )
        entered.append(order)
    return _orders(connection, ORDERS.c.id.in_(entered), limit=None)


def find_order(connection: Connection, reference: str) -> Order:
    """Return the order that papers call by a reference.

    Raises:
        InputError: there is none.
    """
    found = _orders(connection, ORDERS.c.reference == reference.strip(), limit=1)
    if not found:
        raise InputError(
            f'there is no order "{reference}"', mend="List the open ones with chape shop orders"
        )
    return found[0]


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which orders to list.

    Attributes:
        state: only those in this state; None for all.
        customer, model: only theirs; None for all.
        skip: how many to leave out before the first.
        limit: how many at most; None for all.
    """

    state: OrderState | None = OrderState.OPEN
    customer: str | None = None
    model: str | None = None
    skip: int = 0
    limit: int | None = PAGE


def list_orders(connection: Connection, wanted: Wanted) -> tuple[Order, ...]:
    """Return the wanted orders, those due first first."""
    return _orders(connection, *_conditions(wanted), limit=wanted.limit, skip=wanted.skip)


def count_orders(connection: Connection, wanted: Wanted) -> int:
    """Return how many orders are wanted, on all pages."""
    query = select(func.count()).select_from(ORDERS).where(*_conditions(wanted))
    return int(connection.execute(query).scalar_one())


def find_piece(connection: Connection, serial: str) -> tuple[Order, Piece]:
    """Return the piece that a label names, with its order.

    Raises:
        InputError: there is none.
    """
    reference, _, number = serial.strip().rpartition("-")
    for order in _orders(connection, ORDERS.c.reference == reference, limit=1):
        for piece in order.pieces:
            if str(piece.number) == number:
                return order, piece
    raise InputError(
        f'there is no piece "{serial}"',
        mend="Write the serial number as its label does, such as 2026-0042-1",
    )


def move_piece(connection: Connection, serial: str, state: PieceState) -> Piece | None:
    """Take a piece forward to a state; return the piece that replaces it where it is scrapped.

    Raises:
        InputError: there is no such piece.
        CannotMakeError: it does not go there from where it is.
    """
    order, piece = find_piece(connection, serial)
    _refuse_move(piece, state)
    connection.execute(update(PIECES).where(PIECES.c.id == piece.id).values(state=state))
    replacement = None
    if state is PieceState.SCRAPPED:
        number = max(each.number for each in order.pieces) + 1
        connection.execute(
            insert(PIECES).values(order_id=order.id, number=number, state=PieceState.WAITING)
        )
        replacement = f"{order.reference}-{number}"
    _settle(connection, order.id)
    return None if replacement is None else find_piece(connection, replacement)[1]


def cancel_order(connection: Connection, reference: str) -> Order:
    """Cancel what has not been shipped of an order.

    Raises:
        InputError: there is no such order.
        CannotMakeError: nothing of it is left to cancel.
    """
    order = find_order(connection, reference)
    if order.state is not OrderState.OPEN:
        raise CannotMakeError(
            f"order {order.reference} is {order.state.value}", mend="Cancel open orders only"
        )
    connection.execute(
        update(PIECES)
        .where(PIECES.c.order_id == order.id, PIECES.c.state.not_in(ENDED))
        .values(state=PieceState.CANCELLED)
    )
    _settle(connection, order.id)
    return find_order(connection, reference)


def _refuse_move(piece: Piece, state: PieceState) -> None:
    if piece.state in ENDED:
        raise CannotMakeError(
            f"piece {piece.serial} is {piece.state.value} already",
            mend="Scan the piece you have in your hands",
        )
    if state in PROGRESS and PROGRESS.index(state) <= PROGRESS.index(piece.state):
        raise CannotMakeError(
            f"piece {piece.serial} is {piece.state.value}, and does not go back to {state.value}",
            mend="Name a later state, or scrapped",
        )


def _settle(connection: Connection, order: int) -> None:
    """Close an order once nothing of it is left to do."""
    states = set(
        connection.execute(select(PIECES.c.state).where(PIECES.c.order_id == order)).scalars()
    )
    if states - set(ENDED):
        return
    shipped = PieceState.SHIPPED in states
    state = OrderState.SHIPPED if shipped else OrderState.CANCELLED
    connection.execute(update(ORDERS).where(ORDERS.c.id == order).values(state=state))


def _next_reference(connection: Connection, year: int) -> str:
    """Return a reference no order ever had."""
    name = f"orders {year}"
    taken = connection.execute(
        update(COUNTERS)
        .where(COUNTERS.c.name == name)
        .values(last=COUNTERS.c.last + 1)
        .returning(COUNTERS.c.last)
    ).scalar()
    if taken is None:
        connection.execute(insert(COUNTERS).values(name=name, last=1))
        taken = 1
    return f"{year}-{taken:04d}"


def _conditions(wanted: Wanted) -> list[Any]:
    columns = (("state", wanted.state), ("customer", wanted.customer), ("model", wanted.model))
    return [ORDERS.c[name] == value for name, value in columns if value is not None]


def _orders(
    connection: Connection,
    *conditions: Any,  # noqa: ANN401 - whatever SQLAlchemy compares
    limit: int | None,
    skip: int = 0,
) -> tuple[Order, ...]:
    query = select(ORDERS).where(*conditions).order_by(ORDERS.c.due, ORDERS.c.id)
    rows = connection.execute(query.limit(limit).offset(skip)).mappings().all()
    pieces: dict[int, list[RowMapping]] = {row["id"]: [] for row in rows}
    for ids in _parts(list(pieces)):
        for found in connection.execute(
            select(PIECES).where(PIECES.c.order_id.in_(ids)).order_by(PIECES.c.number)
        ).mappings():
            pieces[found["order_id"]].append(found)
    return tuple(_order(row, pieces[row["id"]]) for row in rows)


def _parts(ids: list[int], size: int = 500) -> Iterable[list[int]]:
    """Yield ids in parts: a database takes only so many at once."""
    return (ids[start : start + size] for start in range(0, len(ids), size))


def _order(row: RowMapping, pieces: Sequence[RowMapping]) -> Order:
    return Order(
        id=row["id"],
        reference=row["reference"],
        line=OrderLine.model_construct(**{name: row[name] for name in LINE}),
        state=row["state"],
        entered=row["entered"],
        pieces=tuple(
            Piece(
                id=piece["id"],
                order=row["id"],
                number=piece["number"],
                serial=f"{row['reference']}-{piece['number']}",
                state=piece["state"],
                batch=piece["batch_id"],
            )
            for piece in pieces
        ),
    )
