"""Tables that a sheath file may hold several of: slots, and marks with their figures."""

from __future__ import annotations

import pytest

from chape.errors import InputError
from chape.pipeline.file import read_request
from chape.tooling.figure import strokes_of
from specimens import DEMO

HEAD = """unit = "inch"

[sheath]
name = "a"
knife = "camp-knife.toml"
"""
SLOTS = """
[[sheath.slots]]
along = 0.3
length = 1.0
width = 0.16

[[sheath.slots]]
along = 1
length = 0.4
width = 0.16
out = 0.1
"""
MARK = """
[[mould.marks]]
text = "Tarn 7"
x = 2.5
height = 0.4
depth = 0.015
"""
FIGURE = """
[[mould.marks]]
figure = "flag.svg"
x = 2.5
half = "back"
"""
FLAG = (
    '<svg xmlns="http://www.w3.org/2000/svg"><path d="M2 18 L2 2 L20 2 L14 7 L20 12 L2 12"/></svg>'
)


def request(folder, *parts):
    (folder / "camp-knife.toml").write_bytes((DEMO / "camp-knife.toml").read_bytes())
    path = folder / "sheath.toml"
    path.write_text(HEAD + "".join(parts), "utf-8")
    return read_request(path)


def test_lengths_in_every_table_of_a_list_are_turned_into_mm(tmp_path):
    file = request(tmp_path, SLOTS, MARK).file
    first, second = file.sheath.slots
    assert (first.length, first.width, first.out) == pytest.approx((25.4, 4.064, 0.0))
    assert (second.length, second.out) == pytest.approx((10.16, 2.54))
    (mark,) = file.mould.marks
    assert (mark.x, mark.height, mark.depth) == pytest.approx((63.5, 10.16, 0.381))
    assert mark.y is None


def test_a_figure_travels_with_the_job(tmp_path):
    (tmp_path / "flag.svg").write_text(FLAG, "utf-8")
    asked = request(tmp_path, FIGURE, FIGURE)
    assert asked.inputs["flag.svg"] == FLAG.encode()
    (stroke,) = strokes_of(asked.inputs["flag.svg"], tmp_path / "flag.svg")
    # The drawing's y runs down, a mark's up: the pole goes from below to above.
    assert stroke[1, 1] > stroke[0, 1]


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([SLOTS.replace("along = 0.3", "along = 3")], "slots"),
        ([SLOTS.replace("width", "breadth")], "slots"),
        ([MARK.replace('"Tarn 7"', "7")], "marks"),
        ([FIGURE], "there is no such file"),
        (["\n[sheath.slots]\nalong = 0.3\n"], "slots"),
    ],
)
def test_what_is_wrong_in_a_list_is_told(tmp_path, parts, words):
    with pytest.raises(InputError) as caught:
        request(tmp_path, *parts)
    assert words in f"{caught.value} {caught.value.field}"


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.svg", b"<svg", "no SVG that can be read"),
        ("a.svg", b'<svg xmlns="http://www.w3.org/2000/svg"/>', "holds no lines"),
        ("a.png", b"\x89PNG", "no .dxf or .svg"),
    ],
)
def test_what_is_no_figure_is_refused(tmp_path, name, content, words):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputError, match=words):
        strokes_of(content, path)
