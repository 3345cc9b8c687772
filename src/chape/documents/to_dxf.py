"""The flat pattern as a DXF drawing: true lines and arcs, mm, one layer for each kind of thing."""

from __future__ import annotations

from contextlib import contextmanager
from io import StringIO
from threading import Lock
from typing import TYPE_CHECKING

from ezdxf import options, units  # type: ignore[attr-defined]  # documented, not marked exported
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new

from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from ezdxf.document import Drawing

    from chape.documents.pattern import Segment
    from chape.field.outline import Outline
    from chape.sheath.model import Hole, Slot

#: Layers and their colour numbers (7 is black on white, white on black).
LAYERS = {"outline": 7, "holes": 4, "drain": 3, "slots": 5, "fold": 1, "title": 8}

#: Height of the title's letters, mm.
TITLE_HEIGHT = 4.0

#: The library's switch for repeatable files is one for the whole process.
_SWITCH = Lock()


def pattern_dxf(
    outline: Outline,
    holes: Sequence[Hole],
    fold_line: Segment | None = None,
    title: str = "",
    slots: Sequence[Slot] = (),
) -> bytes:
    """Write a flat pattern as DXF (R2010, text, UTF-8).

    The outline is one closed polyline with bulges, each hole a circle; drain holes have a layer
    of their own, so has the fold line. The same pattern gives the same bytes.

    Args:
        outline: trimmed outline, flat frame.
        holes: of the flat pattern.
        fold_line: ((u, v), (u, v)) ends of the fold line, None where there is no fold.
        title: written below the outline; empty for none.
        slots: of the flat pattern, each a closed polyline.
    """
    with _repeatable():
        drawing = new("R2010", units=units.MM)
        for name, colour in LAYERS.items():
            drawing.layers.add(name, color=colour)
        _draw(drawing, outline, holes, fold_line, title)
        for slot in slots:
            _add_outline(drawing, slot.outline, "slots")
        _order_classes(drawing)
        text = StringIO()
        drawing.write(text)
        return bytes(drawing.encode(text.getvalue()))


def _order_classes(drawing: Drawing) -> None:
    """Register the classes now, by name: the library would take them in the order of a set."""
    section = drawing.classes
    section.add_required_classes(drawing.dxfversion)
    section.classes = dict(sorted(section.classes.items()))


def _draw(
    drawing: Drawing,
    outline: Outline,
    holes: Sequence[Hole],
    fold_line: Segment | None,
    title: str,
) -> None:
    space = drawing.modelspace()
    _add_outline(drawing, outline, "outline")
    for hole in holes:
        layer = "drain" if hole.use is HoleUse.DRAIN else "holes"
        space.add_circle((hole.u, hole.v), hole.diameter / 2, dxfattribs={"layer": layer})
    if fold_line is not None:
        space.add_line(*fold_line, dxfattribs={"layer": "fold"})
    if title:
        x_min, y_min, _, _ = outline.bounds
        text = space.add_text(
            " ".join(title.split()), height=TITLE_HEIGHT, dxfattribs={"layer": "title"}
        )
        place = (x_min, y_min - 2 * TITLE_HEIGHT)
        text.set_placement(place, align=TextEntityAlignment.LEFT)


def _add_outline(drawing: Drawing, outline: Outline, layer: str) -> None:
    corners = [
        (float(x), float(y), float(bulge))
        for (x, y), bulge in zip(outline.points, outline.bulges, strict=True)
    ]
    drawing.modelspace().add_lwpolyline(
        corners, format="xyb", close=True, dxfattribs={"layer": layer}
    )


@contextmanager
def _repeatable() -> Iterator[None]:
    """Have the library write fixed dates and identifiers, as it offers to."""
    with _SWITCH:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before
