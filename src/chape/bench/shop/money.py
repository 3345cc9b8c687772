"""What the run log teaches, what a piece costs, and what to ask for it."""

from typing import Literal

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of
from chape.shop.in_work import learned_figures
from chape.shop.learn import accept, proposals, unlearn
from chape.shop.money import Wanted, pays_from
from chape.shop.money import quote as make_quote
from chape.shop.route import routes
from chape.shop.stock import shelves
from chape.shop.store import Shop

router = APIRouter()


class Taught(BaseModel):
    """A figure the log speaks for: seconds of hands, or a share of scrap.

    Attributes:
        title: what it is of, in words.
        unit: "s" or "share".
        low, high: range it lies in with a chance of 95 %.
        count: ticks or pieces it rests on.
    """

    what: str
    title: str
    unit: Literal["s", "share"]
    now: float
    value: float
    low: float
    high: float
    count: int


class Accepted(BaseModel):
    """A figure that is used because a person accepted it."""

    what: str
    title: str
    unit: Literal["s", "share"]
    value: float


class LearnLeaf(BaseModel):
    """What the log proposes, and what was accepted."""

    proposed: list[Taught]
    accepted: list[Accepted]


class What(BaseModel):
    """Which figure: "check", or "scrap camp"."""

    what: str


class QuoteAsked(BaseModel):
    """What is asked for; ``tools`` is what a mould and fixture cost."""

    model: str
    sheet: str
    colour: str
    clip: str | None = None
    quantity: int = 1
    tools: float | None = None


class PartRow(BaseModel):
    """One thing that goes into a piece, and what it costs for one."""

    title: str
    cost: float


class QuoteLeaf(BaseModel):
    """A price and how it comes about.

    Attributes:
        unpriced: goods whose price nobody entered; they count as nothing.
        pays_from: pieces from which on the tools have paid for themselves.
    """

    currency: str
    parts: list[PartRow]
    scrap: float
    cost: float
    price: float
    quantity: int
    total: float
    hand_seconds: int
    router_seconds: int
    unpriced: list[str]
    pays_from: int | None


@router.get("/learn")
def learn(bench: AtBench) -> LearnLeaf:
    """List what the log proposes, and what was accepted."""
    with shop_of(bench) as shop:
        return _learned(shop)


@router.post("/learn/accept")
def use(bench: AtBench, given: What) -> LearnLeaf:
    """Use a proposed figure from now on."""
    with changed_shop(bench) as shop:
        shop.change(lambda c: accept(c, shop.file, given.what, now()))
        return _learned(shop)


@router.post("/learn/forget")
def forget(bench: AtBench, given: What) -> LearnLeaf:
    """Go back to what was used before."""
    with changed_shop(bench) as shop:
        shop.change(lambda c: unlearn(c, given.what))
        return _learned(shop)


@router.post("/quote")
def quote(bench: AtBench, asked: QuoteAsked) -> QuoteLeaf:
    """Say what a piece costs and what to ask for it."""
    wanted = Wanted(asked.model, asked.sheet, asked.colour, asked.clip or None, asked.quantity)
    with shop_of(bench) as shop:
        rows, learned = shop.read(lambda c: (shelves(c), learned_figures(c)))
        made = make_quote(shop.file, wanted, rows, learned)
        currency = shop.file.shop.currency
    return QuoteLeaf(
        currency=currency,
        parts=[PartRow(title=title, cost=cost) for title, cost in made.parts],
        scrap=made.scrap,
        cost=round(made.cost, 2),
        price=made.price,
        quantity=made.quantity,
        total=round(made.total, 2),
        hand_seconds=round(made.hands),
        router_seconds=round(made.machine),
        unpriced=[str(good) for good in made.unpriced],
        pays_from=None if asked.tools is None else pays_from(made, asked.tools),
    )


def _learned(shop: Shop) -> LearnLeaf:
    rows, used = shop.read(lambda c: (proposals(c, shop.file), learned_figures(c)))
    return LearnLeaf(
        proposed=[
            Taught(
                what=row.what,
                title=_title(row.what),
                unit=_unit(row.what),
                now=row.now,
                value=row.value,
                low=row.low,
                high=row.high,
                count=row.count,
            )
            for row in rows
        ],
        accepted=[
            Accepted(what=what, title=_title(what), unit=_unit(what), value=value)
            for what, value in sorted(used.items())
        ],
    )


def _title(what: str) -> str:
    """Return what a figure is of, in words."""
    if what.startswith("scrap "):
        return f"Share of {what.removeprefix('scrap ')} that is scrapped"
    return next((step.title for step in routes().steps if step.name == what), what)


def _unit(what: str) -> Literal["s", "share"]:
    return "share" if what.startswith("scrap ") else "s"
