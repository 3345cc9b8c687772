"""What a job reads, and what it keeps copies of."""

import json

import pytest

from chape.demo import demo_file
from chape.errors import CannotMakeError, InputError
from chape.knife.read import read_knife
from chape.pipeline.file import read_request
from chape.pipeline.folder import read_manifest

SHEATH = "[sheath]\nname = 'a'\nknife = '{knife}'\n"
DRAWN = """
[knife]
name = "Drawn"
[outline]
drawing = "{drawing}"
[blade]
length = 60
spine_thickness = [[0, 2], [60, 2]]
[handle]
thickness = [[60, 12], [120, 12]]
"""
SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="20mm" viewBox="0 0 120 20">
<path d="M0 10 L20 0 L120 0 L120 20 L40 20 Z"/></svg>"""


def written(path, text):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return path


def test_copies_of_files_from_other_folders_are_found_side_by_side(tmp_path):
    sheath = written(tmp_path / "sheaths/sheath.toml", SHEATH.format(knife="../knives/knife.toml"))
    written(tmp_path / "knives/knife.toml", DRAWN.format(drawing="drawings/outline.svg"))
    written(tmp_path / "knives/drawings/outline.svg", SVG)
    request = read_request(sheath)
    assert set(request.inputs) == {"sheath.toml", "knife.toml", "outline.svg"}

    inputs = tmp_path / "sheaths/sheath-job/inputs"
    for name, content in request.inputs.items():
        written(inputs / name, content.decode())
    again = read_request(inputs / "sheath.toml", copies=True)
    assert again.inputs == request.inputs
    assert again.knife == inputs / "knife.toml"
    knife = read_knife(again.knife, 1.0, copies=True)
    assert knife.outline.equals(read_knife(request.knife, 1.0).outline)

    # A copy that is gone is not made up for by the maker's own file.
    (inputs / "knife.toml").unlink()
    with pytest.raises(InputError, match="no knife file"):
        read_request(inputs / "sheath.toml", copies=True)


def test_two_files_of_one_name_are_refused(tmp_path):
    sheath = written(tmp_path / "case.toml", SHEATH.format(knife="knives/Case.toml"))
    written(tmp_path / "knives/Case.toml", demo_file("camp-knife.toml"))
    with pytest.raises(InputError) as raised:
        read_request(sheath)
    assert "same name" in str(raised.value)
    assert "Rename one of them" in str(raised.value)


@pytest.mark.parametrize("knife", ["k" * 300, "a\\u0000b", "", "no/such.toml"])
def test_a_knife_file_that_cannot_be_is_refused(tmp_path, knife):
    sheath = written(tmp_path / "sheath.toml", f'[sheath]\nname = "a"\nknife = "{knife}"\n')
    with pytest.raises(InputError, match="no knife file"):
        read_request(sheath)


def test_a_grid_that_no_memory_holds_is_refused_before_any_work(tmp_path):
    blank = "spacing = 0.05\n[blank]\nwidth = 2000\ndepth = 2000\n"
    sheath = written(tmp_path / "sheath.toml", SHEATH.format(knife="knife.toml") + blank)
    with pytest.raises(CannotMakeError, match="1600 million grid nodes"):
        read_request(sheath)


@pytest.mark.parametrize(
    ("width", "says"),
    [("1" + "0" * 400, "valid number"), ("1" + "0" * 5000, "TOML"), ("1e5", "10000")],
)
def test_a_number_beyond_all_bounds_is_refused(tmp_path, width, says):
    text = SHEATH.format(knife="knife.toml") + f"[blank]\nwidth = {width}\n"
    with pytest.raises(InputError, match=says):
        read_request(written(tmp_path / "sheath.toml", text))


GOOD = {"format": 1, "sheath": "sheath.toml", "outputs": {}, "released": {}}


@pytest.mark.parametrize(
    "record",
    [
        [],
        {},
        GOOD | {"format": 2},
        GOOD | {"outputs": []},
        GOOD | {"outputs": {"../../etc/passwd": "0"}},
        GOOD | {"outputs": {"/etc/passwd": "0"}},
        GOOD | {"outputs": {"a": 3}},
        GOOD | {"released": {"programs/../../x.nc": "0"}},
        GOOD | {"sheath": "../sheath.toml"},
    ],
)
def test_a_manifest_chape_did_not_write_is_refused(tmp_path, record):
    written(tmp_path / "manifest.json", json.dumps(record))
    with pytest.raises(InputError, match="no manifest that chape can read"):
        read_manifest(tmp_path)


def test_a_manifest_is_read_back(tmp_path):
    written(tmp_path / "manifest.json", json.dumps(GOOD | {"outputs": {"job.pdf": "0"}}))
    assert read_manifest(tmp_path).outputs == {"job.pdf": "0"}
