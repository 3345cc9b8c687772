"""What a shop keeps track of: orders, their pieces, and the states a piece goes through.

Money is whole cents of the shop's own currency, so that sums are exact. Days are dates, moments
are in UTC. Forces N.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Annotated, Self

from pydantic import BeforeValidator, Field, StringConstraints, model_validator

from chape.catalog.model import Record
from chape.sheath.model import Hand

#: A pull no hand gives, N: whatever is more is a slip of the pen.
HARDEST_HOLD = 500.0

#: More pieces of one order are more than one: they are entered as several orders.
MOST_PIECES = 500

WRITTEN_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")

#: One line of text without what a terminal or a table would trip over.
Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, max_length=200, pattern=r"^[^\x00-\x1f\x7f]*$"),
]
#: A word that other tables refer to: the name of a model, a customer's reference.
Word = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=60, pattern=r"^[\w][\w .+/#&-]*$")
]


def _as_written(value: object) -> object:
    """Refuse days that are not written as ours: a bare number would pass for seconds since 1970."""
    if isinstance(value, str) and not WRITTEN_DAY.fullmatch(value):
        raise ValueError("a day is written as 2026-03-14")
    return value


#: A day as files and options write it.
Day = Annotated[date, BeforeValidator(_as_written)]


class PieceState(StrEnum):
    """How far one sheath has come, in the order of the work; the last two are other ends."""

    WAITING = "waiting"
    BATCHED = "batched"
    FORMED = "formed"
    TRIMMED = "trimmed"
    FOLDED = "folded"
    CLOSED = "closed"
    PASSED = "passed"
    PACKED = "packed"
    SHIPPED = "shipped"
    SCRAPPED = "scrapped"
    CANCELLED = "cancelled"


#: States in the order of the work.
PROGRESS = tuple(PieceState)[: tuple(PieceState).index(PieceState.SHIPPED) + 1]

#: Nothing more happens to a piece in one of these.
ENDED = (PieceState.SHIPPED, PieceState.SCRAPPED, PieceState.CANCELLED)


class OrderState(StrEnum):
    """Whether an order still asks for work."""

    OPEN = "open"
    SHIPPED = "shipped"
    CANCELLED = "cancelled"


class OrderLine(Record):
    """An order as it is entered: one line of an order file.

    Attributes:
        customer: a reference the maker chooses; nothing personal belongs here.
        model: what of the shop's own models is wanted; None for a customer's own knife.
        knife: the customer's own knife in a few words, or its knife file; None with a model.
        hand: the side it is carried on.
        sheet: name of the sheet in the catalogue.
        colour: of the sheet.
        clip: name of the clip in the catalogue; None for none.
        marks: what is to be marked on it.
        hold: wanted pull, N; None takes the model's.
        due: the day it has to leave the shop.
        quantity: pieces.
        placed: the day it came in; None takes today.
        note: for the shop's own use.
    """

    customer: Word
    model: Word | None = None
    knife: Annotated[Line, Field(min_length=1)] | None = None
    hand: Hand = Hand.RIGHT
    sheet: Word
    colour: Word
    clip: Word | None = None
    marks: Line = ""
    hold: Annotated[float, Field(gt=0, le=HARDEST_HOLD)] | None = None
    due: Day
    quantity: Annotated[int, Field(ge=1, le=MOST_PIECES)] = 1
    placed: Day | None = None
    note: Line = ""

    @model_validator(mode="after")
    def _check_what(self) -> Self:
        if (self.model is None) == (self.knife is None):
            raise ValueError("an order names either a model or the customer's own knife")
        if self.placed is not None and self.placed > self.due:
            raise ValueError(f"it is due on {self.due}, before it came in on {self.placed}")
        return self


@dataclass(frozen=True, slots=True)
class Piece:
    """One sheath of an order.

    Attributes:
        id: its number in the store.
        order: the order's number in the store.
        number: 1 for the first of its order; a replacement counts on.
        serial: what its label says, "2026-0042-1".
        state: how far it has come.
        batch: the batch it is in; None until it is in one.
    """

    id: int
    order: int
    number: int
    serial: str
    state: PieceState
    batch: int | None


@dataclass(frozen=True, slots=True)
class Order:
    """An order in the store.

    Attributes:
        id: its number in the store.
        reference: what papers call it, "2026-0042".
        line: what was ordered.
        state: whether it asks for work.
        entered: when it was entered, UTC.
        pieces: every piece, in order of its number.
    """

    id: int
    reference: str
    line: OrderLine
    state: OrderState
    entered: datetime
    pieces: tuple[Piece, ...]

    @property
    def live(self) -> tuple[Piece, ...]:
        """The pieces that were neither scrapped nor cancelled."""
        gone = (PieceState.SCRAPPED, PieceState.CANCELLED)
        return tuple(piece for piece in self.pieces if piece.state not in gone)
