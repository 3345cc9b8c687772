from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import shapely

from chape.errors import InputError
from chape.knife.file import OutlineTable
from chape.knife.from_drawing import outline_of_drawing
from chape.units import LengthUnit

sys.path.insert(0, str(Path(__file__).parent))
import drawings

MM = LengthUnit.MM


def read(path: Path, **keys: object) -> shapely.Polygon:
    table = OutlineTable.model_validate({"drawing": path.name, **keys})
    return outline_of_drawing(table, MM, path.parent)


def is_known(outline: shapely.Polygon) -> None:
    known = drawings.known_polygon()
    assert outline.is_valid
    assert outline.exterior.is_ccw
    assert outline.area == pytest.approx(known.area, rel=1e-3)
    assert shapely.hausdorff_distance(outline.exterior, known.exterior, densify=0.01) <= 0.01
    assert outline.symmetric_difference(known).area < 1e-3 * known.area


@pytest.mark.parametrize(
    ("draw", "keys"),
    [
        (drawings.dxf_polyline, {}),
        (drawings.dxf_old_polyline, {}),
        (drawings.dxf_pieces, {}),
        (drawings.dxf_nested_blocks, {}),
        (drawings.dxf_stretched_block, {}),
        (drawings.dxf_turned_over, {"tip": "right"}),
    ],
)
def test_every_way_of_drawing_in_dxf_gives_the_same_outline(tmp_path, draw, keys):
    path = tmp_path / "knife.dxf"
    draw(path)
    is_known(read(path, **keys))


@pytest.mark.parametrize(
    "draw",
    [drawings.svg_millimetres, drawings.svg_nested, drawings.svg_pixels, drawings.svg_used],
)
def test_every_way_of_drawing_in_svg_gives_the_same_outline(tmp_path, draw):
    path = tmp_path / "knife.svg"
    path.write_text(draw())
    is_known(read(path))


def test_unit_of_a_drawing_may_be_overridden(tmp_path):
    path = tmp_path / "knife.svg"
    path.write_text(drawings.SVG + f'><path d="{drawings.path_data(1 / 25.4)}"/></svg>')
    is_known(read(path, unit="inch"))
    path.write_text(drawings.SVG + f'><path d="{drawings.path_data(0.05)}"/></svg>')
    is_known(read(path, unit="cm", scale=2.0))


def test_dxf_without_a_unit_takes_the_knife_files_own(tmp_path):
    document = drawings.new_dxf(0)
    drawings.add_pieces(document.modelspace())
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    is_known(read(path))


@pytest.mark.parametrize(
    ("tip", "edge", "turn"),
    [
        ("left", "down", [[1, 0], [0, 1]]),
        ("right", "up", [[-1, 0], [0, -1]]),
        ("down", "right", [[0, -1], [1, 0]]),
        ("up", "left", [[0, 1], [-1, 0]]),
        ("left", "up", [[1, 0], [0, -1]]),
    ],
)
def test_drawing_may_lie_any_way_round(tmp_path, tip, edge, turn):
    points = drawings.KNOWN.polygon(0.005).exterior.coords @ np.array(turn).T
    document = drawings.new_dxf(4)
    moved = points[:-1] + np.array([300.0, 40.0])
    document.modelspace().add_lwpolyline(moved, close=True)
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    is_known(read(path, tip=tip, edge=edge))


@pytest.mark.parametrize("kind", ["circle", "ellipse", "rect", "polygon", "spline"])
def test_area_of_closed_shapes(tmp_path, kind):
    """Areas by the textbook formulas; the spline is a Bézier curve, its area a beta function."""
    shapes = {
        "circle": ('<circle cx="9" cy="9" r="50"/>', np.pi * 2500),
        "ellipse": ('<ellipse cx="9" cy="9" rx="100" ry="15"/>', np.pi * 1500),
        "rect": ('<rect x="1" y="2" width="200" height="30"/>', 6000.0),
        "polygon": ('<polygon points="0,0 200,0 200,30"/>', 3000.0),
        # x = 600 t(1 - t), y = 30 t²(3 - 2t): the area is 600 · 180 · B(3, 3) = 3600.
        "spline": ('<path d="M0 0 C 200 0 200 30 0 30 Z"/>', 3600.0),
    }
    drawn, area = shapes[kind]
    path = tmp_path / "shape.svg"
    path.write_text(
        drawings.SVG + f'width="300mm" height="300mm" viewBox="0 0 300 300">{drawn}</svg>'
    )
    assert read(path).area == pytest.approx(area, rel=1e-3)


def test_dxf_spline_and_circle(tmp_path):
    document = drawings.new_dxf(4)
    space = document.modelspace()
    space.add_open_spline([(0, 0), (200, 0), (200, 30), (0, 30)], degree=3)
    space.add_line((0, 30), (0, 0))
    space.add_circle((10, 10), 2)
    path = tmp_path / "shape.dxf"
    document.saveas(path)
    assert read(path, tip="left").area == pytest.approx(3600.0, rel=1e-3)


def test_lines_inside_the_outline_do_not_divide_it(tmp_path):
    document = drawings.new_dxf(4)
    drawings.add_pieces(document.modelspace())
    document.modelspace().add_line((100, 3), (104, 24))
    document.modelspace().add_circle((185, 12), 3)
    drawings.add_pieces(document.modelspace(), order_seed=5)  # everything drawn twice
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    is_known(read(path))


def test_layer_is_chosen(tmp_path):
    document = drawings.new_dxf(4)
    block = document.blocks.new("knife")
    drawings.add_pieces(block)
    document.modelspace().add_blockref("knife", (0, 0), {"layer": "OUTLINE"})
    document.modelspace().add_lwpolyline(
        [(-50, -50), (300, -50), (300, 80), (-50, 80)], close=True, dxfattribs={"layer": "FRAME"}
    )
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    is_known(read(path, layer="OUTLINE"))
    with pytest.raises(InputError, match=r'nothing is drawn on layer "KNIFE".*FRAME, OUTLINE'):
        read(path, layer="KNIFE")


def test_open_outline_says_where(tmp_path):
    document = drawings.new_dxf(4)
    drawings.add_pieces(document.modelspace(), drop=1)
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    with pytest.raises(
        InputError, match=r"the outline is open: from .*45\.000, 3\.000.* gap of 55"
    ):
        read(path)


def test_gap_is_told_in_millimetres_of_the_drawing(tmp_path):
    path = tmp_path / "knife.svg"
    path.write_text(
        drawings.SVG
        + 'width="220mm" height="40mm" viewBox="0 0 440 80">'
        + '<path d="M 10 20 L 400 20 L 400 70 L 10 70 L 10 20.2"/></svg>'
    )
    with pytest.raises(InputError) as caught:
        read(path)
    # The user units are half a millimetre, 220 mm / 440.
    assert "(5.000, 10.000)" in str(caught.value)
    assert "(5.000, 10.100) mm" in str(caught.value) or "(5.000, 10.100) to" in str(caught.value)
    assert "gap of 0.1 mm" in str(caught.value)


def test_small_gap_is_joined(tmp_path):
    document = drawings.new_dxf(4)
    points = drawings.POINTS
    document.modelspace().add_lwpolyline([*points, points[0] + [0.0, 0.015]])
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    assert read(path).area == pytest.approx(shapely.Polygon(points).area, rel=1e-3)


BOMB = (
    '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    '<svg xmlns="http://www.w3.org/2000/svg"><text>&b;</text></svg>'
)


def uses(count: int) -> str:
    groups = "".join(
        f'<g id="g{n}"><use href="#g{n + 1}"/><use href="#g{n + 1}"/></g>' for n in range(count)
    )
    return (
        drawings.SVG
        + f'><defs>{groups}<path id="g{count}" d="M0 0 L9 9"/></defs><use href="#g0"/></svg>'
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (BOMB, "defines XML entities"),
        (uses(40), "the drawing holds"),
        (drawings.SVG + '><g id="a"><use href="#a"/></g></svg>', "hold themselves"),
        ("<svg", "no SVG that can be read"),
        ("<html/>", "its root is <html>"),
        (drawings.SVG + "/>", "holds no lines or curves"),
        (
            drawings.SVG + '><path d="M0 0 L200 30 L200 0 L0 30 Z"/></svg>',
            r"crosses itself at \(26\.458, 3\.969\)",
        ),
        (
            drawings.SVG + '><path d="M0 0 C 1e12 0 1e12 30 0 30 Z"/></svg>',
            "far larger than a knife",
        ),
        (drawings.SVG + '><path d="M0 0 L1e9 0 L0 30 Z"/></svg>', "more than a kilometre"),
        ("", "the drawing is empty"),
    ],
)
def test_bad_svg(tmp_path, text, said):
    path = tmp_path / "knife.svg"
    path.write_text(text)
    with pytest.raises(InputError, match=said) as caught:
        read(path)
    assert "knife.svg" in str(caught.value)


def test_bad_dxf(tmp_path):
    path = tmp_path / "knife.dxf"
    path.write_bytes(b"no drawing at all\n" * 20)
    with pytest.raises(InputError, match="no DXF that can be read"):
        read(path)
    document = drawings.new_dxf(4)
    block = document.blocks.new("a")
    block.add_line((0, 0), (1, 1))
    document.modelspace().add_blockref(
        "a", (0, 0), {"row_count": 30000, "column_count": 30000, "row_spacing": 1}
    )
    document.saveas(path)
    with pytest.raises(InputError, match="more than 2000 inserted blocks"):
        read(path)


def test_blocks_that_multiply_are_refused(tmp_path):
    document = drawings.new_dxf(4)
    for level in range(12):
        block = document.blocks.new(f"b{level}")
        if level == 0:
            block.add_line((0, 0), (1, 1))
        for copy in range(8 if level else 0):
            block.add_blockref(f"b{level - 1}", (copy, 0))
    document.modelspace().add_blockref("b11", (0, 0))
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    with pytest.raises(InputError, match="more than 2000 inserted blocks"):
        read(path)


def test_huge_arc_is_refused(tmp_path):
    document = drawings.new_dxf(4)
    document.modelspace().add_circle((0, 0), 1e15)
    path = tmp_path / "knife.dxf"
    document.saveas(path)
    with pytest.raises(InputError, match="far larger than a knife"):
        read(path)


def test_other_endings_folders_and_missing_drawings(tmp_path):
    with pytest.raises(InputError, match=r"no \.dxf or \.svg"):
        read(tmp_path / "knife.pdf")
    with pytest.raises(InputError, match="no such drawing"):
        read(tmp_path / "knife.dxf")
    (tmp_path / "folder.svg").mkdir()
    with pytest.raises(InputError, match="this is a folder"):
        read(tmp_path / "folder.svg")


def test_a_damaged_number_is_refused_not_guessed(tmp_path):
    path = tmp_path / "knife.dxf"
    drawings.dxf_pieces(path)
    text = path.read_text()
    assert "\n45.0\n" in text
    path.write_text(text.replace("\n45.0\n", "\n4<5.0\n", 1))
    with pytest.raises(InputError, match="no DXF that can be read"):
        read(path)
