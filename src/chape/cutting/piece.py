"""A clamping of which nothing is known but the piece, the machine and perhaps the wanted surface.

This is what a program written by anyone is checked against: no holes, grooves or outlines are
named, so whatever is cut must lie above the target, and where there is no target anything may be.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.model import Setup
from chape.errors import InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.raster import top_of

if TYPE_CHECKING:
    from chape.catalog.model import Cutter, Machine
    from chape.field.grid import Floats

#: Walls of a target stand back by this, so that a cutter along a wall is not said to gouge it, mm.
STAND_BACK = 0.01
#: Below the piece by this, a target says that nothing is wanted, mm.
NOTHING_WANTED = 10.0
#: A piece needs this many nodes each way.
FEWEST = 8

#: Where along each axis the zero lies, as a share of the piece from its front-left-bottom corner.
ACROSS = {"left": 0.0, "center": 0.5, "centre": 0.5, "middle": 0.5, "right": 1.0}
ALONG = {"front": 0.0, "center": 0.5, "centre": 0.5, "middle": 0.5, "back": 1.0}
UP = {"bottom": 0.0, "top": 1.0}


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece in the frame of its program.

    Attributes:
        low, high: corners of the box round it, mm.
        triangles: (n, 3, 3) of its mesh, mm; None for a full box.
    """

    low: tuple[float, float, float]
    high: tuple[float, float, float]
    triangles: Floats | None = None

    @classmethod
    def of_mesh(cls, triangles: Floats) -> Piece:
        """Return a piece whose mesh stands where its program cuts."""
        points = triangles.reshape(-1, 3)
        low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return cls((low[0], low[1], low[2]), (high[0], high[1], high[2]), triangles)

    def moved(self, x: float, y: float, z: float) -> Piece:
        """Return the piece moved, mm."""
        step = (x, y, z)
        low = tuple(a + b for a, b in zip(self.low, step, strict=True))
        high = tuple(a + b for a, b in zip(self.high, step, strict=True))
        triangles = None if self.triangles is None else self.triangles + np.array(step)
        return Piece((low[0], low[1], low[2]), (high[0], high[1], high[2]), triangles)

    def zeroed(self, zero: tuple[float, float, float]) -> Piece:
        """Return the piece moved so that the program's zero lies at ``zero`` of its box, mm.

        Args:
            zero: from the box's front-left-bottom corner.
        """
        return self.moved(*(-(a + b) for a, b in zip(self.low, zero, strict=True)))

    @property
    def size(self) -> tuple[float, float, float]:
        """Width, depth and height, mm."""
        x, y, z = (b - a for a, b in zip(self.low, self.high, strict=True))
        return x, y, z


def piece_setup(
    name: str,
    piece: Piece,
    target: Floats | None,
    machine: Machine,
    cutters: tuple[Cutter, ...],
    offset: str,
    spacing: float,
) -> Setup:
    """Return the clamping of a piece.

    Args:
        name: of the program, for findings.
        piece: the stock, in the program's frame.
        target: (n, 3, 3) triangles of the wanted surface in the program's frame; None if unknown.
        machine: the router.
        cutters: the rack.
        offset: work offset the program should call.
        spacing: of the grid, mm.

    Raises:
        InputError: the piece is too small for the spacing, or the target does not lie in it.
        CannotMakeError: the grid would be too large.
    """
    grid = _grid_over(piece, spacing)
    stock = HeightField(grid, _stock(piece, grid))
    return Setup(
        name=name,
        title=name,
        offset=offset,
        machine=machine,
        cutters=cutters,
        stock=stock,
        target=HeightField(grid, _target(piece, target, grid)),
        z_bottom=piece.low[2],
        holes=(),
        grooves=(),
        outlines=(),
        sheet_gauge=0.0,
        keep_outs=(),
        flipped=False,
        width=piece.size[0],
        depth=piece.size[1],
        left=piece.low[0],
        front=piece.low[1],
    )


def _grid_over(piece: Piece, spacing: float) -> Grid:
    """Return the nodes that lie in a piece, none on its very edge."""
    width, depth, height = piece.size
    if min(width, depth) < FEWEST * spacing or height <= 0:
        raise InputError(
            f"a piece of {width:g} x {depth:g} x {height:g} mm is too small for a spacing of"
            f" {spacing:g} mm",
            mend="Check its size and unit, or write a finer --spacing",
        )
    columns, rows = (floor(size / spacing) for size in (width, depth))
    first = ((size - spacing * (n - 1)) / 2 for size, n in ((width, columns), (depth, rows)))
    x, y = first
    return Grid(piece.low[0] + x, piece.low[1] + y, spacing, columns, rows)


def _stock(piece: Piece, grid: Grid) -> Floats:
    if piece.triangles is None:
        return np.full(grid.shape, piece.high[2])
    return np.maximum(top_of(piece.triangles, grid), piece.low[2])


def _target(piece: Piece, target: Floats | None, grid: Grid) -> Floats:
    below = piece.low[2] - NOTHING_WANTED
    if target is None:
        return np.full(grid.shape, below)
    z = top_of(target, grid, STAND_BACK)
    if not np.isfinite(z).any():
        raise InputError(
            "no part of the target lies over the stock",
            mend="Check --zero and --target-zero, and that both are in mm",
        )
    return np.where(np.isfinite(z), z, below)


def zero_of(words: str, size: tuple[float, float, float]) -> tuple[float, float, float]:
    """Return the zero that three words name ("front-left-top"), from the front-left-bottom corner.

    Raises:
        InputError: other words.
    """
    parts = words.lower().split("-")
    for y, x, z in ((0, 1, 2), (1, 0, 2)):
        if len(parts) == 3 and parts[x] in ACROSS and parts[y] in ALONG and parts[z] in UP:
            shares = ACROSS[parts[x]], ALONG[parts[y]], UP[parts[z]]
            across, along, up = (share * length for share, length in zip(shares, size, strict=True))
            return across, along, up
    raise InputError(
        f'"{words}" names no corner',
        mend="Write three words such as front-left-top or center-center-bottom, or X,Y,Z in mm",
        field="--zero",
    )
