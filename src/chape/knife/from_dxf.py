"""Lines and curves of a DXF drawing's model space, blocks taken apart."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np
from ezdxf.enums import InsertUnits
from ezdxf.filemanagement import readfile
from ezdxf.units import conversion_factor

from chape import tolerances
from chape.errors import InputError
from chape.knife.curves import MOST_POINTS, Drawn, ellipse

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

    from chape.field.grid import Floats

#: No drawing of a knife needs more entities, more blocks inserted, or blocks nested deeper.
MOST_ENTITIES, MOST_BLOCKS, DEEPEST = 50_000, 2_000, 16

#: Splines with more control points are refused.
MOST_CONTROLS = 20_000


def pieces_of_dxf(
    content: bytes, path: Path, override: float | None, fallback: float, layer: str | None
) -> Drawn:
    """Return the lines and curves of a DXF drawing, flattened.

    Args:
        content: the file, text or binary DXF.
        path: named in errors.
        override: mm in one of the drawing's units; None asks the drawing itself.
        fallback: the same, where the drawing states no unit.
        layer: only entities on this layer, block contents with their insert; None for all.

    Raises:
        InputError: no DXF, a damaged one, one too large to take apart, an unknown layer.
    """
    document = _document(path)
    del content
    millimetres = override or _stated_unit(document) or fallback
    entities = list(_flat(document.modelspace(), path))
    if layer is not None:
        layers = sorted({entity.dxf.layer for entity in entities})
        entities = [entity for entity in entities if entity.dxf.layer == layer]
        if not entities:
            raise InputError(
                f'nothing is drawn on layer "{layer}"',
                mend=f"Name one of its layers: {', '.join(layers) or 'there are none'}",
                file=path,
                field="outline.layer",
            )
    pieces: list[Floats] = []
    points = 0
    for entity in entities:
        try:
            piece = _points(entity, tolerances.FLATTEN / millimetres)
        except InputError as error:
            raise error.in_file(path) from None
        except Exception as error:
            raise _damaged(path, f"{entity.dxftype()}: {error}") from error
        if piece is None or len(piece) < 2:
            continue
        points += len(piece)
        if points > MOST_POINTS:
            raise _too_much(path, f"more than {MOST_POINTS} points")
        pieces.append(piece * millimetres)
    return Drawn(pieces, y_up=True)


def _document(path: Path) -> Any:  # noqa: ANN401 - the library is untyped
    try:
        # The lenient reader would guess at damaged numbers, and so at another knife.
        document = readfile(path)
    except Exception as error:  # a damaged file can make the reader fail anywhere
        raise _damaged(path, str(error)) from error
    return document


def _stated_unit(document: Any) -> float | None:  # noqa: ANN401 - the library is untyped
    code = document.header.get("$INSUNITS", 0)
    if code == 0:
        return None
    try:
        return float(conversion_factor(InsertUnits(code), InsertUnits.Millimeters))
    except (ValueError, TypeError, KeyError):
        return None


def _flat(entities: Iterable[Any], path: Path) -> Iterator[Any]:
    """Yield entities with every block insert and polyline taken apart, nothing on hidden layers."""
    seen = blocks = 0
    stack = [(entity, 0) for entity in entities]
    while stack:
        entity, depth = stack.pop()
        seen += 1
        if seen > MOST_ENTITIES or depth > DEEPEST:
            raise _too_much(path, f"more than {MOST_ENTITIES} entities or {DEEPEST} nested blocks")
        kind = entity.dxftype()
        if kind == "INSERT":
            # Counted before anything is made of them: rows and columns are only two numbers.
            copies = max(1, entity.dxf.row_count) * max(1, entity.dxf.column_count)
            blocks += copies
            if blocks > MOST_BLOCKS:
                raise _too_much(path, f"more than {MOST_BLOCKS} inserted blocks")
            inserts = entity.multi_insert() if copies > 1 else [entity]
            inner = _taken_apart(inserts, path)
        elif kind in {"LWPOLYLINE", "POLYLINE"}:
            inner = _taken_apart([entity], path)
        else:
            yield entity
            continue
        for part in inner:
            # Layer "0" inside a block means the layer the block is inserted on.
            if part.dxf.layer == "0" or kind != "INSERT":
                part.dxf.layer = entity.dxf.layer
        stack += [(part, depth + 1) for part in inner]


def _taken_apart(entities: Iterable[Any], path: Path) -> list[Any]:
    try:
        found = (part for entity in entities for part in entity.virtual_entities())
        parts = list(islice(found, MOST_ENTITIES + 1))
    except Exception as error:  # a damaged file can make the reader fail anywhere
        raise _damaged(path, str(error)) from error
    if len(parts) > MOST_ENTITIES:
        raise _too_much(path, f"more than {MOST_ENTITIES} entities")
    return parts


def _points(entity: Any, tolerance: float) -> Floats | None:  # noqa: ANN401 - untyped library
    kind = entity.dxftype()
    if kind == "LINE":
        return np.array([entity.dxf.start.vec2, entity.dxf.end.vec2], dtype=np.float64)
    if kind in {"ARC", "CIRCLE"}:
        return _arc(entity, tolerance)
    if kind == "ELLIPSE":
        tool = entity.construction_tool()
        start, end = tool.start_param, tool.end_param
        if end <= start:
            end += 2 * np.pi
        return ellipse(
            np.array(tool.center.vec2),
            np.array(tool.major_axis.vec2),
            np.array(tool.minor_axis.vec2),
            start,
            end,
            tolerance,
        )
    if kind == "SPLINE":
        return _spline(entity, tolerance)
    return None


def _arc(entity: Any, tolerance: float) -> Floats:  # noqa: ANN401 - the library is untyped
    start, end = 0.0, 2 * np.pi
    if entity.dxftype() == "ARC":
        start, end = np.radians(entity.dxf.start_angle), np.radians(entity.dxf.end_angle)
        while end <= start + 1e-12:
            end += 2 * np.pi
    # Mirrored arcs stand in a frame of their own, turned over.
    frame = entity.ocs()
    right, up = (np.array(frame.to_wcs(axis).vec2) for axis in ((1, 0, 0), (0, 1, 0)))
    centre = np.array(frame.to_wcs(entity.dxf.center).vec2)
    radius = entity.dxf.radius
    return ellipse(centre, radius * right, radius * up, start, end, tolerance)


def _spline(entity: Any, tolerance: float) -> Floats:  # noqa: ANN401 - the library is untyped
    tool = entity.construction_tool()
    controls = np.array([(*point.vec2,) for point in tool.control_points])
    if len(controls) > MOST_CONTROLS or not np.abs(controls).max() < tolerance * 1e9:
        raise InputError(
            "a spline of the drawing is far larger than a knife",
            mend="Check the drawing's unit, and take large curves out of it",
        )
    return np.array([point.vec2 for point in tool.flattening(tolerance, segments=8)])


def _damaged(path: Path, what: str) -> InputError:
    said = " ".join(what.split())[:120].rstrip(".")
    return InputError(
        f"this is no DXF that can be read ({said})", mend="Save the drawing again as DXF", file=path
    )


def _too_much(path: Path, what: str) -> InputError:
    return InputError(
        f"the drawing holds {what}",
        mend="Save the outline alone in a drawing of its own",
        file=path,
    )
