"""The 1:1 template of the flat pattern, on one kind of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.picture_plan import template
from chape.documents.tiles import FOOT, MARGIN, OVERLAP, PAPERS, tiling
from chape.documents.to_pdf import pdf_of
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from datetime import date

    from chape.documents.model import JobResults
    from chape.documents.page_by_hand import ByHand
    from chape.documents.sketch import Sketch
    from chape.sheath.model import Piece

#: Length of the check bar, mm.
BAR = 100.0


def template_pdf(results: JobResults | ByHand, piece: Piece, paper: str) -> bytes:
    """Return the template as PDF, tiled where the pattern is larger than the page.

    Args:
        results: of the job, or what a sheath made by hand comes to.
        piece: of its sheath.
        paper: "a4" or "letter".
    """
    sheath = results.sheath
    side = f"{sheath.choices.hand} hand, {sheath.sheet.title}"
    if len(sheath.pieces) > 1:
        side = f"{piece.name} half, {side}"
    words = {
        "name": shortened(results.name, 80),
        "said": side if results.date is None else f"{side}, {results.date.isoformat()}",
        "print-said": "Print at 100 %, no fitting to the page. Solid: cut."
        + ("" if sheath.fold is None else " Broken: fold strip."),
        "holes-said": _holes(piece, results.unit),
    }
    return tiled_pdf(template(sheath, piece), words, paper, results.unit, results.date)


def tiled_pdf(
    drawing: Sketch,
    words: dict[str, str],
    paper: str,
    unit: LengthUnit,
    day: date | None = None,
) -> bytes:
    """Return a drawing at 1:1 with a check bar, over as many pages as it takes.

    Args:
        drawing: one paper mm to the mm.
        words: "name", "said", "print-said" and "holes-said" at the foot of each page.
        paper: "a4" or "letter".
        unit: that the bar is told in besides mm.
        day: noted in the file as the day it was made.
    """
    way = tiling(drawing.width, drawing.height, PAPERS[paper])
    label = {(tile.column, tile.row): _label(tile.column, tile.row) for tile in way.tiles}
    tiles = [
        {
            "column": tile.column,
            "row": tile.row,
            "x": tile.x,
            "y": tile.y,
            "label": label[tile.column, tile.row],
            "right": label.get((tile.column + 1, tile.row), ""),
            "below": label.get((tile.column, tile.row + 1), ""),
        }
        for tile in way.tiles
    ]
    data = {
        **words,
        "width": way.width,
        "height": way.height,
        "window-width": way.window_width,
        "window-height": way.window_height,
        "margin": MARGIN,
        "overlap": OVERLAP,
        "foot-height": FOOT,
        "columns": way.columns,
        "rows": way.rows,
        "tiles": tiles,
        "drawing-width": drawing.width,
        "drawing-height": drawing.height,
        "bar": BAR,
        "bar-said": _bar_words(unit),
    }
    return pdf_of("template.typ", data, {"pattern.svg": drawing.svg()}, day)


def shortened(words: str, most: int) -> str:
    """Return ``words`` on one line, cut to ``most`` characters where longer."""
    line = " ".join(words.split())
    return line if len(line) <= most else f"{line[: most - 1].rstrip()}…"


def _label(column: int, row: int) -> str:
    """Return "A1", "A2", "B1": rows by letter, columns by number."""
    return f"{chr(ord('A') + row)}{column + 1}"


def _bar_words(unit: LengthUnit) -> str:
    exact = "100 mm" if unit is LengthUnit.MM else f"100 mm ({show_length(BAR, unit)})"
    return f"This bar must measure {exact} after printing."


def _holes(piece: Piece, unit: LengthUnit) -> str:
    sizes = {(hole.use, hole.diameter) for hole in piece.holes}
    said = [f"{use} ø {show_length(diameter, unit)}" for use, diameter in sorted(sizes)]
    said += [
        f"slot {show_length(length, unit)} × {show_length(width, unit)}"
        for length, width in sorted({(slot.length, slot.width) for slot in piece.slots})
    ]
    return "   ".join(said)
