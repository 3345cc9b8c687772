"""A program's text, for tests that prove it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.catalog.read import catalog
from chape.cutting.write import write_program

if TYPE_CHECKING:
    from chape.cutting.model import Program


def text_of(program: Program, words: str = "generic") -> str:
    """Return the whole program in one text."""
    (text,) = write_program(program, catalog().dialect(words))
    return text
