"""What each value of a knife or sheath file is called and means, as the page of files tells it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

#: "**Room over the blade**: room over the blade, each side".
CALLED = re.compile(r"\*\*(.+?)\*\*: (.+)")

#: Keys in a sentence: "sheath.mouth.wrap" or "mouth.wrap", and "[blank] gap".
DOTTED = re.compile(r"\b[a-z_]+(?:\.[a-z_]+)+\b")
IN_TABLE = re.compile(r"\[([a-z_.]+)\] ([a-z_]+)")


@dataclass(frozen=True, slots=True)
class NamedValue:
    """A row of the page of files.

    Attributes:
        label: what the value is called, in words.
        meaning: a sentence.
        unit: as the page tells it: "length", "degrees", "word".
    """

    label: str
    meaning: str
    unit: str

    @property
    def is_length(self) -> bool:
        """Whether its figures are lengths."""
        return self.unit == "length"


@cache
def named_values(file: str) -> Mapping[str, NamedValue]:
    """Return every value of one file by its dotted key, without the numbers of rows.

    Args:
        file: "knife" or "sheath".
    """
    part = _page().split(f"\n## The {file} file\n")[1].split("\n## ")[0]
    found = {}
    table = ""
    for line in part.splitlines():
        if heading := re.fullmatch(r"### `\[+([a-z_.]+)\]+`", line):
            table = heading[1] + "."
        elif row := re.fullmatch(r"\| `([a-z_]+)` \| (.+) \| (.+) \| (.+) \|", line):
            found[f"{table}{row[1]}"] = _named(row[1], row[2], row[4])
    return found


def key_of(path: str) -> str:
    """Return the key of a value anywhere in a file: ``sheath.clips.2.along`` is one of its rows."""
    return ".".join(part for part in path.split(".") if part != "*" and not part.isdecimal())


def label_of(path: str) -> str:
    """Return what a value of a sheath file is called."""
    return named_values("sheath")[key_of(path)].label


def by_label(sentence: str) -> str:
    """Return a sentence in which values of the files go by their labels, as on the page's forms."""
    sentence = IN_TABLE.sub(lambda found: _labelled(f"{found[1]}.{found[2]}", found[0]), sentence)
    return DOTTED.sub(lambda found: _labelled(found[0], found[0]), sentence)


def _labelled(key: str, otherwise: str) -> str:
    for file, path in (("sheath", key), ("sheath", f"sheath.{key}"), ("knife", key)):
        named = named_values(file).get(path)
        if named is not None:
            return f"“{named.label}”"
    return otherwise


def _named(key: str, words: str, unit: str) -> NamedValue:
    called = CALLED.fullmatch(words)
    label, meaning = called.groups() if called else (key.replace("_", " "), words)
    plain = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", meaning).replace("`", "")
    return NamedValue(label, f"{plain[:1].upper()}{plain[1:]}.", unit)


def _page() -> str:
    """Return the page of the files: from the package, or from the source it was installed from."""
    packed = resources.files("chape.bench") / "files.md"
    if packed.is_file():
        return packed.read_text("utf-8")
    return (Path(__file__).parents[3] / "docs" / "files.md").read_text("utf-8")
