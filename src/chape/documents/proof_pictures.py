"""Pictures of one proved program: stock before and after, width of cut, what is left or gouged."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.preview import read_preview
from chape.documents.picture_engagement import engagement_picture
from chape.documents.picture_leftover import leftover_picture
from chape.documents.picture_relief import MOULD, Block, relief
from chape.documents.to_pdf import png_of_svg
from chape.documents.to_png import png_of
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.units import LengthUnit

if TYPE_CHECKING:
    from chape.cutting.check import Verdict
    from chape.cutting.model import Setup

PIXELS_PER_MM = 8.0
#: Nodes of the longer side of a relief, at most.
NODES = 1200


def proof_files(
    setup: Setup, verdict: Verdict, unit: LengthUnit = LengthUnit.MM
) -> dict[str, bytes]:
    """Return file name -> PNG."""
    leftover = leftover_picture(setup, verdict.leftover, unit)
    files = {}
    if verdict.preview:
        engagement = engagement_picture(setup, read_preview(verdict.preview))
        files["engagement.png"] = png_of_svg(engagement.svg(), PIXELS_PER_MM)
    return {
        **files,
        "before.png": png_of(relief(_block(setup, setup.stock), MOULD)),
        "after.png": png_of(relief(_block(setup, verdict.stock_after), MOULD)),
        "leftover.png": png_of_svg(leftover.svg(), PIXELS_PER_MM),
    }


def _block(setup: Setup, stock: HeightField) -> Block:
    """Return stock as a block with its corner at the origin, coarse enough to draw."""
    stride = -(-max(stock.grid.shape) // NODES)
    grid = stock.grid
    z = stock.z[::stride, ::stride]
    moved = Grid(
        grid.x0 - setup.left, grid.y0 - setup.front, grid.spacing * stride, z.shape[1], z.shape[0]
    )
    # What is cut away below the piece would draw a pit without a floor.
    heights = np.maximum(z, setup.z_bottom)
    return Block(HeightField(moved, heights), setup.width, setup.depth, setup.z_bottom)
