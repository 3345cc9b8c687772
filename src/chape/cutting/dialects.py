"""Dialects: what one family of controllers reads, as data."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Annotated

from pydantic import Field

from chape.catalog.model import NotNegative, Record
from chape.errors import InputError
from chape.units import LengthUnit


class Dialect(Record):
    """How programs are written for a controller.

    Attributes:
        unit: of every length in the text.
        decimals: places after the point.
        offsets: work offset words it knows.
        cutter_change: whether M6 is understood; otherwise the program stops for the hand.
        cutter_lengths: whether G43 H takes lengths from the controller's table.
        message: how a line for the operator is written, with ``{text}`` in it.
        end: the last word, M2 or M30.
        percent: whether the text stands between two % lines.
        line_numbers: whether lines start with N.
        line_longest: characters in a line, at most.
        spin_up: wait after the spindle starts, seconds.
    """

    name: str
    title: str
    unit: LengthUnit
    decimals: Annotated[int, Field(ge=3, le=5)]
    offsets: Annotated[tuple[str, ...], Field(min_length=1)]
    cutter_change: bool
    cutter_lengths: bool
    message: Annotated[str, Field(pattern=r"^\([^()]*\{text\}[^()]*\)$")]
    end: Annotated[str, Field(pattern="^M(2|30)$")]
    percent: bool
    line_numbers: bool
    line_longest: Annotated[int, Field(ge=60, le=256)]
    spin_up: NotNegative


@cache
def dialects() -> dict[str, Dialect]:
    """Return every dialect by name."""
    file = resources.files("chape.cutting") / "data" / "dialects.toml"
    tables = tomllib.loads(file.read_text("utf-8"))
    return {name: Dialect.model_validate({**table, "name": name}) for name, table in tables.items()}


def dialect(name: str) -> Dialect:
    """Return one dialect.

    Raises:
        InputError: there is no such dialect.
    """
    known = dialects()
    if name not in known:
        raise InputError(
            f'there is no dialect "{name}"',
            mend=f"Choose one of: {', '.join(sorted(known))}",
            field="dialect",
        )
    return known[name]
