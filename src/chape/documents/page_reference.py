"""The reference sheet as a page to print, and how to use it."""

from __future__ import annotations

import numpy as np

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.documents.to_pdf import pdf_of
from chape.knife.reference_sheet import BAR, RIM, SIDE, ReferenceSheet, marker_cells

#: Marker cells: black without a line, so that a cell is no larger than it should be.
BLACK = Pen(None, fill=palette.Colour(0, 0, 0))


def reference_pdf(sheets: tuple[ReferenceSheet, ...]) -> bytes:
    """Return sheets to print at their true size, and a page that says how to use them."""
    pictures = {f"sheet-{n}.svg": _drawing(sheet).svg() for n, sheet in enumerate(sheets)}
    page = {"paper": sheets[0].paper.value, "sheets": sorted(pictures), "bar": f"{BAR:.1f} mm"}
    return pdf_of("reference.typ", page, pictures)


def _drawing(sheet: ReferenceSheet) -> Sketch:
    width, height = sheet.size
    sketch = Sketch(width, height, 0.0, height, 1.0, "Reference sheet for measuring knives")
    cell = SIDE / 6
    for number, corners in sheet.corners.items():
        left, top = corners[0]
        for row, column in np.argwhere(marker_cells(number)):
            x, y = left + column * cell, top - row * cell
            # A hair wider than its cell, so that no printer leaves a white seam between two.
            box = np.array([(x, y), (x + cell, y), (x + cell, y - cell), (x, y - cell)])
            sketch.polyline(box, BLACK, closed=True)
    _draw_bar(sketch, sheet)
    _say(sketch, sheet)
    return sketch


def _draw_bar(sketch: Sketch, sheet: ReferenceSheet) -> None:
    (x1, y), (x2, _) = sheet.bar
    pen = Pen(palette.INK, 0.15)
    sketch.line(x1, y, x2, y, pen)
    for x in np.linspace(x1, x2, 21):
        end = abs(x - x1) < 0.01 or abs(x - x2) < 0.01
        sketch.line(x, y - (1.4 if end else 0.6), x, y + (1.4 if end else 0.6), pen)


def _say(sketch: Sketch, sheet: ReferenceSheet) -> None:
    width, height = sheet.size
    number = f"sheet {sheet.index + 1}"
    sketch.text(
        width / 2, height - RIM / 2,
        f"{number}: print at 100 %. The knife lies in the empty field.",
        size=2.6, colour=palette.SLATE,
    )  # fmt: skip
    sketch.text(
        width / 2, RIM / 2,
        f"Measure the bar above the lower markers: {BAR:.1f} mm if the printer is true; tell chape "
        "what it is.",
        size=2.6, colour=palette.SLATE,
    )  # fmt: skip
