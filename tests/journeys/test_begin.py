"""A maker's first steps, and what slips of the pen are told."""

import re

import pytest

from begun import SHEATH, begun, typed


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    return begun(tmp_path_factory.mktemp("workshop"))


@pytest.mark.parametrize(
    ("arguments", "code", "says"),
    [
        (["make", "nowhere.toml"], 2, "nowhere.toml: there is no such file"),
        (["make", "."], 2, "folder"),
        (["make", "sheath.toml", "--paper", "a0"], 2, "a4"),
        (["make", "sheath.toml", "--date", "14.3.2026"], 2, "YYYY-MM-DD"),
        (["make", "sheath.toml", "--out", "knife.toml"], 5, "knife.toml"),
        (["make", "sheath.toml", "--out", "knife.toml/job"], 5, "knife.toml"),
        (["make", "sheath.toml", "--out", "/proc/chape"], 5, "/proc"),
        (["make", "sheath.toml", "--out", "."], 5, "no job"),
        (["check", "."], 2, "no job folder"),
        (["new", "."], 5, "already"),
        (["schema", "cat"], 2, "knife"),
        (["catalog", "clips", "nothing"], 2, "belt-loop-2"),
    ],
)
def test_bad_commands_get_one_sentence(workshop, arguments, code, says):
    done = typed(*arguments, folder=workshop)
    assert done.returncode == code, done.stderr
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "empty"),
        ("[sheath\n", "TOML"),
        ("[sheath]\nname = 'a'\n", "sheath.knife: this key is missing"),
        ("[sheath]\nname = 'a'\nknife = 'gone.toml'\n", "gone.toml"),
        (SHEATH.replace("spacing = 0.8", "spacing = 0.8\nsheeet = 'x'"), "sheath.sheeet"),
        (SHEATH.replace("spacing = 0.8", "spacing = nan"), "sheath.spacing"),
        (SHEATH.replace("copies = 1", "copies = 0"), "blank.copies"),
        (SHEATH.replace("copies = 1", "copies = 3"), "3 sheaths do not fit"),
        (SHEATH.replace("width = 160", "width = 60"), "60"),
        ("unit = 'cubit'\n" + SHEATH, "cubit"),
        (SHEATH.replace("spacing = 0.8", "spacing = 0.8\nsheet = 'tin'"), "acrylic-pvc-2.0"),
    ],
)
def test_bad_sheath_files_get_one_sentence(workshop, content, says):
    path = workshop / "bad.toml"
    path.write_text(content)
    done = typed("make", "bad.toml", folder=workshop)
    assert done.returncode in (2, 3), done.stderr
    lines = [line for line in done.stderr.splitlines() if line.startswith("chape: ")]
    assert len(lines) == 1
    assert says in lines[0]
    assert "Traceback" not in done.stderr
    assert not (workshop / "bad-job").exists()
    path.unlink()


@pytest.mark.parametrize("options", [(), ("--double",)], ids=["single", "double"])
def test_what_new_writes_can_be_made_as_it_stands(tmp_path, options):
    assert typed("new", "start", *options, folder=tmp_path).returncode == 0
    sheath = tmp_path / "start/sheath.toml"
    text = sheath.read_text()
    assert "spacing = 0.2" in text
    # Coarser, fewer and with the depth as it stands, so that it is soon done.
    coarse = text.replace("spacing = 0.2", "spacing = 0.8").replace("copies = 4", "copies = 1")
    sheath.write_text(re.sub(r"(?m)^hold = .*$", "samples = 16", coarse))
    done = typed("check", "start/sheath.toml", folder=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "sound" in done.stdout
