"""A value of a file that can be set on the page."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class Kind(StrEnum):
    """How a value is set."""

    LENGTH = "length"
    NUMBER = "number"
    COUNT = "count"
    CHOICE = "choice"
    TEXT = "text"
    FLAG = "flag"
    FILE = "file"
    DAY = "day"
    WORDS = "words"
    NUMBERS = "numbers"
    ROWS = "rows"


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the values to choose from."""

    value: str
    label: str


@dataclass(frozen=True, slots=True)
class Field:
    """A value that can be set.

    Attributes:
        path: dotted; rows of a table are written "*": "sheath.clips.*.along".
        label: in words.
        unit: of figures; None for words.
        kind: how it is set.
        least, most: bounds; None where there is none worth telling.
        step: what one press of an arrow key changes it by.
        choices: to choose from; empty for other kinds.
        help: one sentence, from the page of the files.
        group: of the table it stands in, in words.
        default: that counts where it is left out; None where there is none.
        required: it cannot be left out.
        optional_table: its table may be left out as a whole, and then means something else than
            its defaults.
    """

    path: str
    label: str
    unit: str | None
    kind: Kind
    least: float | None
    most: float | None
    step: float | None
    choices: tuple[Choice, ...]
    help: str
    group: str
    default: Any
    required: bool
    optional_table: bool
