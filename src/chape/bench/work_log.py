"""What long work came to, on the disk, so that a page is told of it also after a restart."""

from __future__ import annotations

import json
import logging
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from chape.bench.piece import Piece, State
from chape.bench.problem import Problem
from chape.bench.safe_write import write_whole
from chape.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

LOG = logging.getLogger("chape.bench")

#: What is kept of a piece; what came of it lies in the files it made.
KEPT = ("id", "title", "what", "name", "began", "share", "stage", "seen")

#: What is said of work that was under way when the bench ended, however it ended.
CUT_OFF = Problem(
    sentence="It was stopped when the bench was closed",
    mend="Begin it again",
)


class WorkLog:
    """The file in which work is noted.

    Args:
        file: it is kept in.
    """

    def __init__(self, file: Path) -> None:
        self._file = file
        self._failed = False

    def read(self) -> list[Piece]:
        """Return all work that was noted, the oldest first; what was under way is stopped."""
        try:
            return [_piece(each) for each in json.loads(self._file.read_bytes())]
        except (OSError, ValueError, TypeError, KeyError):
            return []

    def note(self, pieces: Iterable[Piece]) -> None:
        """Note all work as it stands now; where that cannot be, work goes on all the same."""
        content = json.dumps([_plain(each) for each in pieces]).encode()
        try:
            write_whole(self._file, content)
        except OutputError as error:
            if not self._failed:
                LOG.warning("what is worked on is not noted: %s", error)
            self._failed = True


def _plain(piece: Piece) -> dict[str, Any]:
    problem = None if piece.problem is None else piece.problem.model_dump()
    kept = {name: getattr(piece, name) for name in KEPT}
    return {**kept, "state": piece.state.value, "problem": problem}


def _piece(kept: dict[str, Any]) -> Piece:
    problem = None if kept["problem"] is None else Problem.model_validate(kept["problem"])
    state = State(kept["state"])
    piece = Piece(**{name: kept[name] for name in KEPT}, state=state, problem=problem)
    return piece if state.over else replace(piece, state=State.STOPPED, problem=CUT_OFF)
