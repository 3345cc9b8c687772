"""Read a program's text, strictly, into moves.

The reader shares nothing with the writer of programs. Its rules are those of NISTIR 6556; what
one line does, and in which order, is its Table 8. What a machine does with a word that is not
read here is not known, so such a word is an error, never a guess.
"""

from __future__ import annotations

import re
from math import nan
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.controller_facts import UNKNOWN, ControllerFacts
from chape.cutting.parsed import ParsedProgram
from chape.cutting.read_machine import Controller
from chape.cutting.read_values import NUMBER
from chape.cutting.read_words import read_block
from chape.errors import ProgramError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

#: Most lines of a long program: a straight move in the mode that is in force.
_PLAIN = re.compile(
    rf"(?:N\d{{1,5}} ?)?(?:G0?([01]) ?)?(?:X({NUMBER}) ?)?(?:Y({NUMBER}) ?)?"
    rf"(?:Z({NUMBER}) ?)?(?:F((?:\d+\.?\d*|\.\d+)))?",
)


def read_program(
    text: str,
    facts: ControllerFacts = UNKNOWN,
    *,
    start: tuple[float, float, float] = (nan, nan, nan),
) -> ParsedProgram:
    """Return the moves of a program.

    Args:
        text: the whole program.
        facts: how the controller takes what the language leaves open.
        start: where the cutter stands before it, mm; NaN where that is not known.

    Raises:
        ProgramError: the line, and the rule it breaks.
    """
    controller = Controller(start, facts)
    lines = text.splitlines()
    first, last = _percent_lines(lines)
    _run(controller, lines, first, last, facts)
    if not controller.ended and not (first > 0 and last < len(lines)):
        raise ProgramError(len(lines), "the program has no end: M2 or M30 is missing")
    return _gathered(controller, start)


def read_texts(texts: Sequence[str], facts: ControllerFacts = UNKNOWN) -> ParsedProgram:
    """Return the moves of a program of one or more texts, run one after the other.

    Raises:
        ProgramError: the text, the line in it, and the rule it breaks.
    """
    parts: list[ParsedProgram] = []
    before = [0]
    for text in texts:
        try:
            parts.append(read_program(text, facts))
        except ProgramError as error:
            raise ProgramError(error.line, error.problem, text=len(before)) from None
        before.append(before[-1] + len(text.splitlines()))
    return parts[0] if len(parts) == 1 else ParsedProgram.joined(parts, before[:-1])


def _percent_lines(lines: list[str]) -> tuple[int, int]:
    """Return the range of lines between the percent signs (NISTIR 6556, 3.1)."""
    marks = [number for number, line in enumerate(lines) if line.strip() == "%"]
    filled = [number for number, line in enumerate(lines) if line.strip()]
    if not filled:
        raise ProgramError(1, "the program is empty")
    if not marks:
        return 0, len(lines)
    if marks[0] != filled[0]:
        raise ProgramError(marks[0] + 1, "a percent sign must stand on the first line with words")
    if len(marks) == 1:
        raise ProgramError(len(lines), "the percent sign that closes the program is missing")
    trailing = [number for number in filled if number > marks[1]]
    if trailing:
        raise ProgramError(trailing[0] + 1, "words after the closing percent sign never run")
    return marks[0] + 1, marks[1]


def _run(
    controller: Controller, lines: list[str], first: int, last: int, facts: ControllerFacts
) -> None:
    """Carry out the lines between the percent signs."""
    plain = _PLAIN.fullmatch
    for number, line in enumerate(_between(lines, first, last), first + 1):
        match = plain(line)
        if match is not None and controller.moves_straight:
            motion, x, y, z, feed = match.groups()
            if (x or y or z) and not controller.ended and len(line) <= 256:
                controller.straight(
                    number,
                    None if motion is None else int(motion),
                    None if x is None else float(x),
                    None if y is None else float(y),
                    None if z is None else float(z),
                    None if feed is None else float(feed),
                )
                continue
        if line.strip():
            controller.execute(read_block(line, number, facts, controller.parameters))


def _between(lines: list[str], first: int, last: int) -> Iterable[str]:
    """Return the lines from first to last, the whole list uncopied where it is all of them."""
    return lines if (first, last) == (0, len(lines)) else lines[first:last]


def _gathered(controller: Controller, start: tuple[float, float, float]) -> ParsedProgram:
    """Turn the recorded moves into arrays."""
    moves = np.array(controller.moves, dtype=np.float64).reshape(-1, 10)
    end = moves[:, 1:4]
    begin = np.vstack([np.array([start]), end[:-1]]) if len(moves) else np.empty((0, 3))
    return ParsedProgram(
        motion=moves[:, 0].astype(np.int8),
        start=begin,
        end=end.copy(),
        centre=moves[:, 4:6].copy(),
        sweep=moves[:, 6].copy(),
        feed=moves[:, 7].copy(),
        line=moves[:, 8].astype(np.int32),
        state=moves[:, 9].astype(np.int32),
        states=tuple(controller.states),
        events=tuple(controller.events),
        messages=tuple(controller.messages),
    )
