"""Orders: entered, listed, cancelled."""

from datetime import date
from typing import Annotated, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, ValidationError

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of, today
from chape.catalog.sentences import first_problem
from chape.shop.model import Order, OrderLine, OrderState
from chape.shop.orders import (
    PAGE,
    Wanted,
    add_orders,
    cancel_order,
    check_line,
    count_orders,
    find_order,
    list_orders,
)
from chape.shop.shop_file import shop_catalog
from chape.shop.store import Shop

router = APIRouter()

Page = Annotated[int, Query(ge=1, le=1_000_000)]

StateWord = Literal["open", "shipped", "cancelled", "all"]


class PieceRow(BaseModel):
    """One piece of an order: its serial number, and how far it has come."""

    serial: str
    state: str


class OrderRow(BaseModel):
    """An order as a list shows it.

    Attributes:
        shipped: pieces that have left.
        late: it is open, and was due before today.
        hold: wanted pull, N; None takes the model's.
    """

    reference: str
    state: str
    customer: str
    model: str | None
    knife: str | None
    hand: str
    sheet: str
    colour: str
    clip: str | None
    marks: str
    hold: float | None
    due: date
    placed: date | None
    quantity: int
    note: str
    shipped: int
    late: bool
    pieces: list[PieceRow]


class OrderPage(BaseModel):
    """One page of a list of orders, those due first first."""

    count: int
    page: int
    pages: int
    orders: list[OrderRow]


class NewOrder(BaseModel):
    """An order as it is typed; what it may hold is checked where every order is."""

    customer: str
    due: str
    sheet: str
    colour: str
    model: str | None = None
    knife: str | None = None
    hand: str = "right"
    clip: str | None = None
    marks: str = ""
    hold: float | None = None
    quantity: int = 1
    placed: str | None = None
    note: str = ""


@router.get("/orders")
def orders(
    bench: AtBench,
    state: StateWord = "open",
    customer: str | None = None,
    model: str | None = None,
    page: Page = 1,
) -> OrderPage:
    """List orders."""
    wanted = Wanted(order_state(state), customer or None, model or None, skip=(page - 1) * PAGE)
    with shop_of(bench) as shop:
        rows, count = shop.read(lambda c: (list_orders(c, wanted), count_orders(c, wanted)))
    return OrderPage(
        count=count,
        page=page,
        pages=max(1, -(-count // PAGE)),
        orders=[order_row(order) for order in rows],
    )


@router.post("/orders")
def enter_order(bench: AtBench, given: NewOrder) -> OrderRow:
    """Enter an order."""
    with changed_shop(bench) as shop:
        line = checked_line(shop, given)
        (order,) = shop.change(lambda c: add_orders(c, [line], now()))
    return order_row(order)


@router.get("/orders/{reference}")
def one_order(bench: AtBench, reference: str) -> OrderRow:
    """Show an order and where each of its pieces is."""
    with shop_of(bench) as shop:
        return order_row(shop.read(lambda c: find_order(c, reference)))


@router.post("/orders/{reference}/cancel")
def cancel(bench: AtBench, reference: str) -> OrderRow:
    """Cancel what has not been shipped of an order."""
    with changed_shop(bench) as shop:
        return order_row(shop.change(lambda c: cancel_order(c, reference)))


def order_state(word: StateWord) -> OrderState | None:
    """Return the state a word stands for; None for all of them."""
    return None if word == "all" else OrderState(word)


def checked_line(shop: Shop, given: NewOrder) -> OrderLine:
    """Return an order as it can be entered.

    Raises:
        InputError: a field cannot be, or names what the shop does not have.
    """
    try:
        line = OrderLine.model_validate(given.model_dump())
    except ValidationError as error:
        raise first_problem(error, file="the order") from None
    check_line(line, shop.file, shop_catalog(shop.folder), today())
    return line


def order_row(order: Order) -> OrderRow:
    """Return an order as the page is told of it."""
    return OrderRow(
        reference=order.reference,
        state=order.state.value,
        shipped=sum(piece.state == "shipped" for piece in order.pieces),
        late=order.state is OrderState.OPEN and order.line.due < today(),
        pieces=[PieceRow(serial=p.serial, state=p.state.value) for p in order.pieces],
        **order.line.model_dump(),
    )
