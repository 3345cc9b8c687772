"""What each line of a program makes the machine do, in the order of NISTIR 6556, Table 8."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan
from typing import TYPE_CHECKING

from chape.cutting.model import Motion
from chape.cutting.parsed import Event, EventKind, State
from chape.cutting.read_arcs import RADII_INCH, RADII_MM, centre_form, radius_form
from chape.cutting.read_cycles import Cycle, CycleWords
from chape.errors import ProgramError
from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from chape.cutting.read_words import Block

_CYCLES = ("G81", "G82", "G83")
_STRAIGHT = ("G0", "G1")
_ARCS = ("G2", "G3")
#: Which letters each use of a line may carry, beyond F, S, T and N.
_AXES = frozenset("XYZ")
_MOVE_LETTERS = {
    "straight": _AXES,
    "arc": _AXES | set("IJR"),
    "cycle": _AXES | set("RLPQ"),
    "none": frozenset[str](),
}
_TURNS = {"M3": 1, "M4": -1, "M5": 0}
#: Words that need a letter of their own.
_NEEDS = {
    "G4": ("P", "the seconds to wait"),
    "G43": ("H", "the number of the length offset"),
    "G54.1": ("P", "the number of the offset"),
}
_EXTENDED_OFFSETS = 300

#: motion, x, y, z, centre x, centre y, sweep, feed, line, state
MoveRow = tuple[int, float, float, float, float, float, float, float, int, int]


class Controller:
    """A machine's controller: the modes in force, and every move made so far."""

    def __init__(
        self, start: tuple[float, float, float], *, stop_changes_cutter: bool = False
    ) -> None:
        self.place = start
        self.moves: list[MoveRow] = []
        self.states: list[State] = [State()]
        self.events: list[Event] = []
        self.messages: list[tuple[int, str]] = []
        self.ended = False
        self._stop_changes_cutter = stop_changes_cutter
        self._motion: str | None = None
        self._incremental = False
        self._inch = False
        self._feed = nan
        self._speed = 0.0
        self._turning = 0
        self._selected = 0
        self._retract_to_start = True
        self._cycle = CycleWords()

    @property
    def moves_straight(self) -> bool:
        """Whether a line of bare axis words is a rapid or a straight cut."""
        return self._motion in _STRAIGHT

    def straight(
        self,
        line: int,
        motion: int | None,
        x: float | None,
        y: float | None,
        z: float | None,
        feed: float | None,
    ) -> None:
        """Carry out a line that holds nothing but a straight move."""
        if feed is not None:
            self._feed = feed * MM_PER_INCH if self._inch else feed
        if motion is not None:
            self._motion = _STRAIGHT[motion]
        self._line_to(line, self._target(x, y, z))

    def execute(self, block: Block) -> None:
        """Carry out one line.

        Raises:
            ProgramError: the line breaks a rule.
        """
        if block.message is not None:
            self.messages.append((block.line, block.message))
        if not (block.g or block.m or block.words):
            return
        if self.ended:
            raise ProgramError(block.line, "words after the end of the program never run")
        self._check_letters(block)
        self._set_feed_and_spindle(block)
        self._set_modes(block)
        self._move(block)
        self._stop(block)

    # ---- what may stand on the line -------------------------------------------------------

    def _use(self, block: Block) -> str:
        """Return what the axis words of a line are for."""
        word = block.g.get("motion", self._motion)
        if not _AXES & block.words.keys():
            return "none"
        if word in _STRAIGHT:
            return "straight"
        if word in _ARCS:
            return "arc"
        return "cycle" if word in _CYCLES else "none"

    def _check_letters(self, block: Block) -> None:
        """Refuse letters that nothing on the line uses."""
        motion = block.g.get("motion")
        use = self._use(block)
        if use == "none" and motion not in (None, "G80", *_STRAIGHT):
            raise ProgramError(block.line, f"{motion} needs X, Y or Z")
        if use == "none" and _AXES & block.words.keys():
            raise ProgramError(block.line, "X, Y or Z stand on a line where no motion is in force")
        allowed = set("FST") | _MOVE_LETTERS[use] | self._needed(block, use)
        unused = sorted(block.words.keys() - allowed)
        if unused:
            raise ProgramError(block.line, f"nothing on the line uses {', '.join(unused)}")
        if block.g.get("non-modal") == "G53" and use != "straight":
            raise ProgramError(block.line, "G53 needs a straight move (G0 or G1)")

    @staticmethod
    def _needed(block: Block, use: str) -> set[str]:
        """Return the letters that words of the line need, all of which must be there."""
        words = [block.g.get("non-modal"), block.g.get("length offset"), block.g.get("work offset")]
        users = [word for word in words if word in _NEEDS]
        for word in users:
            letter, what = _NEEDS[str(word)]
            if letter not in block.words:
                raise ProgramError(block.line, f"{word} needs {letter}, {what}")
        wanting_p = [word for word in users if _NEEDS[str(word)][0] == "P"]
        if wanting_p and len(wanting_p) + (use == "cycle") > 1:
            raise ProgramError(block.line, f"{wanting_p[0]} shares its P with another word")
        return {_NEEDS[str(word)][0] for word in users}

    # ---- feed, spindle, cutter, dwell -------------------------------------------------------

    def _set_feed_and_spindle(self, block: Block) -> None:
        words, line = block.words, block.line
        for letter in "FST":
            if words.get(letter, 0.0) < 0:
                raise ProgramError(line, f"{letter} must not be negative")
        if "F" in words:
            units = block.g.get("units")
            if units is not None and (units == "G20") != self._inch:
                raise ProgramError(line, "F on the line that changes the units may mean either")
            self._feed = words["F"] * (MM_PER_INCH if self._inch else 1.0)
        self._speed = words.get("S", self._speed)
        if "T" in words:
            self._selected = block.whole("T")
        if "cutter change" in block.m:
            self._change_cutter(line)
        self._turning = _TURNS.get(block.m.get("spindle", ""), self._turning)
        self._note_spindle(line)
        if block.g.get("non-modal") == "G4":
            if words["P"] < 0:
                raise ProgramError(line, "G4 cannot wait less than no time")
            self._event(EventKind.DWELL, line, words["P"])

    def _note_spindle(self, line: int) -> None:
        speed = self._turning * self._speed
        if speed != self.states[-1].spindle:
            self._change(spindle=speed)
            self._event(EventKind.SPINDLE, line, speed)

    def _change_cutter(self, line: int) -> None:
        """Put the selected cutter into the spindle, which stops it (3.6.3)."""
        if self._selected == 0:
            raise ProgramError(line, "M6 changes to no cutter: T is missing")
        self._event(EventKind.CUTTER, line, self._selected)
        self._turning = 0
        self._change(cutter=self._selected, spindle=0.0)

    # ---- modes ----------------------------------------------------------------------------

    def _set_modes(self, block: Block) -> None:
        g = block.g
        if "units" in g:
            self._inch = g["units"] == "G20"
            self._change(units_stated=True)
        if "length offset" in g:
            self._change(length_offset=block.whole("H") if g["length offset"] == "G43" else 0)
        if "work offset" in g:
            name = g["work offset"]
            if name == "G54.1":
                number = block.whole("P")
                if not 1 <= number <= _EXTENDED_OFFSETS:
                    raise ProgramError(block.line, "G54.1 takes P1 to P300")
                name = f"G54.1P{number}"
            self._change(offset=name)
        if "distance mode" in g:
            self._incremental = g["distance mode"] == "G91"
            self._change(distance_stated=True)
        if "retract mode" in g:
            self._retract_to_start = g["retract mode"] == "G98"

    def _change(self, **changes: object) -> None:
        """Put something else in force from the next move on."""
        changed = replace(self.states[-1], **changes)  # type: ignore[arg-type]  # named fields
        if changed != self.states[-1]:
            self.states.append(changed)

    # ---- motion -----------------------------------------------------------------------------

    def _move(self, block: Block) -> None:
        motion = block.g.get("motion")
        use = self._use(block)
        if motion is not None:
            if motion != self._motion:
                self._cycle = CycleWords()
            self._motion = motion
        if use == "none":
            return
        words = block.words
        if use == "cycle":
            self._drill(block)
            return
        target = self._target(words.get("X"), words.get("Y"), words.get("Z"))
        if block.g.get("non-modal") == "G53":
            target = self._machine_target(words)
        if use == "arc":
            self._arc_to(block, target)
        else:
            self._line_to(block.line, target)

    def _scaled(self, value: float) -> float:
        return value * MM_PER_INCH if self._inch else value

    def _target(
        self, x: float | None, y: float | None, z: float | None
    ) -> tuple[float, float, float]:
        """Return where the axis words of a line lead, mm."""
        here = self.place
        if self._inch:
            x = None if x is None else x * MM_PER_INCH
            y = None if y is None else y * MM_PER_INCH
            z = None if z is None else z * MM_PER_INCH
        if self._incremental:
            return (
                here[0] + (0.0 if x is None else x),
                here[1] + (0.0 if y is None else y),
                here[2] + (0.0 if z is None else z),
            )
        return (
            here[0] if x is None else x,
            here[1] if y is None else y,
            here[2] if z is None else z,
        )

    def _machine_target(self, words: dict[str, float]) -> tuple[float, float, float]:
        """Return where a move in machine coordinates leads, as far as it can be known.

        Z0 is the top of the travel. Any other place has no known relation to the work offset.
        """
        x = nan if "X" in words else self.place[0]
        y = nan if "Y" in words else self.place[1]
        z = self.place[2]
        if "Z" in words:
            z = inf if words["Z"] == 0 else nan
        return x, y, z

    def _line_to(self, line: int, target: tuple[float, float, float]) -> None:
        rapid = self._motion == "G0"
        self.moves.append(
            (
                Motion.RAPID if rapid else Motion.LINE,
                *target,
                nan,
                nan,
                0.0,
                nan if rapid else self._feed,
                line,
                len(self.states) - 1,
            )
        )
        self.place = target

    def _arc_to(self, block: Block, target: tuple[float, float, float]) -> None:
        words, line = block.words, block.line
        clockwise = self._motion == "G2"
        start, end = self.place[:2], target[:2]
        if any(coordinate != coordinate for coordinate in (*self.place, *target)):  # noqa: PLR0124  # NaN
            raise ProgramError(line, "the arc starts where no place was given before")
        if "R" in words:
            if "I" in words or "J" in words:
                raise ProgramError(line, "an arc takes either R or I and J")
            radius = self._scaled(words["R"])
            if not {"X", "Y"} & words.keys():
                raise ProgramError(line, "an arc given by R needs X or Y")
            centre, sweep = radius_form(start, end, radius, clockwise=clockwise, line=line)
        else:
            if not {"I", "J"} & words.keys():
                raise ProgramError(line, "an arc needs R, or I or J")
            if not {"X", "Y"} & words.keys():
                raise ProgramError(line, "an arc needs X or Y (a full circle repeats one of them)")
            offset = (self._scaled(words.get("I", 0.0)), self._scaled(words.get("J", 0.0)))
            centre, sweep = centre_form(
                start,
                end,
                offset,
                clockwise=clockwise,
                tolerance=RADII_INCH * MM_PER_INCH if self._inch else RADII_MM,
                line=line,
            )
        self.moves.append(
            (
                Motion.CLOCKWISE if clockwise else Motion.COUNTER_CLOCKWISE,
                *target,
                *centre,
                sweep,
                self._feed,
                line,
                len(self.states) - 1,
            )
        )
        self.place = target

    def _drill(self, block: Block) -> None:
        """Write a canned cycle out into moves."""
        if any(coordinate != coordinate for coordinate in self.place):  # noqa: PLR0124  # NaN
            raise ProgramError(block.line, "the cycle starts where no place was given before")
        self._cycle = self._cycle.renewed(block, self._scaled)
        cycle = Cycle(
            kind=str(self._motion),
            words=self._cycle,
            incremental=self._incremental,
            retract_to_start=self._retract_to_start,
        )
        words = block.words
        step = (words.get("X"), words.get("Y"))
        for kind, value in cycle.written_out(
            self.place, lambda place: self._target_from(place, step), block
        ):
            if kind == "dwell":
                self._event(EventKind.DWELL, block.line, value[0])
                continue
            held, self._motion = self._motion, kind
            self._line_to(block.line, (value[0], value[1], value[2]))
            self._motion = held

    def _target_from(
        self, place: tuple[float, float, float], step: tuple[float | None, float | None]
    ) -> tuple[float, float]:
        held, self.place = self.place, place
        x, y, _ = self._target(step[0], step[1], None)
        self.place = held
        return x, y

    # ---- stops ------------------------------------------------------------------------------

    def _stop(self, block: Block) -> None:
        stop = block.m.get("stopping")
        if stop is None:
            return
        line = block.line
        if stop == "M0":
            self._event(EventKind.STOP, line)
            if self._stop_changes_cutter and self._selected not in (0, self.states[-1].cutter):
                self._event(EventKind.CUTTER, line, self._selected)
                self._change(cutter=self._selected)
        elif stop == "M1":
            self._event(EventKind.OPTIONAL_STOP, line)
        else:
            self._turning = 0
            self._note_spindle(line)
            self._event(EventKind.END, line)
            self.ended = True

    def _event(self, kind: EventKind, line: int, value: float = 0.0) -> None:
        self.events.append(Event(kind, len(self.moves), line, float(value)))
