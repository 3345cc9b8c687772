"""One known outline, drawn in every way a drawing program might draw it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ezdxf
import numpy as np
from ezdxf.math import Matrix44

from chape.field.outline import Outline, arc_of

if TYPE_CHECKING:
    from pathlib import Path

    import shapely

#: A knife 200 mm long, tip at the origin, of lines and arcs, counter-clockwise; its lowest point
#: is a corner, so that the knife frame is known exactly.
POINTS = np.array(
    [
        [0.0, 14.0],
        [45.0, 3.0],
        [100.0, 3.0],
        [103.0, 0.0],
        [112.0, 4.0],
        [160.0, 4.0],
        [192.0, 2.0],
        [200.0, 10.0],
        [192.0, 24.0],
        [104.0, 24.0],
        [60.0, 28.0],
    ]
)
BULGES = np.array([0.12, 0.0, 0.0, -0.35, 0.0, -0.05, 0.3, 0.25, 0.0, 0.0, 0.1])
KNOWN = Outline(POINTS, BULGES)


def known_polygon() -> shapely.Polygon:
    return KNOWN.polygon(0.001)


def segments() -> list[tuple[np.ndarray, np.ndarray, float]]:
    following = np.roll(POINTS, -1, axis=0)
    return [
        (start, end, float(bulge))
        for start, end, bulge in zip(POINTS, following, BULGES, strict=True)
    ]


def add_pieces(layout, *, order_seed: int = 3, drop: int | None = None) -> None:
    """Add single lines and arcs in any order."""
    parts = [part for number, part in enumerate(segments()) if number != drop]
    for number in np.random.default_rng(order_seed).permutation(len(parts)):
        start, end, bulge = parts[number]
        if bulge == 0:
            layout.add_line(start, end)
            continue
        centre, radius, first, sweep = arc_of(start, end, bulge)
        angles = sorted([first, first + sweep])
        layout.add_arc(centre, radius, *np.degrees(angles))


def new_dxf(unit_code: int):
    document = ezdxf.new()
    document.header["$INSUNITS"] = unit_code
    return document


def dxf_polyline(path: Path) -> None:
    document = new_dxf(4)
    vertices = [(*point, bulge) for point, bulge in zip(POINTS, BULGES, strict=True)]
    document.modelspace().add_lwpolyline(vertices, format="xyb", close=True)
    document.saveas(path)


def dxf_old_polyline(path: Path) -> None:
    document = new_dxf(4)
    vertices = [(*point, bulge) for point, bulge in zip(POINTS, BULGES, strict=True)]
    document.modelspace().add_polyline2d(vertices, format="xyb", close=True)
    document.saveas(path)


def dxf_pieces(path: Path) -> None:
    document = new_dxf(4)
    add_pieces(document.modelspace())
    # A note and a centre mark, which are no part of the outline.
    document.modelspace().add_text("knife")
    document.modelspace().add_line((20, -10), (40, -10))
    document.saveas(path)


def dxf_nested_blocks(path: Path) -> None:
    """Inches; a block mirrored and turned inside a block that is scaled back."""
    document = new_dxf(1)
    inner = document.blocks.new("inner")
    add_pieces(inner)
    outer = document.blocks.new("outer")
    outer.add_blockref("inner", (7, -3), {"xscale": -2, "yscale": 2, "rotation": 30})
    scale = 1 / 2 / 25.4
    document.modelspace().add_blockref(
        "outer", (-4, 11), {"xscale": -scale, "yscale": scale, "rotation": 30}
    )
    document.saveas(path)


def dxf_stretched_block(path: Path) -> None:
    """A block half as long, stretched to twice its length: arcs become ellipses and back."""
    document = new_dxf(4)
    block = document.blocks.new("half")
    for start, end, bulge in segments():
        squeeze = np.array([0.5, 1.0])
        if bulge == 0:
            block.add_line(start * squeeze, end * squeeze)
            continue
        centre, radius, first, sweep = arc_of(start, end, bulge)
        low, high = sorted([first, first + sweep])
        # Squeezed along x, a circle is an ellipse whose long axis stands upright.
        block.add_ellipse(
            (*(centre * squeeze), 0),
            (0, radius, 0),
            ratio=0.5,
            start_param=low - np.pi / 2,
            end_param=high - np.pi / 2,
        )
    document.modelspace().add_blockref("half", (0, 0), {"xscale": 2, "yscale": 1})
    document.saveas(path)


def dxf_turned_over(path: Path) -> None:
    """Arcs turned over in a frame of their own, as a 3-D mirror leaves them."""
    document = new_dxf(4)
    add_pieces(document.modelspace())
    for entity in document.modelspace():
        entity.transform(Matrix44.scale(-1, 1, 1))
    document.saveas(path)


def path_data(scale: float = 1.0) -> str:
    """The outline as an SVG path, y down, with arc commands."""
    text = f"M {POINTS[0][0] * scale} {-POINTS[0][1] * scale}"
    for start, end, bulge in segments():
        x, y = end * scale * np.array([1, -1])
        if bulge == 0:
            text += f" L {x} {y}"
            continue
        _, radius, _, sweep = arc_of(start, end, bulge)
        # Counter-clockwise with y up is SVG's sweep 0 with y down.
        text += f" A {radius * scale} {radius * scale} 0 0 {0 if sweep > 0 else 1} {x} {y}"
    return text + " Z"


SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '


def svg_millimetres() -> str:
    return (
        SVG + f'width="220mm" height="60mm" viewBox="0 -40 220 60"><path d="{path_data()}"/></svg>'
    )


def svg_nested() -> str:
    """Inches with a viewBox, groups turned, scaled and skewed back and forth."""
    return (
        SVG
        + 'width="10in" height="5in" viewBox="0 0 508 254">'  # two units to the millimetre
        + '<g transform="translate(30 100) rotate(25)"><g transform="scale(4) skewX(10)">'
        + '<g transform="skewX(-10)"><g transform="rotate(-25 0 0) matrix(.5 0 0 .5 3 4)">'
        + f'<path d="{path_data()}"/></g></g></g></g></svg>'
    )


def svg_pixels() -> str:
    return SVG + f'width="900" height="300"><path d="{path_data(96 / 25.4)}"/></svg>'


def svg_used() -> str:
    return (
        SVG
        + 'width="22cm" height="6cm" viewBox="0 -40 220 60"><defs>'
        + f'<path id="k" d="{path_data()}"/></defs><use xlink:href="#k" x="3" y="4"/></svg>'
    )
