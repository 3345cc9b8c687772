"""One piece, reached by the code on its label: how far it is, and how it fits."""

from datetime import date, datetime

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of
from chape.errors import InputError
from chape.shop.fit_record import FitRecord, fit_records, record_fit
from chape.shop.in_work import seats
from chape.shop.model import ENDED, PROGRESS, Order, Piece, PieceState
from chape.shop.orders import find_piece, move_piece
from chape.shop.plan import PlannedTask
from chape.shop.standing import hands_left
from chape.shop.store import Shop

router = APIRouter()


class FitRow(BaseModel):
    """A fit record: what a spring scale read (N), and what was wrong."""

    at: datetime
    hold: float | None
    faults: list[str]
    note: str
    passed: bool


class PieceLeaf(BaseModel):
    """All there is to know of a piece.

    Attributes:
        title: what it is, in words.
        hold: the wanted pull, N; None as it comes.
        next_task: what hands do next with it, or with the blank it still lies on, as the plan
            calls it; None where the plan has nothing.
        may_move_to: states it can be moved to from where it is.
        may_fit: a fit record can be kept now.
    """

    serial: str
    state: str
    order: str
    title: str
    customer: str
    hand: str
    colour: str
    clip: str | None
    marks: str
    note: str
    due: date
    hold: float | None
    batch: str | None
    next_task: str | None
    next_title: str | None
    may_move_to: list[str]
    may_fit: bool
    replacement: str | None = None
    fits: list[FitRow]


class Move(BaseModel):
    """Where a piece goes."""

    state: str


class NewFit(BaseModel):
    """What a person found when a sheath was tried, the edge covered."""

    hold: float | None = None
    faults: list[str] = []
    note: str = ""


@router.get("/pieces/{serial}")
def one_piece(bench: AtBench, serial: str) -> PieceLeaf:
    """Show a piece."""
    with shop_of(bench) as shop:
        return _leaf(shop, serial)


@router.post("/pieces/{serial}/move")
def move(bench: AtBench, serial: str, to: Move) -> PieceLeaf:
    """Note how far a piece has come; a scrapped one is replaced by a new one."""
    if to.state not in list(PieceState) or to.state == PieceState.WAITING:
        raise InputError(f'found the state "{to.state}"', mend="Choose one of those listed")
    with changed_shop(bench) as shop:
        fresh = shop.change(lambda c: move_piece(c, serial, PieceState(to.state)))
        leaf = _leaf(shop, serial)
    return leaf.model_copy(update={"replacement": None if fresh is None else fresh.serial})


@router.post("/pieces/{serial}/fit")
def fit(bench: AtBench, serial: str, found: NewFit) -> PieceLeaf:
    """Keep a fit record; without a fault the piece has passed."""
    with changed_shop(bench) as shop:
        shop.change(lambda c: record_fit(c, serial, found.hold, found.faults, found.note, now()))
        return _leaf(shop, serial)


def _leaf(shop: Shop, serial: str) -> PieceLeaf:
    order, piece = shop.read(lambda c: find_piece(c, serial))
    fits = shop.read(lambda c: fit_records(c, piece.serial))
    ahead = _next_task(shop, piece)
    line = order.line
    known = shop.file.models.get(line.model or "")
    return PieceLeaf(
        serial=piece.serial,
        state=piece.state.value,
        order=order.reference,
        title=_title(shop, order),
        customer=line.customer,
        hand=line.hand.value,
        colour=line.colour,
        clip=line.clip,
        marks=line.marks,
        note=line.note,
        due=line.due,
        hold=line.hold if line.hold is not None else getattr(known, "hold", None),
        batch=None if piece.batch is None else f"B{piece.batch}",
        next_task=None if ahead is None else ahead.name,
        next_title=None if ahead is None else ahead.title,
        may_move_to=_ahead_of(piece),
        may_fit=piece.state not in ENDED
        and PROGRESS.index(piece.state) >= PROGRESS.index(PieceState.CLOSED),
        fits=[_fit_row(each) for each in fits],
    )


def _next_task(shop: Shop, piece: Piece) -> PlannedTask | None:
    """Return what hands do next with a piece, or with the blank it still lies on."""
    seat = next((s for s in shop.read(lambda c: seats(c, shop.file)) if s.piece == piece.id), None)
    names = () if seat is None else (piece.serial, seat.work.blank)
    return next((task for task in hands_left(shop) if task.name.rpartition(".")[0] in names), None)


def _title(shop: Shop, order: Order) -> str:
    if order.line.model is None:
        return f"own knife: {order.line.knife}"
    known = shop.file.models.get(order.line.model)
    return order.line.model if known is None else known.title


def _ahead_of(piece: Piece) -> list[str]:
    if piece.state in ENDED:
        return []
    later = PROGRESS[PROGRESS.index(piece.state) + 1 :]
    return [state.value for state in (*later, PieceState.SCRAPPED) if state != PieceState.BATCHED]


def _fit_row(record: FitRecord) -> FitRow:
    return FitRow(
        at=record.at,
        hold=record.hold,
        faults=[fault.value for fault in record.faults],
        note=record.note,
        passed=record.passed,
    )
