"""Dialects: what one family of controllers reads, as data.

A dialect is a table of a TOML file like every other catalogue entry, so that a workshop can write
its own; every one found in data passes the same tests.
"""

from __future__ import annotations

import re
from enum import StrEnum
from typing import Annotated, Literal, Self

from pydantic import Field, field_validator, model_validator

from chape.catalog.model import NotNegative, Record
from chape.units import LengthUnit

#: A word that calls a work offset, with the page of an extended one apart: "G54", "G54.1 P3".
_OFFSET = re.compile(r"G5[4-9](\.[1-9])?( P[1-9]\d?\d?)?")
#: Extended offsets are G54.1 P1 and on; controllers that have them have 48 to 300.
_EXTENDED = re.compile(r"G54\.1 ?P([1-9]\d{0,2})")


class CutterChange(StrEnum):
    """How the next cutter gets into the spindle."""

    WORD = "M6"
    STOP = "stop"
    FILE = "file"


class DwellUnit(StrEnum):
    """What the P of a wait (G4) counts."""

    SECONDS = "s"
    MILLISECONDS = "ms"

    @property
    def seconds(self) -> float:
        """How many seconds one unit is."""
        return 1.0 if self is DwellUnit.SECONDS else 0.001


class Dialect(Record):
    """How programs are written for a controller.

    Attributes:
        unit: of every length in the text.
        decimals: places after the point.
        offsets: work offset words it knows.
        extended_offsets: how many more it has, called G54.1 P1, G54.1 P2 and so on; 0 for none.
        cutter_change: M6 names the change; the program stops for the hand; or each cutter has a
            file of its own.
        cutter_lengths: whether G43 H takes lengths from the controller's table.
        cycles: whether drilled holes are written as canned cycles (G81, G83).
        chip_breaking_cycle: whether G73 is among them.
        comment: how a comment is written, with ``{text}`` in it.
        message: how a line for the operator is written, with ``{text}`` in it.
        end: the last word, M2 or M30.
        percent: whether the text stands between two % lines.
        line_numbers: whether lines start with N.
        line_longest: characters in a line, at most.
        spin_up: wait after the spindle starts, seconds.
        dwell_unit: what P of G4 counts.
        restart_points: whether a list of the lines to start again at stands at the top.
    """

    name: str
    title: str
    unit: LengthUnit
    decimals: Annotated[int, Field(ge=3, le=5)]
    offsets: Annotated[tuple[str, ...], Field(min_length=1)]
    extended_offsets: Annotated[int, Field(ge=0, le=300)] = 0
    cutter_change: CutterChange
    cutter_lengths: bool
    cycles: bool = False
    chip_breaking_cycle: bool = False
    comment: Literal["({text})", "; {text}"] = "({text})"
    message: str
    end: Literal["M2", "M30"]
    percent: bool
    line_numbers: bool
    line_longest: Annotated[int, Field(ge=60, le=256)]
    spin_up: NotNegative
    dwell_unit: DwellUnit = DwellUnit.SECONDS
    restart_points: bool = True

    @field_validator("offsets")
    @classmethod
    def _check_offsets(cls, offsets: tuple[str, ...]) -> tuple[str, ...]:
        for word in offsets:
            if not _OFFSET.fullmatch(word) or ("P" in word and not word.startswith("G54.1")):
                raise ValueError(f'"{word}" calls no work offset; write such as G54 or G59.1')
        if len(set(offsets)) < len(offsets):
            raise ValueError("an offset stands there twice")
        return offsets

    @field_validator("message")
    @classmethod
    def _check_message(cls, message: str) -> str:
        if not re.fullmatch(r"\([^();{}]*\{text\}[^();{}]*\)|; ?[^();{}]*\{text\}", message):
            raise ValueError("write a comment with {text} in it, such as (MSG, {text})")
        if not message.isascii() or len(message) > 30:
            raise ValueError("write a message of at most 30 plain letters")
        return message

    @model_validator(mode="after")
    def _check_together(self) -> Self:
        if (self.message[0] == "(") != (self.comment[0] == "("):
            raise ValueError("comment and message must both be in brackets, or neither")
        if self.chip_breaking_cycle and not self.cycles:
            raise ValueError("chip_breaking_cycle asks for cycles = true")
        if self.unit is LengthUnit.INCH and self.decimals < 4:
            raise ValueError("inches need 4 decimals, or arcs and depths come out too coarse")
        return self

    def knows_offset(self, word: str) -> bool:
        """Say whether the controller has a work offset."""
        extended = _EXTENDED.fullmatch(word)
        if extended and int(extended[1]) <= self.extended_offsets:
            return True
        return word in self.offsets

    @property
    def offsets_in_words(self) -> str:
        """What a person may choose from."""
        words = ", ".join(self.offsets)
        if self.extended_offsets:
            words += f", G54.1 P1 to G54.1 P{self.extended_offsets}"
        return words
