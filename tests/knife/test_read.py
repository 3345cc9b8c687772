from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest

from chape.errors import InputError
from chape.knife.check import check_knife, steepest_bevel
from chape.knife.file import KnifeFile
from chape.knife.read import knife_of, knife_schema, read_knife, read_knife_file
from specimens import DEMO, camp_knife, slender_knife

CAMP = (DEMO / "camp-knife.toml").read_text("utf-8")
SLENDER = (DEMO / "slender-knife.toml").read_text("utf-8")


def changed(old: str, new: str, text: str = CAMP) -> str:
    assert old in text
    return text.replace(old, new, 1)


def write(folder: Path, text: str | bytes) -> Path:
    path = folder / "knife.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


STATIONS = re.compile(r"stations = \[.*?\n\]", re.DOTALL)

HANDLE = re.compile(r"thickness = \[\n.*?\n\]", re.DOTALL)

#: What is written, and what the sentence says: the key, the value found, the mend.
BAD = [
    ("", "the file is empty"),
    ("   \n# only\n", "knife: this key is missing"),
    (b"\xff\xfe\x00", "not UTF-8"),
    ("[knife\n", "breaks a rule of TOML .*line 1"),
    (changed("edges =", "egdes ="), "knife.egdes: chape does not know this key"),
    (changed('"single" ', '"triple" '), "knife.edges: found 'triple'.*'single' or 'double'"),
    (changed('unit = "mm" ', 'unit = "feet" '), "knife.unit: found 'feet'"),
    (changed("length = 115 ", ""), "blade.length: this key is missing"),
    (changed("length = 115 ", "length = -115 "), "blade.length: found -115"),
    (changed("length = 115 ", "length = 231 "), "blade is 231.0 mm long.* whole knife only 230.0"),
    (changed("length = 115 ", "length = inf "), "blade.length: found inf"),
    (changed("[3, 13.0, 18.0]", "[3, nan, 18.0]"), "outline.stations, row 2, number 2: found nan"),
    (changed("[3, 13.0, 18.0]", "[3, 18.1, 18.0]"), "station 2 .*y = 18.1, lies above.*y = 18"),
    (changed("[3, 13.0, 18.0]", "[3, 18.0, 18.0]"), "station 2 .*same y = 18"),
    (changed("[3, 13.0, 18.0]", "[0, 13.0, 18.0]"), "stations 1 and 2 both stand at x = 0"),
    (changed("[3, 13.0, 18.0]", "[9, 13.0, 18.0]"), "station 3 stands at x = 8, before station 2"),
    (changed("[0, 16.5, 16.5]", "[1, 16.5, 16.5]"), "first station stands at x = 1"),
    (
        changed("[3, 13.0, 18.0]", "[3, 13.0]"),
        "stations, row 2, number 3: this key is missing",
    ),
    (STATIONS.sub("stations = [[0, 1, 1], [200, 2, 2]]", CAMP), "at least 3 stations.* are 2"),
    (STATIONS.sub("", CAMP), "either stations or a drawing"),
    (changed("[outline]", '[outline]\ndrawing = "a.dxf"'), "either stations or a drawing"),
    (changed("[outline]", '[outline]\ntip = "left"'), '"tip" tells how to read a drawing'),
    (
        changed("[[0, 1.0], [6, 2.0]", "[[0, 1.0], [6, -2.0]"),
        r"row 2 \(x = 6\) the thickness is -2",
    ),
    (changed("[[0, 1.0], [6, 2.0]", "[[0, 0], [6, 2.0]"), r"row 1 \(x = 0\) the thickness is 0"),
    (changed("[6, 2.0], [20, 3.2]", "[20, 2.0], [6, 3.2]"), "row 3 stands at x = 6, before row 2"),
    (changed(", [115, 4.0]]", "]"), "last row stands at x = 60.0 mm, but this part ends at 115.0"),
    (changed("[230, 6.0],", ""), "handle.thickness: the last row stands at x = 226.0"),
    (changed("[115, 8.0], [117, 14.0],", ""), "first row stands at x = 120.0 .* starts at 115.0"),
    (changed("thickness = [\n", "thikness = [\n"), "handle.thickness: this key is missing"),
    (changed("roundness = 2.4 ", "roundness = 0.2 "), "handle.roundness: found 0.2"),
    (changed('"full flat" ', '"hollow" '), '"hollow" grind needs grind_height'),
    (changed('"full flat" ', '"convex"\nwheel_radius = 9 '), "wheel_radius is given"),
    (
        changed('"full flat" ', '"hollow"\ngrind_height = 18\nwheel_radius = 9 '),
        "a wheel of radius 9 mm cannot grind 17.3 mm high",
    ),
    (changed('"full flat" ', '"convex"\nbulge = 12 '), "a bulge of 12 mm is too much"),
    (changed("bevel_angle = 20", "bevel_angle = 90"), "blade.bevel_angle: found 90"),
    (changed('unit = "mm" ', 'unit = "inch" '), r"outline is 5,842\.0 mm long.*Correct unit"),
    (changed("[6, 2.0]", '[6, "thick"]'), "blade.spine_thickness, row 2, number 2: found 'thick'"),
    (changed("from = 110", "from = 118", SLENDER), "guard starts at x = 118 and ends at x = 117"),
    (
        changed("from = 110", "from = 11", SLENDER),
        "guard.from: the guard starts at x = 11.0 mm, away",
    ),
    (changed("to = 117", "to = 117\nreach = [5, 1]", SLENDER), "reaches from y = 5 to y = 1"),
]


@pytest.mark.parametrize(("text", "said"), BAD)
def test_bad_input_says_what_and_where(tmp_path, text, said):
    path = write(tmp_path, text)
    with pytest.raises(InputError, match=said) as caught:
        read_knife(path, 1.0)
    sentence = str(caught.value)
    assert sentence.startswith(str(path))
    assert caught.value.mend
    assert "\n" not in sentence


def test_missing_file_and_folder(tmp_path):
    with pytest.raises(InputError, match="there is no such file"):
        read_knife(tmp_path / "none.toml", 1.0)
    with pytest.raises(InputError, match="this is a folder"):
        read_knife(tmp_path, 1.0)


def test_knife_written_in_inches_without_saying_so_is_refused(tmp_path):
    small = STATIONS.sub("stations = [[0, 0, 0], [1, -0.5, 0.5], [9, 0, 0]]", CAMP)
    path = write(tmp_path, small)
    with pytest.raises(InputError, match='perhaps to unit = "inch"'):
        read_knife(path, 1.0)


def test_outline_that_crosses_itself_is_refused(tmp_path):
    # At the step the spine side turns away before the edge side does, and the two cross.
    rows = "[[0, 0, 0], [40, 0, 10], [50, 0, 0.5], [52, 20, 20.5], [62, 20, 40], [200, 0, 0]]"
    text = STATIONS.sub(f"stations = {rows}", CAMP)
    with pytest.raises(InputError, match=r"crosses itself near x = 51\.9 mm, y = 20\.0 mm"):
        read_knife(write(tmp_path, text), 1.0)


def test_inch_file_equals_mm_file():
    file = read_knife_file(DEMO / "slender-knife.toml")
    inches = json.loads(file.model_dump_json(by_alias=True, exclude_none=True, exclude_unset=True))
    angles = {"bevel_angle", "roundness"}

    def scaled(value, key=""):
        if isinstance(value, dict):
            return {name: scaled(part, name) for name, part in value.items()}
        if isinstance(value, list):
            return [scaled(part, key) for part in value]
        return value / 25.4 if isinstance(value, int | float) and key not in angles else value

    inches = scaled(inches)
    inches["knife"]["unit"] = "inch"
    del inches["blade"]["edge_margin"]  # what is left out keeps its default of 0.5 mm
    here = knife_of(KnifeFile.model_validate(inches), 0.5)
    there = knife_of(file, 0.5)
    assert here.length == pytest.approx(there.length)
    assert here.blade_length == pytest.approx(110)
    assert here.uncertainty == pytest.approx(0.1)
    assert here.outline.area == pytest.approx(there.outline.area, rel=1e-6)
    assert here.edge_band.area == pytest.approx(there.edge_band.area, rel=1e-5)
    assert here.half.z.sum() == pytest.approx(there.half.z.sum(), rel=1e-3)


def test_same_file_gives_the_same_knife():
    first = read_knife(DEMO / "camp-knife.toml", 0.5)
    second = read_knife(DEMO / "camp-knife.toml", 0.5)
    assert first.half.z.tobytes() == second.half.z.tobytes()
    assert first.outline.wkb == second.outline.wkb
    assert first.edge_band.wkb == second.edge_band.wkb


def test_schema_describes_every_table():
    schema = knife_schema()
    assert "from" in schema["$defs"]["GuardTable"]["properties"]
    kinds = [schema["$defs"][kind["$ref"].rpartition("/")[2]] for kind in schema["anyOf"]]
    measured, scanned = (set(kind["properties"]) for kind in kinds)
    assert measured == {"knife", "outline", "blade", "guard", "handle"}
    assert scanned == {"knife", "mesh"}
    assert not any(kind["additionalProperties"] for kind in kinds)
    json.dumps(schema)


def test_demo_knives_are_as_described():
    camp, slender = camp_knife(0.2), slender_knife(0.2)
    assert camp.length == pytest.approx(230)
    assert camp.blade_length == 115
    assert 18 < camp.thickness < 19
    assert slender.length == pytest.approx(210)
    # Behind the guard the handle has a waist, and its swell is thicker: something to hold by.
    along = 2 * camp.half.z.max(axis=0)
    x = camp.half.grid.x
    guard, waist = along[np.abs(x - 123) < 0.3].max(), along[np.abs(x - 139) < 0.3].max()
    assert guard - waist > 2
    for knife in (camp, slender):
        assert check_knife(knife) == ()
        assert steepest_bevel(knife) == pytest.approx(20, abs=0.1)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (changed("bevel_angle = 20", "bevel_angle = 40"), "edge-angle-unusual"),
        (changed("bevel_angle = 20", "bevel_angle = 8"), "edge-angle-unusual"),
        (
            re.sub(r"spine_thickness = .*", "spine_thickness = [[0, 0.5], [115, 0.5]]", CAMP),
            "blade-thin",
        ),
        (
            re.sub(
                r"thickness = \[\n.*?\n\]",
                "thickness = [[115, 3], [230, 3]]",
                CAMP,
                flags=re.DOTALL,
            ),
            "handle-thinner-than-blade",
        ),
        (
            re.sub(
                r"thickness = \[\n.*?\n\]",
                "thickness = [[115, 50], [230, 50]]",
                CAMP,
                flags=re.DOTALL,
            ),
            "handle-thickness-unusual",
        ),
        (changed("[20, 3.2]", "[6.3, 5.2]"), "thickness-jump"),
        (changed("uncertainty = 0.1", "uncertainty = 0.9"), "measurement-uncertain"),
    ],
)
def test_odd_measurements_are_doubted(tmp_path, text, code):
    findings = check_knife(read_knife(write(tmp_path, text), 0.2))
    assert code in {finding.code for finding in findings}


def test_example_of_a_drawn_knife_is_the_same_from_svg_and_from_dxf(tmp_path):
    folder = Path(__file__).parents[2] / "examples" / "drawn-knife"
    svg = read_knife(folder / "knife.toml", 0.5)
    text = (folder / "knife.toml").read_text("utf-8")
    (tmp_path / "plover.dxf").write_bytes((folder / "plover.dxf").read_bytes())
    dxf = read_knife(write(tmp_path, changed('"plover.svg"', '"plover.dxf"', text)), 0.5)
    assert svg.length == pytest.approx(187.42, abs=0.01)
    assert dxf.outline.area == pytest.approx(svg.outline.area, rel=1e-4)
    assert dxf.outline.symmetric_difference(svg.outline).area < 0.5
    assert check_knife(svg) == ()


def test_drawing_error_names_the_drawing(tmp_path):
    text = STATIONS.sub('drawing = "gone.svg"', CAMP)
    with pytest.raises(InputError, match=r"gone\.svg: there is no such drawing"):
        read_knife(write(tmp_path, text), 1.0)
