"""What is on the shelf, what comes in, and what to buy."""

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of
from chape.shop.shop_file import shop_catalog
from chape.shop.stock import (
    Good,
    Purchase,
    Shelf,
    cents_of,
    good_of,
    receive,
    set_shelf,
    shelves,
    to_buy,
)
from chape.shop.store import Shop

router = APIRouter()


class GoodKey(BaseModel):
    """Which good: "sheet", "eyelet" or "clip", its name, and the colour of a sheet."""

    kind: str
    name: str
    colour: str = ""


class ShelfRow(GoodKey):
    """How much of a good there is; prices in the shop's currency."""

    on_hand: int
    reorder_at: int
    pack: int
    pack_price: float


class ShownShelf(ShelfRow):
    """A shelf as the list shows it.

    Attributes:
        title: as a person reads it.
        low: it has come down to its reorder point.
    """

    title: str
    low: bool


class PurchaseRow(BaseModel):
    """So many packages to buy; the price of all of them, None where none is known."""

    title: str
    packs: int
    pack: int
    price: float | None


class StockLeaf(BaseModel):
    """All of the stock, and what to buy."""

    currency: str
    shelves: list[ShownShelf]
    buy: list[PurchaseRow]


class Received(GoodKey):
    """Packages that came in."""

    packs: int


@router.get("/stock")
def stock(bench: AtBench) -> StockLeaf:
    """List what is on hand."""
    with shop_of(bench) as shop:
        return stock_leaf(shop)


@router.put("/stock")
def count(bench: AtBench, row: ShelfRow) -> StockLeaf:
    """Set up a good, or count it anew."""
    with changed_shop(bench) as shop:
        good = good_of(shop_catalog(shop.folder), row.kind, row.name, row.colour)
        shelf = Shelf(good, row.on_hand, row.reorder_at, row.pack, cents_of(row.pack_price))
        shop.change(lambda c: set_shelf(c, shelf, now()))
        return stock_leaf(shop)


@router.post("/stock/receive")
def receive_packs(bench: AtBench, given: Received) -> StockLeaf:
    """Put packages that came in on the shelf."""
    good = Good(given.kind, given.name, given.colour)
    with changed_shop(bench) as shop:
        shop.change(lambda c: receive(c, good, given.packs, now()))
        return stock_leaf(shop)


def purchase_row(row: Purchase) -> PurchaseRow:
    """Return a purchase as the page is told of it."""
    price = row.cents / 100 if row.cents else None
    return PurchaseRow(title=str(row.good), packs=row.packs, pack=row.pack, price=price)


def stock_leaf(shop: Shop) -> StockLeaf:
    """Return the stock as the page is told of it."""
    rows = shop.read(shelves)
    return StockLeaf(
        currency=shop.file.shop.currency,
        shelves=[
            ShownShelf(
                kind=row.good.kind,
                name=row.good.name,
                colour=row.good.colour,
                on_hand=row.on_hand,
                reorder_at=row.reorder_at,
                pack=row.pack,
                pack_price=row.pack_cents / 100,
                title=str(row.good),
                low=row.low,
            )
            for row in rows
        ],
        buy=[purchase_row(row) for row in to_buy(rows)],
    )
