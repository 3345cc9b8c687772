"""Spreads a drawing at 1:1 over pages.

Neighbouring tiles share an overlap, so that sheets can be laid over one another on their marks.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from chape.tolerances import SAME_LENGTH


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper, upright: its name and size, mm."""

    title: str
    width: float
    height: float


#: A4 by ISO 216, Letter by ANSI/ASME Y14.1 (8.5 x 11 in).
PAPERS = {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("Letter", 215.9, 279.4)}

#: Office printers leave this much white all round.
MARGIN = 9.0

#: Taken by the title and the check bar at the foot of each page.
FOOT = 26.0

#: Two neighbouring sheets show the same strip.
OVERLAP = 12.0


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's window onto the drawing: column, row, and its corner in the drawing, mm."""

    column: int
    row: int
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a drawing is spread.

    Attributes:
        landscape: pages lie on their long side.
        width, height: of a page, mm.
        window_width, window_height: of each tile, mm.
        columns, rows: number of tiles.
        tiles: row by row from the top left; y runs down the page.
    """

    landscape: bool
    width: float
    height: float
    window_width: float
    window_height: float
    columns: int
    rows: int
    tiles: tuple[Tile, ...]


def tiling(width: float, height: float, paper: Paper) -> Tiling:
    """Return the way of spreading a drawing of this size (mm) that takes the fewest pages.

    The tiles are centred on the drawing and cover all of it.
    """
    ways = [_spread(width, height, paper, landscape=landscape) for landscape in (False, True)]
    return min(ways, key=lambda way: (len(way.tiles), way.landscape))


def _spread(width: float, height: float, paper: Paper, *, landscape: bool) -> Tiling:
    page = (paper.height, paper.width) if landscape else (paper.width, paper.height)
    window = (page[0] - 2 * MARGIN, page[1] - 2 * MARGIN - FOOT)
    columns, rows = (
        max(1, ceil((size - OVERLAP - SAME_LENGTH) / (free - OVERLAP)))
        for size, free in zip((width, height), window, strict=True)
    )
    covered = [
        count * free - (count - 1) * OVERLAP
        for count, free in zip((columns, rows), window, strict=True)
    ]
    left, top = (width - covered[0]) / 2, (height - covered[1]) / 2
    tiles = tuple(
        Tile(
            column,
            row,
            left + column * (window[0] - OVERLAP),
            top + row * (window[1] - OVERLAP),
        )
        for row in range(rows)
        for column in range(columns)
    )
    return Tiling(landscape, *page, *window, columns, rows, tiles)
