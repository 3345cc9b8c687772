"""Dialects of a maker's own, from the file to the job folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from chape.cli.new import start_folder
from chape.cutting.check import check_texts
from chape.documents.model import CheckedProgram
from chape.documents.page_setup import _run_words
from chape.errors import InputError
from chape.pipeline.file import read_request
from chape.pipeline.recheck import _program_files
from chape.pipeline.run import dialect_of
from cut_boards import mould

if TYPE_CHECKING:
    from pathlib import Path

OURS = '[ours]\nlike = "small-controller"\ntitle = "Ours"\nline_longest = 64\n'


def started(folder: Path, own: str, chosen: str = "ours") -> Path:
    _, sheath = start_folder(folder, double_edged=False)
    text = sheath.read_text("utf-8")
    sheath.write_text(text.replace("[machine]", f'[machine]\ndialect = "{chosen}"'), "utf-8")
    (folder / "dialects.toml").write_text(own, "utf-8")
    return sheath


def test_a_dialect_beside_the_sheath_file_is_used_and_goes_with_the_job(tmp_path: Path) -> None:
    request = read_request(started(tmp_path / "a", OURS))
    assert dialect_of(request).title == "Ours"
    assert dialect_of(request).line_longest == 64
    assert request.inputs["dialects.toml"].decode() == OURS


def test_without_a_choice_the_routers_own_counts(tmp_path: Path) -> None:
    _, sheath = start_folder(tmp_path / "a", double_edged=False)
    request = read_request(sheath)
    router = request.catalog.machine(request.file.machine.router)
    assert dialect_of(request).name == router.dialect


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ("ours = 3", "a table was expected"),
        ('[ours]\nlike = "nothing"', "has no"),
        (f"{OURS}decimals = 9", "ours.decimals"),
        (f'{OURS}offsets = ["G55"]', "does not know the work offset G54"),
        (f"{OURS}klingon = true", "does not know this key"),
        (OURS.replace("[ours]", "[others]"), 'no "ours" among its dialects'),
    ],
)
def test_a_dialect_that_cannot_be_used_is_refused_by_file_and_key(
    tmp_path: Path, own: str, said: str
) -> None:
    with pytest.raises(InputError) as caught:
        read_request(started(tmp_path / "a", own))
    assert said in str(caught.value)
    assert ".toml" in str(caught.value)


def test_a_program_of_several_texts_has_numbered_files_and_says_their_order() -> None:
    setup = mould()
    verdict = check_texts(("M2",), setup)
    one = CheckedProgram(setup, ("M2",), verdict)
    assert one.file_names == (one.files,) == ("mould-top.nc",)
    assert _run_words(one) == "Run mould-top.nc."
    three = CheckedProgram(setup, ("M2",) * 3, verdict)
    assert three.files == "mould-top-1.nc to mould-top-3.nc"
    order = "mould-top-1.nc, mould-top-2.nc, mould-top-3.nc, in this order"
    assert order in _run_words(three)


def test_a_folders_program_files_are_found_in_their_order(tmp_path: Path) -> None:
    names = [f"trim-{n}.nc" for n in range(1, 12)]
    for name in names:
        (tmp_path / name).write_text("%")
    assert [path.name for path in _program_files(tmp_path, "trim")] == names
    (tmp_path / "trim.nc").write_text("%")
    assert [path.name for path in _program_files(tmp_path, "trim")] == ["trim.nc"]
    assert _program_files(tmp_path, "fixture") == []
