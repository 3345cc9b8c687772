"""What a program's text says, move by move."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from chape.cutting.model import Motion

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.field.grid import Floats

Integers = npt.NDArray[np.int32]


class EventKind(StrEnum):
    """What happens between two moves."""

    STOP = "stop"
    OPTIONAL_STOP = "optional stop"
    CUTTER = "cutter"
    SPINDLE = "spindle"
    DWELL = "dwell"
    END = "end"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens before move number ``move``.

    Attributes:
        move: index of the first move after it.
        line: 1-based line of the text.
        value: cutter number, spindle rev/min (negative when reversed) or seconds of dwell.
    """

    kind: EventKind
    move: int
    line: int
    value: float = 0.0


@dataclass(frozen=True, slots=True)
class State:
    """What stays in force from move to move, apart from place and feed.

    Attributes:
        cutter: number in the spindle, 0 when none was called.
        spindle: rev/min, 0 when off, negative when reversed (M4).
        offset: work offset as written ("G54", "G54.1P4"); empty when none was called.
        length_offset: H word of G43, 0 when none is in force.
        units_stated, distance_stated: G20 or G21, G90 or G91 came first.
    """

    cutter: int = 0
    spindle: float = 0.0
    offset: str = ""
    length_offset: int = 0
    units_stated: bool = False
    distance_stated: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class ParsedProgram:
    """Every move of a program, in mm, with canned cycles written out.

    Where the cutter stands is unknown (NaN) until the text says so; a height of infinity is the
    top of the machine's travel, where G53 Z0 leads.

    Attributes:
        motion: (n,) int8 of ``Motion``.
        start, end: (n, 3) mm.
        centre: (n, 2) mm, NaN but for arcs.
        sweep: (n,) signed angle of arcs, counter-clockwise positive, radians; 0 otherwise.
        feed: (n,) mm/min; NaN for rapids, and where none was given.
        line: (n,) 1-based line of the text.
        state: (n,) index into ``states``.
        events: stops, cutter changes and the like, in order.
        messages: (line, text) of every ``(MSG,`` comment.
        before: how many lines come before each text of the program; lines are counted on from one
            text to the next.
    """

    motion: npt.NDArray[np.int8]
    start: Floats
    end: Floats
    centre: Floats
    sweep: Floats
    feed: Floats
    line: Integers
    state: Integers
    states: tuple[State, ...]
    events: tuple[Event, ...]
    messages: tuple[tuple[int, str], ...]
    before: tuple[int, ...] = (0,)

    @classmethod
    def joined(cls, parts: Sequence[ParsedProgram], before: Sequence[int]) -> ParsedProgram:
        """Return texts run one after the other as one program.

        Args:
            parts: as read, each by itself: it knows nothing of the place and modes before it.
            before: lines that come before each part.
        """
        moves = np.cumsum([0, *(len(part) for part in parts)])
        states = np.cumsum([0, *(len(part.states) for part in parts)])

        def all_of(name: str) -> Any:  # noqa: ANN401 -- arrays of each field's own kind
            return np.concatenate([getattr(part, name) for part in parts])

        return cls(
            motion=all_of("motion"),
            start=all_of("start"),
            end=all_of("end"),
            centre=all_of("centre"),
            sweep=all_of("sweep"),
            feed=all_of("feed"),
            line=np.concatenate(
                [part.line + np.int32(n) for part, n in zip(parts, before, strict=True)]
            ),
            state=np.concatenate(
                [part.state + np.int32(n) for part, n in zip(parts, states[:-1], strict=True)]
            ),
            states=tuple(state for part in parts for state in part.states),
            events=tuple(
                replace(event, move=event.move + int(move), line=event.line + line)
                for part, move, line in zip(parts, moves[:-1], before, strict=True)
                for event in part.events
            ),
            messages=tuple(
                (line + number, words)
                for part, line in zip(parts, before, strict=True)
                for number, words in part.messages
            ),
            before=tuple(before),
        )

    def where(self, move: int) -> tuple[int, int]:
        """Return the text, from 1, and the line in it, from 1, of a move."""
        line = int(self.line[move])
        text = bisect_left(self.before, line)
        return text, line - self.before[text - 1]

    def __len__(self) -> int:
        """Return the number of moves."""
        return len(self.motion)

    @property
    def rapid(self) -> npt.NDArray[np.bool_]:
        """(n,) whether a move is a rapid."""
        rapid: npt.NDArray[np.bool_] = self.motion == Motion.RAPID
        return rapid

    @property
    def cutter(self) -> Integers:
        """(n,) number of the cutter in the spindle, 0 for none."""
        numbers = np.array([state.cutter for state in self.states], dtype=np.int32)
        chosen: Integers = numbers[self.state]
        return chosen

    @property
    def spindle(self) -> Floats:
        """(n,) rev/min, negative when reversed."""
        speeds = np.array([state.spindle for state in self.states], dtype=np.float64)
        chosen: Floats = speeds[self.state]
        return chosen

    @property
    def length(self) -> Floats:
        """(n,) length of each move along its line, arc or helix, mm; 0 where a place is unknown."""
        arc = self.sweep != 0
        with np.errstate(invalid="ignore"):
            step = self.end - self.start
            radius = np.hypot(*(self.start[:, :2] - self.centre).T)
            plane = np.where(arc, radius * np.abs(self.sweep), np.hypot(step[:, 0], step[:, 1]))
            length: Floats = np.hypot(plane, step[:, 2])
        return np.where(np.isfinite(length), length, 0.0)
