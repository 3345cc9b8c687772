"""Whether the cutters that a program's comments name are those of the rack."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from chape.catalog.model import CutterKind
from chape.findings import Finding, Severity
from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from chape.catalog.model import Cutter
    from chape.cutting.model import Setup

#: Diameters that differ by less are the same, mm: comments round.
SAME_DIAMETER = 0.06

_COMMENT = re.compile(r"\(([^()]*)\)|;(.*)")
_CUTTER = re.compile(r"\s*(?:TOOL|CUTTER)?\s*T\s?0*(\d{1,3})\b[\s:=-]*(.*)", re.IGNORECASE)
_SIZE = re.compile(
    r"\bD\s?=?\s?(?P<d>\d*\.?\d+)|(?P<mm>\d*\.?\d+)\s?mm\b"
    r"|(?P<over>\d+)/(?P<under>\d+)\s?(?:in\b|inch|\")|(?P<inch>\d*\.\d+)\s?(?:in\b|inch|\")",
    re.IGNORECASE,
)
_INCH = re.compile(r"(?<![A-Z])G20(?![\d.])", re.IGNORECASE)
#: Words of a comment that say what kind a cutter is.
_KINDS = {"ball": ("ball",), "drill": ("drill",), "vee": ("vee", "v-bit"), "flat": ("flat",)}


def check_table(texts: Sequence[str], setup: Setup) -> tuple[Finding, ...]:
    """Return cutters that comments describe otherwise than the rack does.

    A comment is taken to describe a cutter when it begins with T and a number, and says a diameter
    or a kind. Only numbers that the rack has are compared; others are found where they are called.
    """
    rack, inch = {cutter.number: cutter for cutter in setup.cutters}, _in_inch(texts)
    found: dict[int, Finding] = {}
    for line, number, words in _described(texts):
        if number in rack and number not in found:
            differs = _difference(words, rack[number], inch=inch)
            if differs:
                found[number] = Finding(
                    "cutter-table-differs",
                    Severity.ERROR,
                    f"{setup.name}, line {line}",
                    f"The program names T{number} {differs}; the rack's T{number} is"
                    f' "{rack[number].name}"',
                    "Put the program's cutters into the rack, or choose the rack it was made for.",
                    float(number),
                    unit="",
                )
    return tuple(found.values())


def _described(texts: Sequence[str]) -> Iterator[tuple[int, int, str]]:
    """Yield line, number and words of each comment that describes a cutter."""
    line = 0
    for text in texts:
        for row in text.splitlines():
            line += 1
            for match in _COMMENT.finditer(row):
                cutter = _CUTTER.fullmatch(match[1] or match[2] or "")
                if cutter and cutter[2]:
                    yield line, int(cutter[1]), cutter[2]


def _in_inch(texts: Sequence[str]) -> bool:
    return any(_INCH.search(_COMMENT.sub("", text)) for text in texts)


def _difference(words: str, cutter: Cutter, *, inch: bool) -> str:
    """Say in what a description differs from a cutter of the rack; nothing where it does not."""
    size = _SIZE.search(words)
    if size:
        diameter = _diameter(size, inch=inch)
        if abs(diameter - cutter.diameter) > SAME_DIAMETER:
            return f"{diameter:g} mm wide"
    lowered = words.lower()
    named = [kind for kind, signs in _KINDS.items() if any(sign in lowered for sign in signs)]
    own = {
        CutterKind.BALL: "ball", CutterKind.DRILL: "drill", CutterKind.VEE: "vee",
        CutterKind.FLAT: "flat",
    }.get(cutter.kind)  # fmt: skip
    if len(named) == 1 and own is not None and named[0] != own:
        return f'a "{named[0]}"'
    return ""


def _diameter(size: re.Match[str], *, inch: bool) -> float:
    if size["mm"]:
        return float(size["mm"])
    if size["d"]:
        return float(size["d"]) * (MM_PER_INCH if inch else 1.0)
    if size["over"]:
        return float(size["over"]) / max(1.0, float(size["under"])) * MM_PER_INCH
    return float(size["inch"]) * MM_PER_INCH
