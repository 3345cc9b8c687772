"""A person checks a program from elsewhere: what they type, what they see, what is refused."""

from __future__ import annotations

import json
import struct

import numpy as np
import pytest
from typer.testing import CliRunner

from chape.cli.main import app, run
from chape.pipeline.loose_program import first_offset
from cutting.proof_setups import END, text_of

#: A face at Z -1, the rack's 6 mm flat, on a block of 30 x 30 x 10 with its zero on top.
FACE = ["G17 G21 G40 G49 G80 G90 G94", "G55", "T1 M6", "S12000 M3", "G0 Z10", "G0 X-5 Y0", "G0 Z5",
        "G1 Z-1 F600"]  # fmt: skip
LINES = [f"G1 Y{y} F1500\nX{35 if n % 2 == 0 else -5}" for n, y in enumerate(range(0, 31, 3))]


def level_stl(size: float, z: float) -> bytes:
    """A level square with a corner at the zero."""
    far = (size, size, z)
    top = [[(0, 0, z), (size, 0, z), far], [(0, 0, z), far, (0, size, z)]]
    facets = b"".join(struct.pack("<12fH", 0, 0, 1, *np.ravel(t), 0) for t in top)
    return b"top".ljust(80) + struct.pack("<I", len(top)) + facets


@pytest.fixture
def program(tmp_path):
    path = tmp_path / "face.nc"
    path.write_text(text_of(FACE, LINES, END))
    (tmp_path / "flat.stl").write_bytes(level_stl(30, -1))
    return path


def asked(program, *more):
    return CliRunner().invoke(app, ["check", str(program), "--stock", "30x30x10", *more])


def test_a_sound_program_is_told_so_with_its_time(program):
    done = asked(program, "--target", str(program.parent / "flat.stl"))
    assert done.exit_code == 0, done.output
    assert "nothing wrong seen" in done.output
    assert "gouge     0.000 mm" in done.output


def test_without_a_target_the_surface_is_said_not_to_be_judged(program):
    done = asked(program, "--json")
    found = json.loads(done.output)
    assert (done.exit_code, found["gouge_most"], found["moves"]) == (0, None, 27)
    assert "not judged" in asked(program).output


def test_a_zero_elsewhere_gouges_and_the_exit_code_says_so(program):
    target = str(program.parent / "flat.stl")
    done = asked(program, "--json", "--target", target, "--target-zero", "0,0,-0.5")
    found = json.loads(done.output)
    assert done.exit_code == 6
    assert found["gouge_most"] == pytest.approx(0.5, abs=0.01)
    assert "gouge" in [finding["code"] for finding in found["findings"]]


def test_a_wrong_offset_is_found_when_one_is_expected(program):
    assert asked(program, "--offset", "G55").exit_code == 0
    done = asked(program, "--offset", "G54")
    assert done.exit_code == 6
    assert "offset-wrong" in done.output


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--stock", "30x30"], "neither a size nor"),
        (["--stock", "0x30x10"], "no piece for a router"),
        (["--stock", "30x30x10", "--zero", "middle"], "names no corner"),
        (["--stock", "30x30x10", "--zero", "1,2"], "is no place"),
        (["--stock", "30x30x10", "--zero", "nan,0,0"], "is no place"),
        (["--stock", "30x30x10", "--spacing", "0"], "--spacing"),
        (["--stock", "30x30x10", "--machine", "none"], "machines"),
        (["--stock", "nothing.stl"], "no such file"),
        ([], "Add --stock"),
    ],
)
def test_what_cannot_be_used_is_one_sentence(program, monkeypatch, capsys, options, said):
    monkeypatch.setattr("sys.argv", ["chape", "check", str(program), *options])
    with pytest.raises(SystemExit) as stopped:
        run()
    assert stopped.value.code == 2
    assert said in capsys.readouterr().err


def test_a_program_that_is_no_text_is_refused(program, monkeypatch, capsys):
    program.write_bytes(b"\0\1\2")
    monkeypatch.setattr("sys.argv", ["chape", "check", str(program), "--stock", "30x30x10"])
    with pytest.raises(SystemExit):
        run()
    assert "no text" in capsys.readouterr().err


def test_a_program_too_large_to_be_one_is_refused(program, monkeypatch, capsys):
    with program.open("r+b") as file:
        file.truncate(70_000_000)
    monkeypatch.setattr("sys.argv", ["chape", "check", str(program), "--stock", "30x30x10"])
    with pytest.raises(SystemExit):
        run()
    assert "larger than" in capsys.readouterr().err


def test_pictures_are_written_when_asked_for(program):
    target = str(program.parent / "flat.stl")
    folder = program.parent / "pictures"
    assert asked(program, "--target", target, "--pictures", str(folder)).exit_code == 0
    names = {path.name for path in folder.iterdir()}
    assert names == {"before.png", "after.png", "leftover.png", "engagement.png"}


@pytest.mark.parametrize(
    ("text", "offset"),
    [("(G56)\nG57 G0 X1", "G57"), ("G54.1 P12", "G54.1P12"), ("G0 X1", "G54"), ("g59.3", "G59.3")],
)
def test_the_first_offset_called_is_the_one_expected(text, offset):
    assert first_offset(text) == offset
