"""What a program's text calls for, for the setup page: cutters, spindle, feeds and stops.

Read from the text's own words, so that the page cannot say other than the program does. The
program's meaning is judged by the checker, not here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_COMMENT = re.compile(r"\([^)]*\)|;.*$", re.MULTILINE)
_WORD = re.compile(r"(?<![A-Z0-9.])(T|S|F|M)\s*(\d+(?:\.\d*)?)")
_STOPS = (0, 1)


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


def cutter_calls(text: str) -> tuple[CutterCall, ...]:
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

    for letter, digits in _WORD.findall(_COMMENT.sub("", text.upper())):
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


def feed_unit(text: str) -> str:
    """Return what the program's F words are in: "in/min" where it calls for inches (G20)."""
    inches = re.search(r"(?<![A-Z0-9.])G20(?![0-9.])", _COMMENT.sub("", text.upper()))
    return "mm/min" if inches is None else "in/min"


def stops(text: str) -> int:
    """Return how often the program stops for a person (M0, M1)."""
    words = _WORD.findall(_COMMENT.sub("", text.upper()))
    return sum(letter == "M" and float(value) in _STOPS for letter, value in words)
