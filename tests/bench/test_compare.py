"""Two sheaths side by side: the figures of both, and only those settings in which they differ."""

import pytest
from fastapi.testclient import TestClient

from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.compare_sheaths import compare_row, setting_rows
from chape.bench.form import form
from chape.bench.place import open_place
from chape.bench.problem import Problem
from chape.bench.sheath_answers import PreviewAnswer
from chape.catalog.read import catalog
from chape.pipeline.file import SheathFile


@pytest.fixture(scope="module")
def fields():
    return form(SheathFile, catalog())


def rows_of(first, second, fields):
    return {
        row.label: (row.a, row.b, row.difference) for row in setting_rows(first, second, fields)
    }


def test_only_what_differs_is_told(fields):
    first = {"sheath": {"name": "one", "clearance": {"side": 1.2, "blade": 0.5}}}
    second = {"sheath": {"name": "two", "clearance": {"side": 0.9, "blade": 0.5}}}
    assert rows_of(first, second, fields) == {"Room beside the edge": (1.2, 0.9, -0.3)}


def test_a_setting_that_is_left_out_counts_as_its_default(fields):
    first = {"sheath": {"clearance": {"side": 1.2}}}
    assert rows_of(first, {"sheath": {}}, fields) == {}
    assert rows_of({"sheath": {"hand": "left"}}, {"sheath": {}}, fields) == {
        "Hand it is for": ("left", "right", None)
    }


def test_rows_are_told_one_by_one_and_a_table_that_is_left_out_has_no_figures(fields):
    first = {"sheath": {"clips": [{"clip": "flat-clip-2", "along": 0.3}]}}
    second = {"sheath": {"clips": [{"clip": "flat-clip-2", "along": 0.5}], "tip_pads": {"end": 30}}}
    assert rows_of(first, second, fields) == {
        "Tip pads end": (None, 30.0, None),
        "Clip 1: place on the line of eyelets": (0.3, 0.5, 0.2),
    }


def test_words_have_no_difference():
    assert compare_row("hand", "left", "right", "").difference is None
    assert compare_row("flag", a=True, b=None, unit="").a == "yes"
    assert compare_row("angles", [0, 90], None, "").a == "0, 90"


FIGURES = {
    "spacing": 1.6,
    "least_clearance": 0.2,
    "edge_clearance": 0.5,
    "length": 158.0,
    "snap_depth": 0.6,
    "mass": 41.0,
    "flat_area": 15300.0,
    "blank_use": 0.7,
    "copies": 4,
    "holes": 6,
}


def seen(_, look):
    """As the warm process would answer; it has tests of its own."""
    if look.path.parent.name == "two":
        return PreviewAnswer(sequence=0, problem=Problem(sentence="No")).model_dump_json()
    return PreviewAnswer(sequence=0, figures=FIGURES).model_dump_json()


def test_the_page_is_given_what_differs_and_why_one_cannot_be_drawn(tmp_path, monkeypatch):
    bench = Bench(open_place(tmp_path))
    monkeypatch.setattr(bench.previews, "look", seen)
    page = TestClient(
        create_app(bench), base_url="http://127.0.0.1:8017", client=("127.0.0.1", 50000)
    )
    page.post("/api/knives", json={"name": "camp", "from": "example"}).raise_for_status()
    for name in ("one", "two"):
        page.post("/api/sheaths", json={"name": name, "knife": "camp"}).raise_for_status()
    two = page.get("/api/sheaths/two").json()
    two["tables"]["sheath"]["mouth"]["wrap"] = 20
    wish = {"base": two["version"], "tables": two["tables"]}
    page.put("/api/sheaths/two", json=wish).raise_for_status()

    answer = page.get("/api/compare", params={"a": "one", "b": "two"}).json()
    rows = {row["label"]: row for row in answer["rows"]}
    assert (rows["Length"]["a"], rows["Length"]["b"]) == (158.0, None)
    assert [row["label"] for row in answer["rows"] if row["setting"]] == ["Reach over the handle"]
    assert rows["Reach over the handle"]["difference"] == -10
    assert (answer["problem_a"], answer["problem_b"]["sentence"]) == (None, "No")
    assert page.get("/api/compare", params={"a": "one", "b": "none"}).status_code == 404
