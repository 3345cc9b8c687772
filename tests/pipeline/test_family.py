"""Families: members from one base, what they share computed once, one's trouble its own."""

import datetime as dt
import shutil
import tomllib

import pytest

from chape.errors import InputError
from chape.pipeline import family
from chape.pipeline.family import CountingKeep, exit_code_of, family_figures, make_family
from chape.pipeline.family_file import read_family, toml_of
from chape.pipeline.page import Page
from chape.pipeline.run import run_knife, run_sheath
from chape.units import LengthUnit
from specimens import DEMO

PAGE = Page("a4", LengthUnit.MM, None)


@pytest.fixture
def folder(tmp_path):
    for name in ("camp-knife.toml", "camp-sheath.toml"):
        shutil.copy(DEMO / name, tmp_path / name)
    return tmp_path


def written(folder, text):
    path = folder / "family.toml"
    path.write_text(f'name = "Tarn"\nbase = "camp-sheath.toml"\n{text}', encoding="utf-8")
    return path


def test_the_grid_makes_every_combination_and_members_are_added(folder):
    path = written(
        folder,
        '[grid.sheath]\nhand = ["right", "left"]\nsheet = ["acrylic-pvc-2.0", "acrylic-pvc-1.5"]\n'
        '[[member]]\nname = "loose"\nchange.fit.hold = 20\n',
    )
    name, members = read_family(path)
    assert name == "Tarn"
    assert [member.name for member in members] == [
        "right-acrylic-pvc-2.0",
        "right-acrylic-pvc-1.5",
        "left-acrylic-pvc-2.0",
        "left-acrylic-pvc-1.5",
        "loose",
    ]
    base = tomllib.loads((DEMO / "camp-sheath.toml").read_text("utf-8"))
    thin = tomllib.loads(members[3].content.decode())
    assert thin["sheath"].pop("hand") == "left"
    assert thin["sheath"].pop("sheet") == "acrylic-pvc-1.5"
    base["sheath"].pop("hand"), base["sheath"].pop("sheet")
    assert thin == base
    assert tomllib.loads(members[4].content.decode())["fit"]["hold"] == 20


@pytest.mark.parametrize("text", [
    "", "[grid.sheath]\nhand = 'left'\n", "[grid.sheath]\nhand = []\n",
    "[[member]]\nname = '../out'\n", "[[member]]\nname = 'a'\n[[member]]\nname = 'A'\n",
    "[[member]]\nchange = 3\nname = 'x'\n", "[[members]]\nname = 'x'\n",
    "[[member]]\nname = 'x. '\n",
])  # fmt: skip
def test_what_makes_no_family_is_refused(folder, text):
    with pytest.raises(InputError) as caught:
        read_family(written(folder, text))
    assert "family.toml" in str(caught.value)


def test_tables_are_written_as_they_were_read():
    tables = {
        "a": 1, "b": 0.1, "on": True, "text": 'quote " and \\ and é\n', "list": [1, [2.5, "x"]],
        "empty": [], "inner": {"x y": 1, "deep": {"z": False}, "many": [{"k": 1}, {"k": {"m": 2}}]},
        "none": {}, "mixed": [1, {"a": 2}],
    }  # fmt: skip
    assert tomllib.loads(toml_of(tables)) == tables


def to_the_sheath(request, stages, _day):
    """The first stages of a job, as they are."""
    key, knife = run_knife(request, stages)
    return run_sheath(request, stages, key, knife, None)[1][0]


class Finished:
    """As much of a job as a family looks at."""

    findings = ()


def test_what_members_share_is_computed_once_and_trouble_stays_with_its_member(
    folder, tmp_path, monkeypatch
):
    def run(request, stages, day):
        to_the_sheath(request, stages, day)
        return Finished()

    monkeypatch.setattr(family, "run_job", run)
    monkeypatch.setattr(
        family, "pack_job", lambda *_: {"figures.json": b"{}", "manifest.json": b""}
    )
    path = written(
        folder,
        '[grid.sheath]\nhand = ["right", "left"]\nspacing = [0.8]\n'
        '[[member]]\nname = "wrong"\nchange.sheath = { spacing = 0.8, mouth.wrap = 400 }\n'
        '[[member]]\nname = "typo"\nchange.sheath.hnad = "left"\n'
        '[[member]]\nname = "again"\nchange.sheath.spacing = 0.8\n',
    )
    out, told = tmp_path / "out", []
    keep = CountingKeep(tmp_path / "keep")
    made = list(
        make_family(read_family(path)[1], out, PAGE, dt.date(2026, 3, 1), keep, told.append)
    )
    assert [each.member.name for each in made] == [
        "right-0.8",
        "left-0.8",
        "wrong",
        "typo",
        "again",
    ]
    assert [each.exit_code for each in made] == [0, 0, 3, 2, 0]
    # The knife is measured once; each hand is designed once; the base again is there already.
    assert [(each.asked, each.computed) for each in made] == [
        (2, 2),
        (2, 1),
        (2, 0),
        (0, 0),
        (2, 0),
    ]
    assert sum("Measure the knife" in title for title in told) == 1
    assert "wrap" in made[2].reason
    assert "typo.toml" in made[3].reason
    assert sorted(path.name for path in out.iterdir()) == ["again", "left-0.8", "right-0.8"]
    assert exit_code_of(made) == 3
    figures = family_figures("Tarn", made)
    assert (figures["stages_asked"], figures["stages_computed"]) == (8, 3)
