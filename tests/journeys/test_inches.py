"""A maker who measures in inches gets the sheath of one who measures in mm."""

from __future__ import annotations

import json
import tomllib

import numpy as np
import pytest

from chape.knife.read import read_knife
from chape.pipeline.file import read_request
from chape.sheath.design import design_sheath
from specimens import DEMO
from whole import whole

#: Numbers of the demo's files that are not lengths.
BARE = {
    *("bevel_angle", "roundness", "draft", "along", "copies", "screws_per_sheath"),
    *("hold", "hold_band", "friction", "shake", "safety", "samples", "seed"),
    *("temperature", "cold", "hot", "altitude"),
}

#: No node of this grid lies on the spine, where rounding would decide whether it is knife.
SPACING = 0.65


def in_inches(value, key=""):
    if isinstance(value, dict):
        return {name: in_inches(part, name) for name, part in value.items()}
    if isinstance(value, list):
        return [in_inches(part, key) for part in value]
    if isinstance(value, int | float) and key not in BARE:
        return round(value / 25.4, 10)
    return value


def as_toml(tables, above=""):
    listed = {k: v for k, v in tables.items() if isinstance(v, list) and isinstance(v[0], dict)}
    plain = {k: v for k, v in tables.items() if not isinstance(v, dict) and k not in listed}
    lines = [f"{k} = {json.dumps(v)}" for k, v in plain.items()]
    for key, value in tables.items():
        if isinstance(value, dict):
            lines += ["", f"[{above}{key}]", as_toml(value, f"{above}{key}.")]
    for key, parts in listed.items():
        lines += [f"\n[[{above}{key}]]\n{as_toml(part)}" for part in parts]
    return "\n".join(lines)


@pytest.fixture(scope="module")
def inch_folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("inches")
    knife = tomllib.loads((DEMO / "camp-knife.toml").read_text())
    del knife["knife"]["measured"]
    sheath = tomllib.loads((DEMO / "camp-sheath.toml").read_text())
    for name, tables, place in (
        ("camp-knife.toml", in_inches(knife), "knife"),
        ("sheath.toml", in_inches(sheath), None),
    ):
        (tables if place is None else tables[place])["unit"] = "inch"
        (folder / name).write_text(as_toml(tables))
    return folder


def design(file):
    request = read_request(file)
    choices = request.file.sheath.model_copy(update={"spacing": SPACING})
    knife = read_knife(request.knife, SPACING)
    return request.file, design_sheath(knife, choices, request.catalog)


def test_inches_give_the_same_sheath(inch_folder):
    file, sheath = design(inch_folder / "sheath.toml")
    wanted_file, wanted = design(DEMO / "camp-sheath.toml")
    assert sheath.knife.length == pytest.approx(wanted.knife.length, abs=1e-4)
    assert whole(sheath).formed.z.shape == whole(wanted).formed.z.shape
    # The round sections of the handle stand upright at their rims, which magnifies rounding.
    assert np.abs(whole(sheath).formed.z - whole(wanted).formed.z).max() < 0.002
    polygon, wanted_polygon = whole(sheath).pattern.polygon(), whole(wanted).pattern.polygon()
    assert polygon.hausdorff_distance(wanted_polygon) < 0.02
    places = [(hole.u, hole.v, hole.diameter) for hole in whole(sheath).holes]
    wanted_places = [(hole.u, hole.v, hole.diameter) for hole in whole(wanted).holes]
    assert np.abs(np.array(places) - np.array(wanted_places)).max() < 0.002
    for table in ("blank", "mould", "fixture"):
        got, want = (getattr(each, table).model_dump() for each in (file, wanted_file))
        for key, value in want.items():
            near = value if isinstance(value, str | None) else pytest.approx(value, abs=1e-4)
            assert got[key] == near, f"{table}.{key}"
