"""Scans and meshes on the command line, and how an overlay is drawn."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from chape.cli.main import app
from chape.documents.picture_overlay import rectified
from chape.errors import InputError, OutputError
from chape.knife.laying import lay_outline
from chape.knife.measured import Measured
from chape.knife.picture import Picture
from chape.pipeline.measured import write_measured
from measured_camp import camp_ring
from rendered_photos import knife_outline
from rendered_scans import card_outline, moved, scan

RUN = CliRunner()
HERON = Path(__file__).parents[2] / "examples/scanned-knife/heron.ply"


def test_a_scan_is_told_from_a_photograph_by_what_it_notes(tmp_path):
    ring, _ = knife_outline("drop point", 120.0)
    seen = scan([(moved(ring, (12, 76), 0.03), 0.15), (moved(card_outline(), (70, 36), 0.1), 0.5)])
    path = tmp_path / "otter.png"
    Image.fromarray(seen.pixels).save(path, dpi=(150, 150))
    done = RUN.invoke(app, ["measure", str(path), "--handle-thickness", "0.7", "--unit", "inch",
                            "--spine-thickness", "0.157", "--json"])  # fmt: skip
    assert done.exit_code == 0, done.output
    figures = json.loads(done.stdout)
    assert figures["source"] == "scan"
    assert figures["length_mm"] == pytest.approx(120.0, abs=0.4)
    assert [finding["code"] for finding in figures["findings"]] == ["scan-scale"]
    with Image.open(tmp_path / "otter/overlay.png") as overlay:
        assert overlay.size[0] == 2000
    text = (tmp_path / "otter/knife.toml").read_text("utf-8")
    assert "17.78]" in text


def test_a_mesh_comes_with_its_own_file(tmp_path):
    mesh = tmp_path / HERON.name
    shutil.copy(HERON, mesh)
    done = RUN.invoke(app, ["measure", str(mesh), "--tip", "+x", "--name", "Heron", "--json"])
    assert done.exit_code == 0, done.output
    figures = json.loads(done.stdout)
    assert figures["length_mm"] == pytest.approx(200.0, abs=0.3)
    folder = tmp_path / "heron"
    assert (folder / "heron.ply").read_bytes() == HERON.read_bytes()
    # What was found is written down, so that it stays.
    text = (folder / "knife.toml").read_text("utf-8")
    assert all(line in text for line in ('unit = "mm"', 'tip = "+x"', 'edge = "+z"'))
    again = RUN.invoke(app, ["check", str(folder / "knife.toml")])
    assert again.exit_code == 0, again.output


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--bar", "200"], "--bar says nothing of a mesh"),
        (["--tip", "left"], "axis of the mesh"),
        (["--mesh-unit", "feet"], '--mesh-unit "feet"'),
    ],
)
def test_what_says_nothing_of_a_mesh_is_refused(options, words):
    done = RUN.invoke(app, ["measure", str(HERON), "--out", "nowhere", *options])
    assert isinstance(done.exception, InputError)
    assert words in str(done.exception)


def test_a_folder_is_written_whole_or_not_at_all(tmp_path):
    with pytest.raises(OutputError, match="cannot be written"):
        write_measured(tmp_path / "out", {"a.toml": b"x", "no/such/folder.png": b"y"})
    assert list((tmp_path / "out").iterdir()) == []
    write_measured(tmp_path / "out", {"a.toml": b"x"})
    with pytest.raises(OutputError, match="there already"):
        write_measured(tmp_path / "out", {"b.toml": b"z", "a.toml": b"y"})
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["a.toml"]


def test_the_picture_is_turned_into_the_knife_frame():
    """A picture whose red tells its column and whose green its row comes out as it was mapped."""
    columns, rows = np.meshgrid(np.arange(256), np.arange(120))
    pixels = np.dstack([columns, rows, np.zeros_like(rows)]).astype(np.uint8)
    laid = lay_outline(camp_ring())
    measured = Measured(
        "scan", laid, Picture(pixels, None, None),
        lambda points: np.column_stack([points[:, 0], 100 - points[:, 1]]), 0.0, 0.0,
    )  # fmt: skip
    turned = rectified(measured, (10.0, 20.0, 90.0, 70.0), 2.0)
    assert turned.shape == (100, 160, 3)
    x = 10 + (np.arange(160) + 0.5) / 2
    y = 70 - (np.arange(100) + 0.5) / 2
    assert np.abs(turned[..., 0] - x).max() <= 0.75
    assert np.abs(turned[..., 1] - (100 - y)[:, None]).max() <= 0.75
    outside = rectified(measured, (300.0, 0.0, 320.0, 10.0), 2.0)
    assert (outside == 255).all()


def test_a_picture_without_marker_or_scanner_is_refused(tmp_path):
    ring, _ = knife_outline("drop point", 120.0)
    seen = scan([(moved(ring, (12, 76), 0.03), 0.15)])
    path = tmp_path / "otter.jpg"
    Image.fromarray(seen.pixels).save(path, dpi=(72, 72))
    done = RUN.invoke(app, ["measure", str(path)])
    assert isinstance(done.exception, InputError)
    assert "no marker of a reference sheet" in str(done.exception)
