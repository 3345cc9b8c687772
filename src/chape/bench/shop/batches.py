"""What is made together: proposed, taken into work, and what is in work."""

from datetime import date, timedelta
from typing import Annotated

from fastapi import APIRouter, Query
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of, today
from chape.bench.shop.stock import PurchaseRow, purchase_row
from chape.shop.batches import Batch
from chape.shop.in_work import seats
from chape.shop.propose import propose, take_pieces
from chape.shop.store import Shop

router = APIRouter()

#: What is due within so many days is urgent, unless told.
URGENT_DAYS = 3


class Offer(BaseModel):
    """Pieces that would be made together on some blanks."""

    model: str
    title: str
    sheet: str
    colour: str
    mould: str
    fixture: str
    blanks: int
    empty: int
    due: date
    pieces: list[str]


class Taking(BaseModel):
    """A good, and how many of it would leave the shelf."""

    title: str
    count: int


class Missed(BaseModel):
    """An urgent piece that stock or blanks do not cover."""

    serial: str
    due: date


class Proposal(BaseModel):
    """What to make next.

    Attributes:
        gap: how much more any choice could be worth at most, as a share; proved.
    """

    urgent_by: date
    batches: list[Offer]
    takes: list[Taking]
    left_out: list[Missed]
    buy: list[PurchaseRow]
    currency: str
    gap: float


class Pieces(BaseModel):
    """The pieces of a proposal, by serial number."""

    pieces: list[str]


class SeatRow(BaseModel):
    """A piece in work, and the blank it lies on."""

    serial: str
    blank: str
    state: str
    due: date


class InWork(BaseModel):
    """A batch in work."""

    batch: str
    model: str
    title: str
    sheet: str
    colour: str
    pieces: list[SeatRow]


class BatchList(BaseModel):
    """Every batch in work; and those that were taken just now."""

    batches: list[InWork]
    taken: list[str] = []


@router.get("/batches")
def batches(bench: AtBench) -> BatchList:
    """List what is in work."""
    with shop_of(bench) as shop:
        return _in_work(shop)


@router.get("/batches/proposal")
def proposal(
    bench: AtBench, by: date | None = None, most: Annotated[int, Query(ge=1, le=200)] = 20
) -> Proposal:
    """Say what to make next, what it takes, and what to buy."""
    urgent = by or today() + timedelta(days=URGENT_DAYS)
    with shop_of(bench) as shop:
        choice = propose(shop, urgent, most)
        return Proposal(
            urgent_by=urgent,
            batches=[_offer(shop, each) for each in choice.batches],
            takes=[Taking(title=str(g), count=n) for g, n in sorted(choice.takes.items())],
            left_out=[Missed(serial=wish.serial, due=wish.due) for wish in choice.left_out],
            buy=[purchase_row(row) for row in choice.buy],
            currency=shop.file.shop.currency,
            gap=round(choice.gap, 4),
        )


@router.post("/batches")
def take(bench: AtBench, given: Pieces) -> BatchList:
    """Take proposed pieces into work, and their goods off the shelf: all of them, or none."""
    with changed_shop(bench) as shop:
        numbers = take_pieces(shop, given.pieces, today(), now())
        listed = _in_work(shop)
    return listed.model_copy(update={"taken": [f"B{number}" for number, _ in numbers]})


def _offer(shop: Shop, batch: Batch) -> Offer:
    return Offer(
        model=batch.model,
        title=shop.file.model(batch.model).title,
        sheet=batch.sheet,
        colour=batch.colour,
        mould=batch.mould,
        fixture=batch.fixture,
        blanks=batch.blanks,
        empty=batch.empty,
        due=batch.wishes[0].due,
        pieces=[wish.serial for wish in batch.wishes],
    )


def _in_work(shop: Shop) -> BatchList:
    found: dict[int, InWork] = {}
    for seat in shop.read(lambda c: seats(c, shop.file)):
        known = found.setdefault(
            seat.batch,
            InWork(
                batch=f"B{seat.batch}",
                model=seat.model,
                title=shop.file.model(seat.model).title,
                sheet=seat.sheet,
                colour=seat.colour,
                pieces=[],
            ),
        )
        work = seat.work
        known.pieces.append(
            SeatRow(serial=work.serial, blank=work.blank, state=work.state.value, due=work.due)
        )
    return BatchList(batches=list(found.values()))
