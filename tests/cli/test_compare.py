"""``chape compare`` as a person uses it."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import pytest
from typer.testing import CliRunner

from chape.cli.main import app
from chape.cli.make import HELD_BACK
from chape.errors import InputError
from chape.pipeline.folder import manifest
from scanned import EXAMPLE, stl, whole_knife
from specimens import DEMO

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


def customers(folder, handle="[123, 18.0]"):
    """Write the demo's knife as a customer's, with another row of its handle."""
    knife = (DEMO / "camp-knife.toml").read_text("utf-8")
    path = folder / "customer.toml"
    path.write_text(knife.replace("Tarn camp knife", "Customer").replace("[123, 18.0]", handle))
    return path


def test_where_two_knives_differ_that_mostly_agree_is_said(tmp_path):
    told = compare(DEMO / "camp-knife.toml", customers(tmp_path, "[123, 21.0]")).stdout
    assert "They agree within" in told
    assert "Not everywhere" in told


def test_a_knife_is_laid_into_the_sheath_of_a_job_folder(tmp_path):
    job = tmp_path / "job"
    (job / "inputs").mkdir(parents=True)
    (job / "manifest.json").write_bytes(manifest("Job", "camp-sheath.toml", {}, {}))
    sheath = (DEMO / "camp-sheath.toml").read_text("utf-8")
    # Coarse, and so a little nearer to the edge; as deep as it says, so that nothing is searched.
    kept = [line for line in sheath.splitlines() if not line.startswith(("hold =", "spacing"))]
    text = "\n".join(kept).replace("[sheath]", "[sheath]\nspacing = 0.8", 1)
    text = text.replace("edge_margin = 0.3", "edge_margin = 0.2")
    (job / "inputs/camp-sheath.toml").write_text(text)
    (job / "inputs/camp-knife.toml").write_bytes((DEMO / "camp-knife.toml").read_bytes())
    told = compare(job, customers(tmp_path))
    assert told.exit_code == 0, told.output
    assert "Customer in Tarn camp sheath: fits" in told.stdout
    told = compare(job, customers(tmp_path, "[123, 21.0]"))
    assert told.exit_code == HELD_BACK
    assert "Customer in Tarn camp sheath: does not fit" in told.stdout


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
