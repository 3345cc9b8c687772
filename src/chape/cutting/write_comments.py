"""What a program says to the person at the machine: plain letters, wrapped to the line."""

from __future__ import annotations

import textwrap
import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chape.catalog.dialect import Dialect


def comments(text: str, dialect: Dialect) -> list[str]:
    """Return comment lines: ASCII, no brackets inside, none longer than the dialect's."""
    return [dialect.comment.format(text=part) for part in _wrapped(text, _room(dialect))]


def short_comment(text: str, dialect: Dialect) -> str:
    """Return one comment line, cut short where the text is too long for it."""
    return dialect.comment.format(text=_plain(text)[: _room(dialect)].rstrip())


def _room(dialect: Dialect) -> int:
    return dialect.line_longest - 12


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
