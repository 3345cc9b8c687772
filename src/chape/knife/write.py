"""Writes what was measured as a knife file, with what the person must still look at said beside it.

The file is checked by the same model that reads it before a word of it is handed on.
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from pydantic import ValidationError

from chape.catalog.sentences import first_problem
from chape.knife.file import KnifeFile
from chape.knife.model import Edges

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from chape.knife.file import Guessable
    from chape.knife.measured import Measured

    Rows = Sequence[tuple[float, float]]

#: Guesses that make a whole file, full thickness, mm; common practice, no source.
USUAL_SPINE, USUAL_HANDLE = 4.0, 18.0

#: The outline's drawing, beside the knife file.
DRAWING = "outline.svg"


@dataclass(frozen=True, slots=True)
class Told:
    """What the file says beside the outline.

    Attributes:
        name: of the knife.
        source: how it was measured, such as "photo otter.jpg".
        day: it was measured on.
        edges: single or double.
        spine: rows of x and full thickness of the blade's spine; None where it was not measured.
        handle: and of the handle.
    """

    name: str
    source: str
    day: date | None
    edges: Edges = Edges.SINGLE
    spine: Rows | None = None
    handle: Rows | None = None


def knife_text(measured: Measured, told: Told) -> str:
    """Return a knife file whose outline is the drawing ``DRAWING`` beside it.

    Raises:
        InputError: what was told makes no valid file.
    """
    marks = measured.landmarks
    blade = round(marks.blade_length, 1)
    guesses = guesses_of(measured, told)
    spine = told.spine or [(0.0, USUAL_SPINE), (blade, USUAL_SPINE)]
    handle = told.handle or [(blade, USUAL_HANDLE), (round(marks.butt, 1), USUAL_HANDLE)]
    guard = "" if marks.guard is None else _guard_words(*marks.guard)
    day = "" if told.day is None else f"measured = {told.day.isoformat()}\n"
    text = f"""\
# Measured from a picture. Compare length, width and one more place with a caliper before you
# trust it: docs/measuring.md says how.

[knife]
name = {_quoted(told.name)}
unit = "mm"
edges = "{told.edges}"
source = {_quoted(told.source)}
{day}uncertainty = {_rounded_up(measured.uncertainty):g}       # of the outline; every clearance \
grows by it
{_unmeasured(guesses)}
[outline]
drawing = "{DRAWING}"    # its true size, the tip at x = 0
tip = "left"
edge = "down"

[blade]
length = {blade:g}           # tip to the front of guard or handle{_mark(guesses, "blade.length")}
# rows of x and full thickness at the spine{_mark(guesses, "blade.spine_thickness")}
spine_thickness = {_rows(spine)}
grind = "full flat"      # or "partial flat", "hollow", "convex": no picture tells it
behind_edge = 0.5        # full thickness just above the edge's bevel: usual, not measured
bevel_angle = 20         # of the bevel, per side, degrees: usual, not measured
edge_margin = 0.5        # nothing may touch the bevel, nor this much past it
{guard}
[handle]
# rows of x and full thickness{_mark(guesses, "handle.thickness")}
thickness = {_rows(handle)}
roundness = 2.4          # of the section: 2 is an ellipse, 4 a rounded box
"""
    _check(text)
    return text


def guesses_of(measured: Measured, told: Told) -> tuple[Guessable, ...]:
    """Return the keys that hold guesses in the file that would be written."""
    found: list[Guessable] = []
    if measured.landmarks.doubt:
        found.append("blade.length")
    if told.spine is None:
        found.append("blade.spine_thickness")
    if told.handle is None:
        found.append("handle.thickness")
    return tuple(found)


def _unmeasured(guesses: tuple[Guessable, ...]) -> str:
    if not guesses:
        return ""
    keys = ", ".join(f'"{key}"' for key in guesses)
    return f"# NOT MEASURED yet: measure each, write it in below, and take it out of this list.\n\
unmeasured = [{keys}]\n"


def _mark(guesses: tuple[Guessable, ...], key: Guessable) -> str:
    return ": A GUESS, measure it" if key in guesses else ""


def _guard_words(start: float, end: float) -> str:
    return f"""
# The outline stands out from x = {start:.0f} to {end:.0f}. If a guard thicker than the handle \
is there:
# [guard]
# from = {start:.1f}
# to = {end:.1f}
# thickness = 14         # full
"""


def _rounded_up(uncertainty: float) -> float:
    return ceil(100 * uncertainty - 1e-6) / 100


def _quoted(text: str) -> str:
    # What JSON leaves as it is and TOML does not allow: the one control character past the letters.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _rows(rows: Rows) -> str:
    words = [f"[{round(x, 1):g}, {round(thickness, 2):g}]" for x, thickness in rows]
    lines = [", ".join(words[n : n + 6]) for n in range(0, len(words), 6)]
    return f"[{lines[0]}]" if len(lines) == 1 else "[\n  " + ",\n  ".join(lines) + ",\n]"


def _check(text: str) -> None:
    try:
        KnifeFile.model_validate(tomllib.loads(text))
    except ValidationError as error:
        raise first_problem(error, file="knife file") from None
