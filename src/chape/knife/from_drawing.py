"""The outline of a knife from a drawing, turned into the knife frame."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import InputError
from chape.knife.loops import largest_loop

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.knife.file import OutlineTable
    from chape.units import LengthUnit

#: Drawings larger than this are not read, bytes.
LARGEST_DRAWING = 20_000_000

#: Coordinates past this, mm, are no drawing of a knife.
FARTHEST = 1e6


def outline_of_drawing(table: OutlineTable, unit: LengthUnit, folder: Path | None) -> Polygon:
    """Return the outline that a drawing holds, in the knife frame.

    The tip comes to x = 0 and the lowest point of the outline to y = 0.

    Args:
        table: the ``[outline]`` table.
        unit: taken for drawings that state none.
        folder: the drawing's name is taken from here.

    Raises:
        InputError: the drawing cannot be read, or holds no closed outline.
    """
    name = table.drawing or ""
    path = (folder or Path()) / name
    kind = path.suffix.lower()
    if kind not in {".dxf", ".svg"}:
        raise InputError(
            f'"{name}" is no .dxf or .svg file', mend="Name a DXF or SVG", field="outline.drawing"
        )
    content = _content(path)
    millimetres = None if table.unit is None else _in_mm(table.unit)
    if kind == ".dxf":
        from chape.knife.from_dxf import pieces_of_dxf  # noqa: PLC0415 - slow to import

        drawn = pieces_of_dxf(content, path, millimetres, unit.in_mm, table.layer)
    else:
        from chape.knife.from_svg import pieces_of_svg  # noqa: PLC0415 - slow to import

        drawn = pieces_of_svg(content, path, millimetres)
    pieces = [piece * table.scale for piece in drawn.pieces]
    _check_range(pieces, path)

    def place(point: Floats) -> str:
        x, y = point / table.scale
        return f"({x:.3f}, {y if drawn.y_up else -y:.3f})"

    try:
        outline = largest_loop(pieces, place)
    except InputError as error:
        raise error.in_file(path) from None
    return _in_knife_frame(outline, table)


def _in_mm(unit: LengthUnit | str) -> float:
    return {"mm": 1.0, "cm": 10.0, "inch": 25.4}[str(unit)]


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_DRAWING + 1)
    except FileNotFoundError:
        raise InputError(
            "there is no such drawing", mend="Put it beside the knife file", file=path
        ) from None
    except IsADirectoryError:
        raise InputError("this is a folder", mend="Name the drawing inside it", file=path) from None
    except OSError as error:
        raise InputError(
            f"the drawing cannot be read ({error.strerror})",
            mend="Check that you may read it",
            file=path,
        ) from None
    except ValueError:
        raise InputError(
            f"{str(path)!r} is no name of a file", mend="Correct it", field="outline.drawing"
        ) from None
    if not content.strip():
        raise InputError("the drawing is empty", mend="Save it again", file=path)
    if len(content) > LARGEST_DRAWING:
        raise InputError(
            f"the drawing is larger than {LARGEST_DRAWING // 1_000_000} MB",
            mend="Save the outline alone",
            file=path,
        )
    return content


def _check_range(pieces: list[Floats], path: Path) -> None:
    for piece in pieces:
        if not (np.isfinite(piece).all() and np.abs(piece).max() < FARTHEST):
            raise InputError(
                "the drawing reaches more than a kilometre from its origin",
                mend="Check its unit, and move the outline near the origin",
                file=path,
            )


def _in_knife_frame(outline: Polygon, table: OutlineTable) -> Polygon:
    along = -np.array(table.tip.vector)
    across = -np.array(table.edge.vector)
    ring = shapely.get_coordinates(outline.exterior)
    turned = np.column_stack([ring @ along, ring @ across])
    return shapely.geometry.polygon.orient(shapely.Polygon(turned - turned.min(axis=0)))
