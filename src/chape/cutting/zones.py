"""Where the ball goes: masks over the map of its tip.

Steep and shallow part at 45 degrees; at that slope contours and rings lie closest to their limit,
so their spacing there sets the ridge everywhere.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.cutting.runs import without_specks

if TYPE_CHECKING:
    from chape.cutting.ball import Ball
    from chape.cutting.left import Standing
    from chape.field.grid import Grid
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

#: Where steep ends and shallow begins, radians.
SPLIT = pi / 4

#: Steep and shallow reach this far into each other, mm.
OVERLAP = 0.4

#: The ball is sent where more stands than so many times the ridge that may stay.
DONE = 1.5

#: Steep ground of fewer nodes is cut with the shallow around it, and the other way round.
SPECK = 12


def worth(standing: Standing, reach: HeightField, cutter: Ball) -> Mask:
    """Return the nodes where the ball would take something off with the place it touches with.

    Beside a wall the ball takes something off from the level as well, with its side; but there
    the place it touches with, straight below it, is done.
    """
    open_ = on_map(standing.left() > DONE * cutter.scallop, standing.surface.grid, reach.grid)
    return touching(open_, reach, cutter)


def touching(mask: Mask, reach: HeightField, cutter: Ball) -> Mask:
    """Return where the ball's middle is while the place it touches with lies in a mask."""
    by_y, by_x = np.gradient(reach.z, reach.grid.spacing)
    share = cutter.radius / np.hypot(1, np.hypot(by_x, by_y)) / reach.grid.spacing
    rows, columns = np.indices(reach.grid.shape)
    j = np.clip(np.rint(rows + share * by_y).astype(np.int64), 0, reach.grid.ny - 1)
    i = np.clip(np.rint(columns + share * by_x).astype(np.int64), 0, reach.grid.nx - 1)
    middles: Mask = mask[j, i]
    return middles


def zones(reach: HeightField, worth: Mask) -> tuple[Mask, Mask]:
    """Return where to contour and where to go in lines, each with its overlap."""
    slope = np.hypot(*np.gradient(reach.z, reach.grid.spacing))
    # Specks of either kind are not worth a cutter's way.
    steep = without_specks(ndimage.binary_closing(slope > np.tan(SPLIT), border_value=0), SPECK)
    shallow = without_specks(~steep, SPECK)
    widen = max(1, round(OVERLAP / reach.grid.spacing))
    return widened(~shallow & worth, widen), shallow & worth


def on_map(mask: Mask, grid: Grid, coarse: Grid) -> Mask:
    """Return the nodes of a coarse grid nearest to any node of a mask."""
    found = np.zeros(coarse.shape, dtype=np.bool_)
    rows, columns = np.nonzero(mask)
    found[nearest(rows, columns, grid, coarse)] = True
    return found


def nearest(rows: Indices, columns: Indices, grid: Grid, coarse: Grid) -> tuple[Indices, Indices]:
    """Return the rows and columns of a coarse grid nearest to those of another."""
    j = np.rint((grid.y[rows] - coarse.y0) / coarse.spacing).astype(np.int64)
    i = np.rint((grid.x[columns] - coarse.x0) / coarse.spacing).astype(np.int64)
    return np.clip(j, 0, coarse.ny - 1), np.clip(i, 0, coarse.nx - 1)


def widened(mask: Mask, by: int) -> Mask:
    """Return a mask grown by a disc of ``by`` nodes."""
    wide: Mask = ndimage.distance_transform_edt(~mask) <= by if mask.any() else mask
    return wide
