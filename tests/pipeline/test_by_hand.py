"""A sheath made by hand: the same sheath, without one program, each paper of its true size."""

from __future__ import annotations

import json
import tomllib
from io import BytesIO

import numpy as np
import pypdfium2
import pytest
import trimesh

from chape.documents.meshes import mesh_files, mouth_solid
from chape.documents.page_by_hand import by_hand_pdf
from chape.errors import InputError
from chape.findings import errors
from chape.pipeline.by_hand import pack_by_hand, run_by_hand
from chape.pipeline.file import read_request
from chape.pipeline.folder import write_folder
from chape.pipeline.keep import Keep
from chape.pipeline.page import Page
from chape.pipeline.recheck import recheck_folder
from chape.pipeline.stages import Stages
from chape.tooling.profile_boards import make_former
from chape.units import LengthUnit
from specimens import DEMO
from whole import whole

PAGE = Page("a4", LengthUnit.MM, None)


@pytest.fixture(scope="module")
def request_of(tmp_path_factory):
    folder = tmp_path_factory.mktemp("by-hand")
    text = (DEMO / "camp-sheath.toml").read_text("utf-8")
    # Coarse, and held as deep as the file says: the hold is proved elsewhere.
    text = text.replace("spacing = 0.2", "spacing = 0.8").replace("hold = 30", "# hold = 30")
    (folder / "sheath.toml").write_text(text, "utf-8")
    (folder / "camp-knife.toml").write_bytes((DEMO / "camp-knife.toml").read_bytes())
    return read_request(folder / "sheath.toml")


@pytest.fixture(scope="module")
def stages(tmp_path_factory):
    return Stages(Keep(tmp_path_factory.mktemp("kept")), lambda _title: None)


@pytest.fixture(scope="module")
def work(request_of, stages):
    return run_by_hand(request_of, stages, PAGE)


@pytest.fixture(scope="module")
def files(request_of, work):
    return pack_by_hand(request_of, work)


def test_the_folder_holds_templates_and_no_program(files, work):
    assert not [name for name in files if name.endswith(".nc") or name.startswith("programs")]
    count = len(work.formers[0].layers)
    layers = {f"templates/layer-{n}.pdf" for n in range(1, count + 1)}
    wanted = {"by-hand.pdf", "templates/template.pdf", "templates/profiles.pdf", "figures.json"}
    assert (layers | wanted) <= set(files)
    assert not errors(work.findings)
    released = json.loads(files["manifest.json"])["released"]
    assert released == {}


def test_every_template_is_printed_at_its_true_size(files):
    for name in (name for name in files if name.startswith("templates/")):
        document = pypdfium2.PdfDocument(files[name])
        words = document[0].get_textpage().get_text_range()
        assert "This bar must measure 100 mm" in words, name
        width, height = document[0].get_size()
        sizes = sorted((width * 25.4 / 72, height * 25.4 / 72))
        assert sizes == pytest.approx([210.0, 297.0], abs=0.5)


def test_the_layers_hold_the_whole_former_and_lie_on_one_another(work):
    (former,) = work.formers
    piece = whole(work.sheath)
    assert former.layers[-1].z_top >= piece.formed.z.max() > former.layers[-1].z_low
    for lower, upper in zip(former.layers[:-1], former.layers[1:], strict=True):
        assert lower.z_top == upper.z_low
        assert lower.shape.buffer(0.05).contains(upper.shape)
        assert set(upper.dowels) <= set(lower.dowels)
    assert former.layers[0].dowels


def test_a_profile_board_lies_on_the_former(work):
    (former,) = work.formers
    formed = whole(work.sheath).formed
    for board in former.profiles:
        points = np.column_stack([np.full(len(board.profile), board.u), board.profile[:, 0]])
        assert np.abs(formed.at(points) - board.profile[:, 1]).max() < 1e-9


def test_every_mesh_is_closed_and_as_large_as_it_says(files, work):
    for name in (name for name in files if name.endswith(".stl")):
        mesh = trimesh.load(BytesIO(files[name]), file_type="stl")
        assert mesh.is_watertight, name
        assert mesh.volume > 0, name
    mouth = trimesh.load(BytesIO(files["meshes/mouth-gauge.stl"]), file_type="stl")
    ends = [mesh_end(mouth, low, high) for low, high in ((1, 18), (70, 87))]
    gauge = work.gauges.mouth
    assert ends == pytest.approx([gauge.go, gauge.no_go], abs=0.02)


def mesh_end(mesh, low, high):
    """Return how thick a mesh is between two stations along x, mm."""
    x = mesh.vertices[:, 0]
    part = mesh.vertices[(x >= low - 2) & (x <= high + 2)]
    return 2 * float(np.abs(part[:, 2]).max())


def test_the_folder_is_checked_for_what_it_is(files, work, stages, tmp_path):
    folder = tmp_path / "by-hand"
    write_folder(folder, files)
    assert recheck_folder(folder, stages) == work.findings
    (folder / "templates" / "template.pdf").write_bytes(b"another")
    assert "file-changed" in {finding.code for finding in recheck_folder(folder, stages)}


def test_the_same_sheath_gives_the_same_bytes(files, work):
    assert by_hand_pdf(work) == files["by-hand.pdf"]
    again = mesh_files({"mouth-gauge": mouth_solid(work.gauges.mouth)})
    assert {name: files[name] for name in again} == again


@pytest.mark.parametrize("board", [0.2, 40.0, float("nan")])
def test_boards_of_no_use_are_refused(work, board):
    with pytest.raises(InputError, match="build up"):
        make_former(whole(work.sheath), [60.0], board)


def test_the_sheath_is_the_one_the_mill_would_make(work):
    tables = tomllib.loads((DEMO / "camp-sheath.toml").read_text("utf-8"))
    assert work.sheath.choices.snap_depth == tables["sheath"]["snap_depth"]
