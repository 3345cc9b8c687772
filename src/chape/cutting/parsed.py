"""What a program's text says, move by move."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.cutting.model import Motion

if TYPE_CHECKING:
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
