"""What a program's text calls for, for the setup page: cutters, spindle, feeds and stops.

Read from the text's own words, so that the page cannot say other than the program does. The
program's meaning is judged by the checker, not here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

_COMMENT = re.compile(r"\([^)]*\)|;.*$", re.MULTILINE)
_WORD = re.compile(r"(?<![A-Z0-9.])(T|S|F|M)\s*(\d+(?:\.\d*)?)")
_STOPS = (0, 1)
#: The line that calls every mode again, at the start of each operation, and its title before it.
_MODES = re.compile(r"(?:N\d+ )?G17 G2[01] ")
_TITLE = re.compile(r"[(; ]*\d+\. ([^)]*)\)?")


@dataclass(frozen=True, slots=True)
class CutterCall:
    """One stretch of a program with one cutter.

    Attributes:
        number: the T word.
        spindle: the highest S word, rev/min; None where the text has none.
        feed_least, feed_most: of its F words, in ``feed_unit``; None where it has none.
    """

    number: int
    spindle: float | None
    feed_least: float | None
    feed_most: float | None


@dataclass(frozen=True, slots=True)
class Restart:
    """A line at which a person can start again.

    Attributes:
        part: which text of the program, from 1.
        line: from 1.
        title: of the operation that begins there.
    """

    part: int
    line: int
    title: str


def restarts(texts: Sequence[str]) -> tuple[Restart, ...]:
    """Return the lines that call every mode again, each with the title above it."""
    found: list[Restart] = []
    for part, text in enumerate(texts, start=1):
        title = ""
        for number, line in enumerate(text.splitlines(), start=1):
            named = _TITLE.fullmatch(line)
            if named:
                title = named[1]
            elif _MODES.match(line):
                found.append(Restart(part, number, title))
    return tuple(found)


def cutter_calls(texts: Sequence[str]) -> tuple[CutterCall, ...]:
    """Return the cutters a program calls, in order; a cutter called twice stands there twice."""
    calls: list[CutterCall] = []
    number: int | None = None
    spindles: list[float] = []
    feeds: list[float] = []

    def close() -> None:
        if number is None or not (spindles or feeds):
            return
        call = CutterCall(
            number,
            max(spindles, default=None),
            min(feeds, default=None),
            max(feeds, default=None),
        )
        calls.append(call)

    for letter, digits in _WORD.findall(_COMMENT.sub("", "\n".join(texts).upper())):
        value = float(digits)
        if letter == "T" and int(value) != number:
            close()
            number, spindles, feeds = int(value), [], []
        elif letter == "S" and value > 0:
            spindles.append(value)
        elif letter == "F" and value > 0:
            feeds.append(value)
    close()
    return tuple(calls)


def feed_unit(texts: Sequence[str]) -> str:
    """Return what the program's F words are in: "in/min" where it calls for inches (G20)."""
    inches = re.search(r"(?<![A-Z0-9.])G20(?![0-9.])", _COMMENT.sub("", "\n".join(texts).upper()))
    return "mm/min" if inches is None else "in/min"


def stops(texts: Sequence[str]) -> int:
    """Return how often the program stops for a person (M0, M1)."""
    words = _WORD.findall(_COMMENT.sub("", "\n".join(texts).upper()))
    return sum(letter == "M" and float(value) in _STOPS for letter, value in words)
