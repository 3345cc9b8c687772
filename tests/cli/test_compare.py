"""``chape compare`` as a person uses it."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import pytest
from typer.testing import CliRunner

from chape.cli.main import app
from chape.errors import InputError
from scanned import EXAMPLE, stl, whole_knife

RUN = CliRunner()


def compare(*words):
    return RUN.invoke(app, ["compare", *map(str, words)], catch_exceptions=False)


def test_a_scan_against_the_knife_it_was_made_of(tmp_path):
    (tmp_path / "drawn.stl").write_bytes(stl(whole_knife()))
    picture = tmp_path / "both.svg"
    told = compare(EXAMPLE / "knife.toml", tmp_path / "drawn.stl", "--out", picture)
    assert told.exit_code == 0
    assert "drawn laid over Heron skinner" in told.stdout
    assert "They agree within what both say of their errors, 0.20 mm together" in told.stdout
    assert ET.fromstring(picture.read_bytes()).tag.endswith("svg")  # noqa: S314 - our own file
    figures = json.loads(compare(EXAMPLE / "knife.toml", tmp_path / "drawn.stl", "--json").stdout)[
        "comparison"
    ]
    assert figures["agree"]
    assert figures["outline_95"] < 0.1
    assert abs(figures["length"]) < 0.1
    assert figures["compared"] > 0.85


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("none.toml", "none.toml"), "there is no such file"),
        ((EXAMPLE / "knife.toml", "none.stl"), "there is no such file"),
        ((EXAMPLE / "knife.toml", EXAMPLE / "knife.toml", "--out", "a.gif"), "found --out"),
        ((EXAMPLE / "knife.toml", EXAMPLE / "knife.toml", "--unit", "cm"), "found --unit"),
        ((EXAMPLE / "knife.toml", EXAMPLE / "sheath.toml"), "this is a sheath's file"),
        ((EXAMPLE / "knife.toml", "otter.HEIC"), "Measure it first"),
        ((EXAMPLE, EXAMPLE / "knife.toml"), "manifest"),
    ],
)
def test_what_cannot_be_compared_is_refused(words, said):
    with pytest.raises(InputError, match=said):
        compare(*words)
