"""The shop as a whole: started, and what deserves a look in it."""

from dataclasses import asdict
from typing import Literal

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of, today
from chape.findings import Finding, Severity
from chape.shop.check import check_shop
from chape.shop.customers import forget, note_of, write_note
from chape.shop.demo import demo_shop
from chape.shop.fit_record import QUESTIONS
from chape.shop.folder import new_shop
from chape.shop.orders import Wanted, count_orders
from chape.shop.shop_file import shop_catalog
from chape.shop.stock import shelves
from chape.shop.store import Shop

router = APIRouter()

#: More findings than these are no help; how many there are is told.
MOST_FINDINGS = 50


class ModelRow(BaseModel):
    """A sheath the shop has the tools for; its hand, None for both."""

    name: str
    title: str
    hand: str | None
    hold: float | None


class Question(BaseModel):
    """What is asked when a sheath is tried; "no" is the fault."""

    fault: str
    question: str


class ShopFinding(BaseModel):
    """What deserves a look."""

    code: str
    severity: Severity
    place: str
    message: str
    mend: str
    measured: float | None
    limit: float | None
    unit: str


class ShopLeaf(BaseModel):
    """The shop as a whole.

    Attributes:
        sheets, clips: names in the catalogue.
        colours: of sheets that are kept in stock.
        findings: what deserves a look, worst first; the first of ``found``.
    """

    name: str
    currency: str
    start: str
    end: str
    collect: str
    people: int
    models: list[ModelRow]
    sheets: list[str]
    colours: list[str]
    clips: list[str]
    questions: list[Question]
    open_orders: int
    found: int
    findings: list[ShopFinding]


class Start(BaseModel):
    """How a shop begins: its file to edit, or the invented demo shop to try things in."""

    kind: Literal["new", "demo"]


class Note(BaseModel):
    """Where and how a customer's parcels are sent; None where no note is kept."""

    note: str | None


@router.get("")
def whole(bench: AtBench) -> ShopLeaf:
    """Show the shop."""
    with shop_of(bench) as shop:
        return _leaf(shop)


@router.post("")
def start(bench: AtBench, how: Start) -> ShopLeaf:
    """Start a shop in the bench's folder."""
    folder = bench.place.folder
    made = new_shop(folder) if how.kind == "new" else demo_shop(folder, today())
    made.close()
    with changed_shop(bench) as shop:
        return _leaf(shop)


@router.get("/customers/{customer:path}/note")
def note(bench: AtBench, customer: str) -> Note:
    """Show a customer's shipping note."""
    with shop_of(bench) as shop:
        return Note(note=shop.read(lambda c: note_of(c, customer)))


@router.put("/customers/{customer:path}/note")
def keep_note(bench: AtBench, customer: str, given: Note) -> Note:
    """Keep a shipping note; erase it where none is given."""
    with changed_shop(bench) as shop:
        words = given.note
        if words is None:
            forget(shop, customer)
        else:
            shop.change(lambda c: write_note(c, customer, words, now()))
        return Note(note=shop.read(lambda c: note_of(c, customer)))


def _leaf(shop: Shop) -> ShopLeaf:
    catalog = shop_catalog(shop.folder)
    count, found, on_shelf = shop.read(
        lambda c: (count_orders(c, Wanted()), check_shop(c, shop.file, today()), shelves(c))
    )
    worst_first = sorted(found, key=lambda finding: list(Severity).index(finding.severity))
    day, file = shop.file.day, shop.file
    return ShopLeaf(
        name=file.shop.name,
        currency=file.shop.currency,
        start=day.start,
        end=day.end,
        collect=day.collect,
        people=day.people,
        models=[
            ModelRow(
                name=name,
                title=model.title,
                hand=None if model.hand is None else model.hand.value,
                hold=model.hold,
            )
            for name, model in sorted(file.models.items())
        ],
        sheets=list(catalog.names("sheets")),
        colours=sorted({shelf.good.colour for shelf in on_shelf if shelf.good.colour}),
        clips=list(catalog.names("clips")),
        questions=[Question(fault=f.value, question=words) for f, words in QUESTIONS.items()],
        open_orders=count,
        found=len(found),
        findings=[_told(finding) for finding in worst_first[:MOST_FINDINGS]],
    )


def _told(finding: Finding) -> ShopFinding:
    return ShopFinding(**asdict(finding))
