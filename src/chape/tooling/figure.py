"""Figures for marks: the lines of a DXF or SVG drawing, followed one by one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.field.grid import Floats

#: Drawings larger than this are not read, bytes.
LARGEST_FIGURE = 4_000_000

#: Coordinates past this are no drawing of a mark.
FARTHEST = 1e6


def strokes_of(content: bytes, path: Path) -> tuple[Floats, ...]:
    """Return the lines (n, 2) of a drawing, y up, in any unit: a mark gives them its own height.

    Raises:
        InputError: no drawing that can be read, or one without lines.
    """
    kind = path.suffix.lower()
    if kind == ".dxf":
        from chape.knife.from_dxf import pieces_of_dxf  # noqa: PLC0415 - slow to import

        drawn = pieces_of_dxf(content, path, 1.0, 1.0, None)
    elif kind == ".svg":
        from chape.knife.from_svg import pieces_of_svg  # noqa: PLC0415 - slow to import

        drawn = pieces_of_svg(content, path, 1.0)
    else:
        raise InputError(
            f'"{path.name}" is no .dxf or .svg file', mend="Name a DXF or SVG", file=path
        )
    strokes = tuple(piece for piece in drawn.pieces if np.ptp(piece, axis=0).max() > 0)
    if not strokes:
        raise InputError(
            "the drawing holds no lines", mend="Draw the mark with lines and curves", file=path
        )
    if not all(np.isfinite(piece).all() and np.abs(piece).max() < FARTHEST for piece in strokes):
        raise InputError(
            "the drawing reaches further than any mark does",
            mend="Move it near its origin",
            file=path,
        )
    return strokes
