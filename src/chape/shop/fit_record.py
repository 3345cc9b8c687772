"""The fit record of a made sheath: what a person found when it was tried, the edge covered."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from chape.errors import CannotMakeError, InputError
from chape.shop.model import ENDED, HARDEST_HOLD, PROGRESS, PieceState
from chape.shop.orders import find_piece
from chape.shop.tables import FIT_RECORDS, PIECES

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy.engine import Connection


class Fault(StrEnum):
    """What may be wrong with a made sheath."""

    SHAKE = "shake"
    RATTLE = "rattle"
    EDGE = "edge"
    EYELETS = "eyelets"
    RIM = "rim"
    CLEAN = "clean"


#: What is asked for each of them; "no" is the fault.
QUESTIONS = {
    Fault.SHAKE: "Held upside down and shaken, the knife stays",
    Fault.RATTLE: "It does not rattle",
    Fault.EDGE: "The edge touches nothing on its way in and out",
    Fault.EYELETS: "No eyelet is cracked or loose",
    Fault.RIM: "All edges of the sheath are broken",
    Fault.CLEAN: "It is clean, inside as well",
}


@dataclass(frozen=True, slots=True)
class FitRecord:
    """A fit record.

    Attributes:
        hold: what a spring scale read, N; None where none was used.
        faults: what was wrong; none for a good one.
        at: when.
        note: for the shop's own use.
    """

    hold: float | None
    faults: tuple[Fault, ...]
    at: datetime
    note: str

    @property
    def passed(self) -> bool:
        """Nothing was wrong."""
        return not self.faults


def record_fit(
    connection: Connection, serial: str, hold: float | None, faults: Sequence[str], note: str,
    now: datetime,
) -> FitRecord:  # fmt: skip
    """Keep a fit record; a piece without a fault has passed.

    Raises:
        InputError: no such piece or fault, or a hold that cannot be.
        CannotMakeError: the piece is gone, or not closed yet.
    """
    _, piece = find_piece(connection, serial)
    if hold is not None and not 0 <= hold <= HARDEST_HOLD:
        raise InputError(f"found a hold of {hold} N", mend=f"Write 0 to {HARDEST_HOLD:g}")
    for fault in faults:
        if fault not in list(Fault):
            raise InputError(f'found the fault "{fault}"', mend=f"Use one of: {', '.join(Fault)}")
    if piece.state in ENDED:
        raise CannotMakeError(
            f"piece {serial} is {piece.state.value}", mend="Scan the piece in your hands"
        )
    if PROGRESS.index(piece.state) < PROGRESS.index(PieceState.CLOSED):
        raise CannotMakeError(
            f"piece {serial} is {piece.state.value}, and not closed yet", mend="Finish it first"
        )
    record = FitRecord(hold, tuple(sorted({Fault(fault) for fault in faults})), now, note.strip())
    connection.execute(
        insert(FIT_RECORDS).values(
            piece_id=piece.id, at=now, hold=hold, faults=",".join(record.faults),
            passed=int(record.passed), note=record.note[:200],
        )
    )  # fmt: skip
    if record.passed and piece.state is PieceState.CLOSED:
        connection.execute(
            update(PIECES).where(PIECES.c.id == piece.id).values(state=PieceState.PASSED)
        )
    return record


def fit_records(connection: Connection, serial: str) -> tuple[FitRecord, ...]:
    """Return every fit record of a piece, oldest first.

    Raises:
        InputError: there is no such piece.
    """
    _, piece = find_piece(connection, serial)
    rows = connection.execute(
        select(FIT_RECORDS).where(FIT_RECORDS.c.piece_id == piece.id).order_by(FIT_RECORDS.c.id)
    )
    return tuple(
        FitRecord(
            row["hold"],
            tuple(Fault(word) for word in row["faults"].split(",") if word),
            row["at"],
            row["note"],
        )
        for row in rows.mappings()
    )
