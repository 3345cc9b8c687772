"""What a piece costs, and what to ask for it."""

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import shop_of
from chape.shop.in_work import learned_figures
from chape.shop.money import Wanted, pays_from
from chape.shop.money import quote as make_quote
from chape.shop.stock import shelves

router = APIRouter()


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
