"""What an order that cannot wait does to all the others, before anyone says yes to it."""

from datetime import date, datetime
from typing import Any

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.problem import MISSING, RefusedError
from chape.bench.shop.desk import shop_of
from chape.bench.shop.orders import NewOrder, checked_line
from chape.bench.shop.plan import Began
from chape.bench.shop.planning import RUSH_SECONDS, see_rush
from chape.bench.shop.stock import PurchaseRow, purchase_row
from chape.bench.work import Order
from chape.shop.rush import Rush

router = APIRouter()

#: What the work is called by.
NAME = "rush"


class DisplacedRow(BaseModel):
    """An order that leaves too late because of the rush."""

    order: str
    customer: str
    due: date
    without: date
    within: date
    days: int


class TakenRow(BaseModel):
    """A good, and how many more of it are taken."""

    title: str
    count: int


class RushLeaf(BaseModel):
    """What a rush order does to the shop (``chape.shop.rush.Rush``), as the page is told of it.

    Attributes:
        late_day_known: the shop file says what a late day costs.
        gap: by how much the worse of the two plans could be better at most, as a share; proved.
    """

    ready: datetime
    leaves: date
    due: date
    in_time: bool
    displaced: list[DisplacedRow]
    hand_seconds: int
    router_seconds: int
    goods: list[TakenRow]
    buy: list[PurchaseRow]
    cost: float
    price: float
    usual: float
    currency: str
    late_day_known: bool
    gap: float
    left_out: int


@router.post("/rush")
def begin(bench: AtBench, given: NewOrder) -> Began:
    """Look what an order would displace; it is a work that can be stopped, and enters nothing."""
    with shop_of(bench) as shop:
        line = checked_line(shop, given)
        folder, file = str(shop.folder), shop.file
    order = Order(
        title="See what it would displace",
        what="shop",
        name=NAME,
        make=see_rush,
        arguments=(folder, line, RUSH_SECONDS),
        line="plan",
        then=lambda found: _told(found, file.shop.currency, known=bool(file.money.late_day)),
    )
    return Began(work=bench.works.start(order).id)


@router.get("/rush/{work}")
def found(bench: AtBench, work: str) -> RushLeaf:
    """Return what was found, once the work is done."""
    piece = bench.works.one(work)
    if piece.name != NAME or piece.result is None:
        raise RefusedError(MISSING, "Nothing was found out yet", mend="Ask again")
    return RushLeaf.model_validate(piece.result)


def _told(made: Rush, currency: str, *, known: bool) -> dict[str, Any]:
    return RushLeaf(
        ready=made.ready,
        leaves=made.leaves,
        due=made.due,
        in_time=made.in_time,
        displaced=[
            DisplacedRow(
                order=each.reference,
                customer=each.customer,
                due=each.due,
                without=each.without,
                within=each.within,
                days=each.days,
            )
            for each in made.displaced
        ],
        hand_seconds=made.hands,
        router_seconds=made.machine,
        goods=[TakenRow(title=str(good), count=n) for good, n in sorted(made.goods.items())],
        buy=[purchase_row(row) for row in made.buy],
        cost=round(made.cost, 2),
        price=made.price,
        usual=round(made.usual, 2),
        currency=currency,
        late_day_known=known,
        gap=round(max(made.gaps), 4),
        left_out=made.left_out,
    ).model_dump(mode="json")
