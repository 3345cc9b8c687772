"""One piece of long work, as it stands."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from chape.bench.problem import Problem


class State(StrEnum):
    """How far a piece of work is."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    STOPPED = "stopped"
    FAILED = "failed"

    @property
    def over(self) -> bool:
        """Nothing more will come of it."""
        return self not in {State.WAITING, State.RUNNING}


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of work as the page is told of it.

    Attributes:
        title: what it is, in words.
        what, name: the record it is for: "sheath" and its name.
        began: milliseconds since 1970.
        share: done of it, 0 to 1; None where that is not known.
        stage: what it is at.
        problem: what went wrong; of stopped work, that no person stopped it.
        result: what came of it, where it says anything.
        seen: a person has read what became of it.
    """

    id: str
    title: str
    what: str
    name: str
    state: State
    began: int
    share: float | None = None
    stage: str = ""
    problem: Problem | None = None
    result: Any = None
    seen: bool = False
