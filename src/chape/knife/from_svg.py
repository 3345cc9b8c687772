"""Lines and curves of an SVG drawing, every transform and unit applied."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree as ET

import numpy as np
import svgelements

from chape import tolerances
from chape.errors import InputError
from chape.knife.curves import MOST_POINTS, Drawn, bezier, ellipse

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from chape.field.grid import Floats

#: A CSS pixel is 1/96 inch (CSS Values and Units, absolute lengths).
PIXEL = 25.4 / 96

#: SVG text is slow to take apart; no outline of a knife is longer, bytes.
LARGEST = 4_000_000

#: No drawing of a knife needs more elements, with every ``use`` followed, or deeper nesting.
MOST_ELEMENTS, DEEPEST = 20_000, 100


def pieces_of_svg(content: bytes, path: Path, override: float | None) -> Drawn:
    """Return the lines and curves of an SVG drawing, flattened, y up.

    Args:
        content: the file.
        path: named in errors.
        override: mm in one of the drawing's user units, whatever its width and height state;
            None takes width, height and viewBox, and a pixel for a 96th of an inch.

    Raises:
        InputError: no SVG, one that defines entities, or one too large to take apart.
    """
    root = _checked(content, path)
    pixel = PIXEL
    if override is not None:
        # Without a stated size one user unit is one pixel.
        for key in ("width", "height", "viewBox"):
            root.attrib.pop(key, None)
        pixel = override
    text = ET.tostring(root, encoding="unicode")
    try:
        drawing = svgelements.SVG.parse(io.StringIO(text), ppi=96.0)
        shapes = [svgelements.Path(part).reify() for part in _shapes(drawing)]
    except Exception as error:  # a damaged file can make the reader fail anywhere
        raise _damaged(path, str(error)) from error
    pieces: list[Floats] = []
    points = 0
    for shape in shapes:
        for piece in _pieces(shape, tolerances.FLATTEN / pixel, path):
            points += len(piece)
            if points > MOST_POINTS:
                raise _too_much(path, f"more than {MOST_POINTS} points")
            pieces.append(piece * np.array([pixel, -pixel]))
    return Drawn(pieces, y_up=False)


def _checked(content: bytes, path: Path) -> ET.Element:
    if len(content) > LARGEST:
        raise _too_much(path, f"more than {LARGEST // 1_000_000} MB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            "the drawing is not UTF-8 text", mend="Save it as plain SVG", file=path
        ) from None
    if "<!ENTITY" in text:
        raise InputError(
            "the drawing defines XML entities, which are not read",
            mend="Save it as plain SVG",
            file=path,
        )
    try:
        # Entities were refused above, so nothing can expand.
        root = ET.fromstring(re.sub(r"<!DOCTYPE[^>\[]*>", "", text))  # noqa: S314
    except ET.ParseError as error:
        raise _damaged(path, str(error)) from None
    if root.tag.rpartition("}")[2] != "svg":
        raise _damaged(path, f"its root is <{root.tag.rpartition('}')[2][:20]}>")
    _check_expansion(root, path)
    return root


def _check_expansion(root: ET.Element, path: Path) -> None:
    """Refuse drawings whose ``use`` elements multiply, or point into themselves."""
    named = {element.get("id"): element for element in root.iter() if element.get("id")}
    counts: dict[int, int] = {}
    unfinished = -1

    def count(element: ET.Element, depth: int) -> int:
        known = counts.get(id(element))
        if known == unfinished or depth > DEEPEST:
            raise _too_much(path, "elements that hold themselves, or are nested too deeply")
        if known is not None:
            return known
        counts[id(element)] = unfinished
        total = 1 + sum(count(child, depth + 1) for child in element)
        if element.tag.rpartition("}")[2] == "use":
            target = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
            used = named.get(target.removeprefix("#"))
            total += count(used, depth + 1) if used is not None else 0
        counts[id(element)] = total
        return total

    total = count(root, 0)
    if total > MOST_ELEMENTS:
        raise _too_much(path, f"{total} elements")


def _shapes(drawing: Any) -> Iterator[Any]:  # noqa: ANN401 - the library is untyped
    for element in drawing.elements():
        if isinstance(element, svgelements.Shape):
            yield element


def _pieces(path: Any, tolerance: float, file: Path) -> Iterator[Floats]:  # noqa: ANN401
    """Yield each subpath as one line."""
    line: list[Floats] = []
    for segment in path:
        if isinstance(segment, svgelements.Move):
            if line:
                yield np.vstack(line)
            line = []
            continue
        try:
            piece = _points(segment, tolerance)
        except InputError as error:
            raise error.in_file(file) from None
        if piece is not None:
            line.append(piece if not line else piece[1:])
    if line:
        yield np.vstack(line)


def _points(segment: Any, tolerance: float) -> Floats | None:  # noqa: ANN401 - untyped library
    if segment.start is None or segment.end is None:
        return None
    if isinstance(segment, svgelements.CubicBezier):
        return bezier(
            _array(segment.start, segment.control1, segment.control2, segment.end), tolerance
        )
    if isinstance(segment, svgelements.QuadraticBezier):
        return bezier(_array(segment.start, segment.control, segment.end), tolerance)
    if isinstance(segment, svgelements.Arc) and segment.rx > 0 and segment.ry > 0:
        centre = _array(segment.center)[0]
        major, minor = _array(segment.prx)[0] - centre, _array(segment.pry)[0] - centre
        start = segment.get_start_t()
        points = ellipse(centre, major, minor, start, start + segment.sweep, tolerance)
        points[[0, -1]] = _array(segment.start, segment.end)
        return points
    return _array(segment.start, segment.end)


def _array(*points: Any) -> Floats:  # noqa: ANN401 - the library's own points
    return np.array([(point.x, point.y) for point in points], dtype=np.float64)


def _damaged(path: Path, what: str) -> InputError:
    said = " ".join(what.split())[:120].rstrip(".")
    return InputError(
        f"this is no SVG that can be read ({said})", mend="Save it as plain SVG", file=path
    )


def _too_much(path: Path, what: str) -> InputError:
    return InputError(
        f"the drawing holds {what}",
        mend="Save the outline alone in a drawing of its own",
        file=path,
    )
