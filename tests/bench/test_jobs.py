"""What of a job leaves the bench: files as the manifest has them, programs only as proved."""

import io
import json
import zipfile

import pytest
from fastapi.testclient import TestClient

from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.job_folder import key_of_inputs
from chape.bench.place import Kind, open_place
from chape.pipeline.file import read_request
from chape.pipeline.folder import manifest, sha256, write_folder

PROGRAM = "programs/trim.nc"
FIGURES = {
    "released": True,
    "sheath": {"hand": "right"},
    "fold": {"line": 36.0},
    "findings": [
        {
            "code": "rivet-edge-low",
            "severity": "warning",
            "place": "eyelet at u = 3 mm, v = -30 mm",
            "message": "Too little sheet is left.",
            "mend": "Ask for more.",
            "measured": 1.5,
            "limit": 2.0,
            "unit": "diameters",
        }
    ],
    "programs": {
        "trim": {
            "title": "Trim",
            "seconds": 60.0,
            "loads": [{"number": 3}],
            "files": {"trim.nc": "-"},
        }
    },
}


@pytest.fixture
def page(tmp_path):
    bench = Bench(open_place(tmp_path))
    with TestClient(
        create_app(bench), base_url="http://127.0.0.1:8017", client=("127.0.0.1", 50000)
    ) as client:
        client.post("/api/knives", json={"name": "camp", "from": "example"})
        client.post("/api/sheaths", json={"name": "one", "knife": "camp"})
        client.bench = bench
        yield client


def make(page, *, released=True, text=b"G21\nM30\n", **figures):
    """Write a job folder as a make would."""
    path = page.bench.place.file_of(Kind.SHEATH, "one")
    told = json.dumps(FIGURES | {"released": released} | figures).encode()
    outputs = {"figures.json": told, "job.pdf": b"%PDF", PROGRAM: text}
    outputs |= {f"inputs/{name}": data for name, data in read_request(path).inputs.items()}
    passed = {PROGRAM: sha256(text)} if released else {}
    record = manifest("one", path.name, outputs, passed)
    write_folder(path.parent / "job", {**outputs, "manifest.json": record})
    return path.parent / "job"


def names_in(zipped):
    return set(zipfile.ZipFile(io.BytesIO(zipped)).namelist())


def test_a_sheath_without_a_job_says_so(page):
    assert page.get("/api/sheaths/one/job").json()["state"] == "none"
    assert page.get("/api/sheaths/one/job.zip").status_code == 404
    assert page.get("/api/sheaths/one/exact").status_code == 404
    assert page.get("/api/sheaths/two/job").status_code == 404


def test_a_job_is_old_once_a_file_it_was_made_of_is_changed(page):
    folder = make(page)
    told = page.get("/api/sheaths/one/job").json()
    assert (told["state"], told["released"]) == ("current", True)
    assert told["programs"][0]["texts"] == [PROGRAM]
    assert told["programs"][0]["released"] is True
    assert told["findings"][0]["place"] == {"x": 3.0, "y": 6.0}
    assert {"path": "job.pdf", "bytes": 4} in told["files"]
    knife = folder.parent.parent.parent / "knives/camp/knife.toml"
    knife.write_text(knife.read_text("utf-8") + "# again\n", "utf-8")
    assert page.get("/api/sheaths/one/job").json()["state"] == "old"


def test_a_released_program_is_handed_out_as_it_was_proved(page):
    make(page)
    got = page.get(f"/api/sheaths/one/job/file/{PROGRAM}")
    assert got.content == b"G21\nM30\n"
    assert "trim.nc" in got.headers["content-disposition"]
    assert names_in(page.get("/api/sheaths/one/job.zip").content) >= {f"one/{PROGRAM}"}


def test_a_program_that_was_not_released_stays(page):
    make(page, released=False)
    got = page.get(f"/api/sheaths/one/job/file/{PROGRAM}")
    assert got.status_code == 403
    assert "not released" in got.json()["problem"]["sentence"]
    zipped = page.get("/api/sheaths/one/job.zip").content
    assert f"one/{PROGRAM}" not in names_in(zipped)
    note = zipfile.ZipFile(io.BytesIO(zipped)).read("one/left-out.txt").decode()
    assert "not released" in note


def test_a_program_that_was_changed_after_its_proof_stays(page):
    folder = make(page)
    (folder / PROGRAM).write_bytes(b"G21\nG0 Z-99\nM30\n")
    assert page.get(f"/api/sheaths/one/job/file/{PROGRAM}").status_code == 403
    assert f"one/{PROGRAM}" not in names_in(page.get("/api/sheaths/one/job.zip").content)


@pytest.mark.parametrize(
    "name", ["../sheath.toml", "..%2Fsheath.toml", "/etc/passwd", "inputs/../../sheath.toml", "x"]
)
def test_nothing_but_what_the_job_wrote_is_handed_out(page, name):
    make(page)
    assert page.get(f"/api/sheaths/one/job/file/{name}").status_code in {403, 404}


def test_a_link_in_the_folder_leads_nowhere(page, tmp_path_factory):
    folder = make(page)
    outside = tmp_path_factory.mktemp("outside") / "secret"
    outside.write_text("secret", "utf-8")
    (folder / "job.pdf").unlink()
    (folder / "job.pdf").symlink_to(outside)
    got = page.get("/api/sheaths/one/job/file/job.pdf")
    assert got.status_code == 404
    assert b"secret" not in got.content
    assert b"secret" not in page.get("/api/sheaths/one/job.zip").content


def test_the_same_job_gives_the_same_zip(page):
    make(page)
    first, second = (page.get("/api/sheaths/one/job.zip").content for _ in range(2))
    assert first == second


def test_damaged_figures_are_a_sentence(page):
    folder = make(page)
    (folder / "figures.json").write_text("{", "utf-8")
    got = page.get("/api/sheaths/one/job")
    assert got.status_code == 422
    assert "damaged" in got.json()["problem"]["sentence"]


def test_exact_figures_are_old_once_a_file_is_changed(page):
    path = page.bench.place.file_of(Kind.SHEATH, "one")
    figures = dict.fromkeys(
        (
            *("spacing", "least_clearance", "edge_clearance", "length", "snap_depth", "mass"),
            *("flat_area", "blank_use"),
        ),
        1.0,
    )
    told = {
        "key": key_of_inputs(read_request(path).inputs),
        "figures": figures | {"copies": 1, "holes": 5},
        "findings": [],
        "fit": {"hold": 30.0},
    }
    kept = page.bench.place.own / "exact/one.json"
    kept.parent.mkdir(parents=True)
    kept.write_text(json.dumps(told), "utf-8")
    assert page.get("/api/sheaths/one/exact").json()["current"] is True
    path.write_text(path.read_text("utf-8") + "# again\n", "utf-8")
    assert page.get("/api/sheaths/one/exact").json()["current"] is False


def test_a_shape_that_is_not_known_is_refused_by_the_page(page):
    refused = page.get("/api/sheaths/one/solid/mould.bin?shade=rainbow")
    assert refused.status_code == 422
    assert page.get("/api/sheaths/one/solid/mould.bin?triangles=1e9").status_code == 422
    assert page.get("/api/sheaths/none/solid/mould.bin").status_code == 404
