"""Programs as text: RS-274 words in the order and the form a dialect asks for.

Words that repeat the line before are left out, but every number carries its point: some controllers
read X12 as twelve thousandths. Arc centres are increments from the start as it was written, so
that rounding does not pull the two radii apart.
"""

from __future__ import annotations

import textwrap
import unicodedata
from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from chape import tolerances
from chape.cutting.model import Motion
from chape.errors import CannotMakeError, InputError
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.cutting.dialects import Dialect
    from chape.cutting.model import Moves, Operation, Program

CAUTION = (
    "CAUTION: before the start, check the zero, the cutter lengths, the hold-down "
    "and the way to the safe height. Wear eye protection. Clear chips with the spindle stopped."
)


def write_program(program: Program, dialect: Dialect) -> str:
    """Return the text of a program; the same program gives the same text.

    Raises:
        InputError: the dialect does not know the setup's work offset.
        CannotMakeError: a move is not finite, mixes height with travel in a rapid, or an arc's
            radii differ.
    """
    offset = program.setup.offset
    if offset not in dialect.offsets:
        raise InputError(
            f'the dialect "{dialect.name}" has no work offset {offset}',
            mend=f"Choose one of: {', '.join(dialect.offsets)}",
            field="offset",
        )
    lines: list[str] = ["%"] if dialect.percent else []
    for number, line in enumerate(_blocks(program, dialect), start=1):
        numbered = dialect.line_numbers and not line.startswith("(")
        # Numbers start again past the largest that RS-274 allows.
        lines.append(f"N{number % 100000} {line}" if numbered else line)
    if dialect.percent:
        lines.append("%")
    longest = max(lines, key=len)
    if len(longest) > dialect.line_longest:
        raise CannotMakeError(
            f'a line of {len(longest)} characters is too long for the dialect "{dialect.name}"',
            mend=f"Let the dialect take lines longer than {dialect.line_longest}",
        )
    return "\n".join(lines) + "\n"


def _blocks(program: Program, dialect: Dialect) -> Iterator[str]:
    """Yield every line of the program but its frame."""
    for text in _header(program, dialect):
        yield from comments(text, dialect)
    units = "G20" if dialect.unit is LengthUnit.INCH else "G21"
    yield f"G17 {units} G40 G49 G80 G90 G94"
    yield program.setup.offset
    pen = _Pen(dialect)
    cutter = None
    for number, operation in enumerate(program.operations, start=1):
        yield from comments(f"{number}. {operation.title}", dialect)
        if operation.stop_before or operation.cutter.number != cutter:
            yield from _change(operation, dialect, cutter, pen)
        elif operation.spindle != pen.spindle:
            yield f"S{operation.spindle:.0f} M3"
        pen.spindle = operation.spindle
        cutter = operation.cutter.number
        yield from pen.moves(operation)
    yield "M5"
    yield dialect.end


def _header(program: Program, dialect: Dialect) -> Iterator[str]:
    """Yield what a person at the machine must know before the start."""
    setup = program.setup
    yield f"{setup.name}: {setup.title}"
    yield f"Lengths in {dialect.unit.value}, work offset {setup.offset}, {setup.machine.title}"
    top = float(setup.stock.z.max())
    width, depth, low, high = (
        show_length(length, dialect.unit)
        for length in (setup.width, setup.depth, setup.z_bottom, top)
    )
    yield (
        f"Piece {width} x {depth}, from Z {low} to {high}. Zero: front left corner; Z zero "
        + ("at the face that lies up" if setup.flipped else "at the flange plane")
    )
    seen: set[int] = set()
    for operation in program.operations:
        cutter = operation.cutter
        if cutter.number not in seen:
            seen.add(cutter.number)
            reach = show_length(cutter.stick_out, dialect.unit)
            yield f"T{cutter.number}: {cutter.name}, stick-out {reach}"
    yield CAUTION


def _change(operation: Operation, dialect: Dialect, loaded: int | None, pen: _Pen) -> Iterator[str]:
    """Yield a cutter change, a stop for the hand, and the spindle's start."""
    cutter = operation.cutter
    if loaded is not None:
        yield "M5"
    asked = []
    if operation.stop_before:
        asked.append(operation.stop_message)
    fresh = cutter.number != loaded
    if fresh and not dialect.cutter_change:
        asked.append(f"Put in T{cutter.number}, {cutter.name}, and set its zero")
    if asked:
        for text in asked:
            yield from messages(text, dialect)
        if fresh and not dialect.cutter_change:
            # Moves nothing, and says to whoever reads the program what the hand puts in.
            yield f"T{cutter.number}"
        yield "M0"
    if fresh and dialect.cutter_change:
        yield f"T{cutter.number} M6"
    yield f"S{operation.spindle:.0f} M3"
    if dialect.spin_up:
        yield f"G4 P{dialect.spin_up:g}"
    if fresh and dialect.cutter_lengths:
        yield f"G43 H{cutter.number}"
    pen.forget()


class _Pen:
    """Remembers the words in force, and writes what changes."""

    def __init__(self, dialect: Dialect) -> None:
        self.scale = 10**dialect.decimals / dialect.unit.in_mm
        self.decimals = dialect.decimals
        self.in_mm = dialect.unit.in_mm
        self.arc_limit = tolerances.ARC_RADII / dialect.unit.in_mm * 10**dialect.decimals
        self.spindle: float | None = None
        self.forget()

    def forget(self) -> None:
        """Take nothing for granted: a person may have moved the machine."""
        self.place: list[int | None] = [None, None, None]
        self.motion: int | None = None
        self.feed: float | None = None

    def number(self, steps: int) -> str:
        """Write a length given in last decimals, without the zeros that say nothing."""
        text = f"{abs(steps):0{self.decimals + 1}d}"
        whole, part = text[: -self.decimals], text[-self.decimals :].rstrip("0")
        return f"{'-' if steps < 0 else ''}{whole}.{part or '0'}"

    def moves(self, operation: Operation) -> Iterator[str]:
        """Yield the lines of an operation's moves."""
        run = operation.moves
        _refuse_unfinished(operation)
        # Rounded once for all: the text is written in whole steps of the last decimal.
        ends = np.rint(run.end * self.scale).astype(np.int64).tolist()
        centres = np.nan_to_num(run.centre * self.scale).tolist()
        feeds = (run.feed / self.in_mm).tolist()
        for motion, end, centre, feed in zip(
            run.motion.tolist(), ends, centres, feeds, strict=True
        ):
            if motion == Motion.RAPID:
                yield from self._rapid(end, operation)
            else:
                line = self._cut(motion, end, centre, feed, operation)
                if line:
                    yield line

    def _rapid(self, end: list[int], operation: Operation) -> Iterator[str]:
        x, y, z = self.place
        if None in self.place:
            # Where the machine stands is unknown: up first, then across.
            yield f"G0 Z{self.number(end[2])}"
            yield f"X{self.number(end[0])} Y{self.number(end[1])}"
        else:
            words = self._words(end)
            if not words:
                return
            if z != end[2] and (x, y) != (end[0], end[1]):
                raise CannotMakeError(
                    f'a rapid of "{operation.title}" mixes height with travel',
                    mend="Report this as a fault of chape",
                )
            yield f"G0 {words}" if self.motion != Motion.RAPID else words
        self.place, self.motion = list(end), Motion.RAPID

    def _cut(
        self, motion: int, end: list[int], centre: list[float], feed: float, operation: Operation
    ) -> str:
        words = self._words(end)
        if motion in {Motion.CLOCKWISE, Motion.COUNTER_CLOCKWISE}:
            if self.place[:2] == end[:2]:
                # An arc too short to be told from its start would read as a full circle.
                motion = Motion.LINE
            else:
                words = f"{words} {self._centre(end, centre, operation)}"
        if not words:
            return ""
        parts = [] if motion == self.motion else [f"G{motion}"]
        parts.append(words)
        if feed != self.feed:
            parts.append(f"F{feed:.1f}")
            self.feed = feed
        self.place, self.motion = list(end), motion
        return " ".join(parts)

    def _words(self, end: list[int]) -> str:
        changed = zip("XYZ", self.place, end, strict=True)
        return " ".join(f"{letter}{self.number(b)}" for letter, a, b in changed if a != b)

    def _centre(self, end: list[int], centre: list[float], operation: Operation) -> str:
        x, y, _ = (value or 0 for value in self.place)
        i, j = round(centre[0] - x), round(centre[1] - y)
        radii = hypot(i, j), hypot(end[0] - x - i, end[1] - y - j)
        if abs(radii[0] - radii[1]) > self.arc_limit:
            raise CannotMakeError(
                f'an arc of "{operation.title}" starts {radii[0] / self.scale:.4f} mm and ends '
                f"{radii[1] / self.scale:.4f} mm from its centre",
                mend="Report this as a fault of chape",
            )
        return f"I{self.number(i)} J{self.number(j)}"


def _refuse_unfinished(operation: Operation) -> None:
    """No move without a number may reach a machine."""
    run: Moves = operation.moves
    rapid = run.motion == Motion.RAPID
    arc = run.motion >= Motion.CLOCKWISE
    finite = (
        np.isfinite(run.end).all()
        and np.isfinite(run.feed[~rapid]).all()
        and (run.feed[~rapid] > 0).all()
        and np.isfinite(run.centre[arc]).all()
        and np.isfinite(operation.spindle)
    )
    if not finite:
        raise CannotMakeError(
            f'"{operation.title}" holds a move without a place, a centre or a feed',
            mend="Report this as a fault of chape",
        )


def comments(text: str, dialect: Dialect) -> list[str]:
    """Return comment lines: ASCII, no brackets inside, none longer than the dialect's."""
    return [f"({part})" for part in _wrapped(text, dialect.line_longest - 12)]


def messages(text: str, dialect: Dialect) -> list[str]:
    """Return lines that the controller shows to the operator."""
    room = dialect.line_longest - len(dialect.message) - 6
    return [dialect.message.format(text=part) for part in _wrapped(text, room)]


def _wrapped(text: str, room: int) -> list[str]:
    return textwrap.wrap(_plain(text), room, break_on_hyphens=False)


def _plain(text: str) -> str:
    # A semicolon starts a comment of its own for some controllers, even inside brackets.
    signs = str.maketrans(
        {";": ",", "(": "[", ")": "]", "\u00d7": "x", "\u2013": "-", "\u2212": "-"}
    )
    letters = unicodedata.normalize("NFKD", text.translate(signs))
    return "".join(c for c in letters if 32 <= ord(c) < 127)
