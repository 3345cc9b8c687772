"""A maker's way through chape: start, make, open, edit, make again, check."""

import hashlib
import io
import json
import signal
import struct
import subprocess
import sys
import time
import zipfile

import pytest
import trimesh

from begun import begun, chape, typed
from chape.bench.shapes import Shape, shape_buffer
from chape.pipeline.file import read_request
from chape.pipeline.keep import Keep
from chape.pipeline.kept import KeptJob


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("workshop"))


@pytest.fixture(scope="module")
def job(workshop):
    done = chape("make", "sheath.toml", "--json", folder=workshop)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    assert json.loads(done.stdout)["released"] is True
    return workshop / "sheath-job"


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_every_file_is_in_the_manifest_with_its_hash(job):
    manifest = json.loads((job / "manifest.json").read_text())
    there = {str(path.relative_to(job)) for path in job.rglob("*") if path.is_file()} - {
        "manifest.json"
    }
    assert there == set(manifest["outputs"])
    for name, wanted in manifest["outputs"].items():
        assert digest(job / name) == wanted, name


def test_the_programs_are_there_and_carry_the_hash_that_was_proved(job):
    manifest = json.loads((job / "manifest.json").read_text())
    assert set(manifest["released"]) == {
        f"programs/{name}.nc" for name in ("mould-top", "mould-back", "fixture", "trim")
    }
    for name, wanted in manifest["released"].items():
        assert digest(job / name) == wanted


@pytest.mark.usefixtures("job")
def test_every_part_of_the_job_is_kept_to_be_looked_at(workshop):
    path = workshop / "sheath.toml"
    kept = KeptJob(read_request(path), Keep.of_person())
    assert set(kept.programs) == {"mould-top", "mould-back", "fixture", "trim"}
    assert kept.program("trim").verdict.released
    assert kept.fit.hold > 0
    for which, shade in (("sheath", "thickness"), ("blank", "thickness"), ("mould", "leftover")):
        buffer = shape_buffer(Shape(path, which, shade, 20_000))
        assert buffer[:4] == b"CHPM"
        least, greatest = struct.unpack_from("<2f", buffer, 16)
        assert -0.05 < least < greatest < 2.2


@pytest.mark.parametrize("name", ["mould", "fixture", "dummy"])
def test_the_meshes_open_watertight_elsewhere(job, name):
    mesh = trimesh.load(job / f"meshes/{name}.stl")
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    with zipfile.ZipFile(io.BytesIO((job / f"meshes/{name}.3mf").read_bytes())) as package:
        assert package.testzip() is None
    assert trimesh.load(job / f"meshes/{name}.3mf", force="mesh").volume == pytest.approx(
        mesh.volume, rel=1e-4
    )


def test_a_comment_makes_everything_anew_and_changes_no_byte_of_it(workshop, job):
    knife = workshop / "knife.toml"
    text = knife.read_text()
    knife.write_text(text + "# the customer's own words\n")
    done = chape("make", "sheath.toml", "--out", "again", folder=workshop)
    knife.write_text(text)
    assert done.returncode == 0, done.stderr
    assert "Write and prove the programs" in done.stderr, "nothing kept answers for it"
    first, again = (
        json.loads((folder / "manifest.json").read_text())["outputs"]
        for folder in (job, workshop / "again")
    )
    assert {name for name in first if first[name] != again[name]} == {"inputs/knife.toml"}


def test_a_second_run_computes_only_the_pages(workshop, job):
    done = typed("make", "sheath.toml", "--date", "2026-03-14", folder=workshop)
    assert done.returncode == 0, done.stderr
    computed = [line.split("  ")[0] for line in done.stderr.splitlines() if line]
    assert any("Set the pages" in line for line in computed), done.stderr
    for title in ("Design the sheath", "prove the programs", "Mesh the mould", "Draw the pictures"):
        assert not any(title in line for line in computed), title
    assert (job / "job.pdf").is_file()


def test_check_finds_a_sound_job_sound_and_again_what_was_found_when_it_was_made(workshop, job):
    done = typed("check", job.name, "--json", folder=workshop)
    assert done.returncode == 0, done.stdout + done.stderr
    again = json.loads(done.stdout)["findings"]
    made = json.loads((job / "figures.json").read_text())["findings"]
    seen, before = (
        sorted((row["code"], row["place"], row["message"]) for row in rows)
        for rows in (again, made)
    )
    assert seen == before


def test_check_sees_a_program_that_was_changed_by_hand(workshop, job, tmp_path):
    copy = tmp_path / "job"
    subprocess.run(["cp", "-r", job, copy], check=True)
    program = copy / "programs/mould-top.nc"
    lines = program.read_text().splitlines()
    deepest = next(i for i, line in enumerate(lines) if "Z" in line and "G1" in line)
    lines[deepest] = "G1 Z-40.0 F900"
    program.write_text("\n".join(lines) + "\n")
    done = typed("check", copy, "--json", folder=workshop)
    assert done.returncode == 6, done.stdout[-2000:]
    codes = {finding["code"] for finding in json.loads(done.stdout)["findings"]}
    assert "file-changed" in codes
    assert len(codes - {"file-changed"}) > 0


def test_an_interrupt_leaves_the_old_job_alone(workshop, job):
    before = digest(job / "manifest.json")
    running = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "from chape.cli.main import run; run()",
            "make",
            "sheath.toml",
            "--afresh",
        ],
        cwd=workshop,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(4)
    running.send_signal(signal.SIGINT)
    _, said = running.communicate(timeout=60)
    assert running.returncode == 130
    assert "Traceback" not in said
    assert "chape: stopped" in said
    assert digest(job / "manifest.json") == before
    assert [path.name for path in workshop.iterdir() if path.name.startswith(".")] == []
