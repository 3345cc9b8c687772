"""What each line of a program makes the machine do, in the order of NISTIR 6556, Table 8."""

from __future__ import annotations

from dataclasses import replace
from math import dist, inf, nan
from typing import TYPE_CHECKING

from chape.cutting.model import Motion
from chape.cutting.parsed import Event, EventKind, State
from chape.cutting.read_arcs import PLANES, arc_of
from chape.cutting.read_cycles import Cycle, CycleWords
from chape.cutting.read_letters import AXES, STRAIGHT, check_letters
from chape.cutting.read_places import Places, machine_target
from chape.errors import ProgramError
from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from chape.cutting.controller_facts import ControllerFacts
    from chape.cutting.read_words import Block

_TURNS = {"M3": 1, "M4": -1, "M5": 0}
_EXTENDED_OFFSETS = 300

#: motion, x, y, z, centre x, centre y, sweep, feed, line, state
MoveRow = tuple[int, float, float, float, float, float, float, float, int, int]


class Controller:
    """A machine's controller: the modes in force, and every move made so far."""

    def __init__(self, start: tuple[float, float, float], facts: ControllerFacts) -> None:
        self.place = start
        self.moves: list[MoveRow] = []
        self.states: list[State] = [State()]
        self.events: list[Event] = []
        self.messages: list[tuple[int, str]] = []
        self.parameters: dict[int, float] = {}
        self.ended = False
        self._facts = facts
        self._motion: str | None = None
        self._plane = PLANES["G17"]
        self._places = Places()
        self._inverse_time = False
        self._feed = nan
        self._speed = 0.0
        self._turning = 0
        self._selected = 0
        self._retract_to_start = True
        self._cycle = CycleWords()

    @property
    def moves_straight(self) -> bool:
        """Whether a line of bare axis words is a rapid or a straight cut."""
        return self._motion in STRAIGHT and not self._inverse_time

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
            self._feed = feed * MM_PER_INCH if self._places.inch else feed
        if motion is not None:
            self._motion = STRAIGHT[motion]
        self._line_to(line, self._places.target(self.place, x, y, z))

    def execute(self, block: Block) -> None:
        """Carry out one line.

        Raises:
            ProgramError: the line breaks a rule.
        """
        if block.message is not None:
            self.messages.append((block.line, block.message))
        self.parameters |= block.settings
        if not (block.g or block.m or block.words):
            return
        if self.ended:
            raise ProgramError(block.line, "words after the end of the program never run")
        if "plane" in block.g:
            self._plane = PLANES[block.g["plane"]]
        use = check_letters(block, self._motion, self._plane)
        self._refuse_subprogram(block)
        self._set_feed_and_spindle(block)
        self._set_modes(block)
        self._move(block, use)
        self._stop(block)

    def _refuse_subprogram(self, block: Block) -> None:
        """Take O for the name of the program before any move, and for nothing else."""
        if "O" in block.words and (len(block.words) > 1 or block.g or block.m or self.moves):
            raise ProgramError(block.line, "subprograms (O words) are not read; write them out")

    # ---- feed, spindle, cutter, dwell -------------------------------------------------------

    def _set_feed_and_spindle(self, block: Block) -> None:
        words, line = block.words, block.line
        for letter in "FST":
            if words.get(letter, 0.0) < 0:
                raise ProgramError(line, f"{letter} must not be negative")
        self._set_feed(block)
        self._speed = words.get("S", self._speed)
        if "T" in words:
            self._select(block.whole("T"), line)
        if "cutter change" in block.m:
            self._change_cutter(line)
        self._turning = _TURNS.get(block.m.get("spindle", ""), self._turning)
        self._note_spindle(line)
        if block.g.get("non-modal") == "G4":
            if words["P"] < 0:
                raise ProgramError(line, "G4 cannot wait less than no time")
            self._event(EventKind.DWELL, line, words["P"] * self._facts.dwell_seconds)

    def _set_feed(self, block: Block) -> None:
        """Take F: length a minute (G94), or how many such moves fit into a minute (G93)."""
        mode = block.g.get("feed mode")
        if mode is not None and (mode == "G93") != self._inverse_time:
            self._inverse_time = mode == "G93"
            self._feed = nan
        if self._inverse_time:
            # Never carried over from an earlier line (3.5.19).
            self._feed = block.words.get("F", nan)
        elif "F" in block.words:
            units = block.g.get("units")
            if units is not None and (units == "G20") != self._places.inch:
                problem = "F on the line that changes the units may mean either"
                raise ProgramError(block.line, problem)
            self._feed = block.words["F"] * (MM_PER_INCH if self._places.inch else 1.0)

    def _feed_over(self, length: float, line: int) -> float:
        """Return the feed of a cut of a length, mm/min."""
        if not self._inverse_time:
            return self._feed
        if not self._feed > 0:
            raise ProgramError(line, "with G93 every cutting line needs F")
        return self._feed * length

    def _select(self, number: int, line: int) -> None:
        """Choose a cutter; where each file has one of its own, it is in the spindle already."""
        if self._facts.cutter_in_spindle and number != self.states[-1].cutter:
            if self.states[-1].cutter:
                raise ProgramError(line, "this controller changes no cutter within a file")
            self._event(EventKind.CUTTER, line, number)
            self._change(cutter=number)
        self._selected = number

    def _note_spindle(self, line: int) -> None:
        speed = self._turning * self._speed
        if speed != self.states[-1].spindle:
            self._change(spindle=speed)
            self._event(EventKind.SPINDLE, line, speed)

    def _change_cutter(self, line: int) -> None:
        """Put the selected cutter into the spindle, which stops it (3.6.3)."""
        if not self._facts.changes_at_word:
            raise ProgramError(line, "this controller does not know M6")
        if self._selected == 0:
            raise ProgramError(line, "M6 changes to no cutter: T is missing")
        self._event(EventKind.CUTTER, line, self._selected)
        self._turning = 0
        self._change(cutter=self._selected, spindle=0.0)

    # ---- modes ----------------------------------------------------------------------------

    def _set_modes(self, block: Block) -> None:
        g = block.g
        if "units" in g:
            self._places.inch = g["units"] == "G20"
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
            if self._facts.offsets is not None and name not in self._facts.offsets:
                raise ProgramError(block.line, f"this controller has no work offset {name}")
            self._change(offset=name)
        if "distance mode" in g:
            self._places.incremental = g["distance mode"] == "G91"
            self._change(distance_stated=True)
        if "retract mode" in g:
            self._retract_to_start = g["retract mode"] == "G98"

    def _change(self, **changes: object) -> None:
        """Put something else in force from the next move on."""
        changed = replace(self.states[-1], **changes)  # type: ignore[arg-type]  # named fields
        if changed != self.states[-1]:
            self.states.append(changed)

    # ---- motion -----------------------------------------------------------------------------

    def _move(self, block: Block, use: str) -> None:
        motion = block.g.get("motion")
        if motion is not None:
            if motion != self._motion:
                self._cycle = CycleWords()
            self._motion = motion
        self._places.undo_preset(block.g.get("non-modal"))
        words = block.words
        if use == "cycle":
            self._drill(block)
        elif use == "preset":
            self._places.preset(self.place, block)
        elif use == "home":
            self._go_home(block)
        elif use == "arc":
            self._arc_to(
                block,
                self._places.target(self.place, words.get("X"), words.get("Y"), words.get("Z")),
            )
        elif block.g.get("non-modal") == "G53":
            self._line_to(block.line, machine_target(self.place, words))
        elif use == "straight":
            target = self._places.target(self.place, words.get("X"), words.get("Y"), words.get("Z"))
            self._line_to(block.line, target)

    def _go_home(self, block: Block) -> None:
        """Rapid by way of the place given to the reference place (3.5.8).

        The reference place is taken for the end of the travel, where no work offset tells X and Y.
        By the report every axis goes there; many controllers move only those that are named, so
        an axis that is not named is unknown afterwards.
        """
        words = block.words
        held, self._motion = self._motion, "G0"
        if AXES & words.keys():
            target = self._places.target(self.place, words.get("X"), words.get("Y"), words.get("Z"))
            if target != self.place:
                self._line_to(block.line, target)
        z = inf if "Z" in words or not AXES & words.keys() else nan
        self._line_to(block.line, (nan, nan, z))
        self._motion = held

    def _line_to(self, line: int, target: tuple[float, float, float]) -> None:
        rapid = self._motion == "G0"
        feed = nan if rapid else self._feed
        if self._inverse_time and not rapid:
            feed = self._feed_over(dist(self.place, target), line)
        motion = Motion.RAPID if rapid else Motion.LINE
        self._note_move((motion, *target, nan, nan, 0.0, feed, line, len(self.states) - 1))

    def _note_move(self, row: MoveRow) -> None:
        self.moves.append(row)
        self.place = row[1], row[2], row[3]

    def _arc_to(self, block: Block, target: tuple[float, float, float]) -> None:
        clockwise = self._motion == "G2"
        line, state = block.line, len(self.states) - 1
        arc = arc_of(
            block.words,
            self.place,
            target,
            self._plane,
            clockwise=clockwise,
            inch=self._places.inch,
            line=line,
        )
        feed = self._feed_over(arc.length, line)
        if self._plane is PLANES["G17"]:
            motion = Motion.CLOCKWISE if clockwise else Motion.COUNTER_CLOCKWISE
            self._note_move((motion, *target, *arc.centre, arc.sweep, feed, line, state))
            return
        # What cuts and times a program knows arcs lying flat; one on edge goes on as chords.
        for end in arc.chords():
            self._note_move((Motion.LINE, *end, nan, nan, 0.0, feed, line, state))

    def _drill(self, block: Block) -> None:
        """Write a canned cycle out into moves."""
        if any(coordinate != coordinate for coordinate in self.place):  # noqa: PLR0124  # NaN
            raise ProgramError(block.line, "the cycle starts where no place was given before")
        if not self._facts.cycles:
            raise ProgramError(block.line, "this controller has no canned cycles")
        if self._motion == "G73" and not self._facts.chip_breaking_cycle:
            raise ProgramError(block.line, "this controller has no cycle G73")
        if self._plane is not PLANES["G17"] or self._inverse_time:
            raise ProgramError(block.line, "cycles are read in the XY plane (G17) with G94 alone")
        self._cycle = self._cycle.renewed(block, self._places.scaled)
        cycle = Cycle(
            kind=str(self._motion),
            words=self._cycle,
            incremental=self._places.incremental,
            retract_to_start=self._retract_to_start,
            shift=0.0 if self._places.incremental else self._places.shift[2],
        )
        words = block.words
        step = (words.get("X"), words.get("Y"))
        for kind, value in cycle.written_out(
            self.place, lambda place: self._target_from(place, step), block
        ):
            if kind == "dwell":
                self._event(EventKind.DWELL, block.line, value[0] * self._facts.dwell_seconds)
                continue
            held, self._motion = self._motion, kind
            self._line_to(block.line, (value[0], value[1], value[2]))
            self._motion = held

    def _target_from(
        self, place: tuple[float, float, float], step: tuple[float | None, float | None]
    ) -> tuple[float, float]:
        x, y, _ = self._places.target(place, step[0], step[1], None)
        return x, y

    # ---- stops ------------------------------------------------------------------------------

    def _stop(self, block: Block) -> None:
        stop = block.m.get("stopping")
        if stop is None:
            return
        line = block.line
        if stop in ("M0", "M60"):
            self._event(EventKind.STOP, line)
            if self._facts.changes_at_stop and self._selected not in (0, self.states[-1].cutter):
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
