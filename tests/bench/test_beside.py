"""A knife held beside another, and tried in a sheath that was made for another."""

from pathlib import Path

import pytest

import chape.demo
from chape.bench import beside
from chape.errors import CannotMakeError
from chape.pipeline.file import read_request
from chape.pipeline.keep import Keep
from chape.pipeline.kept import KeptJob, NotKeptError

DEMO = Path(chape.demo.__file__).parent


@pytest.fixture(autouse=True)
def _coarse(monkeypatch, tmp_path):
    monkeypatch.setattr(beside, "SPACING", 1.2)
    monkeypatch.setattr(Keep, "of_person", classmethod(lambda cls: cls(tmp_path / "results")))


def test_a_knife_held_beside_itself_agrees():
    knife = DEMO / "camp-knife.toml"
    seen = beside.held_beside(knife, knife)
    assert seen.agree
    assert seen.off < 0.01
    assert {row.difference for row in seen.rows} == {0.0}


def test_another_knife_differs_and_lies_where_it_fits_best(tmp_path):
    text = (DEMO / "camp-knife.toml").read_text("utf-8")
    # The belly two millimetres deeper.
    deeper = text.replace("[62, 0.0, 30.0]", "[62, -2.0, 30.0]")
    assert deeper != text
    other = tmp_path / "knife.toml"
    other.write_text(deeper, "utf-8")
    seen = beside.held_beside(DEMO / "camp-knife.toml", other)
    assert not seen.agree
    assert 1.0 < seen.off_most < 3.0
    assert seen.off_most_at.x == pytest.approx(62, abs=12)


def test_a_slender_knife_is_loose_in_the_sheath_of_a_thick_one():
    tried = beside.tried_in(DEMO / "camp-sheath.toml", DEMO / "slender-knife.toml")
    assert not tried.exact
    assert tried.lift < tried.lift_own
    assert "stock-loose" in {each.code for each in tried.findings}


def test_what_only_its_measuring_error_keeps_out_cannot_be_told(tmp_path):
    text = (DEMO / "camp-knife.toml").read_text("utf-8")
    unsure = text.replace("uncertainty = 0.1", "uncertainty = 0.4")
    assert unsure != text
    knife = tmp_path / "knife.toml"
    knife.write_text(unsure, "utf-8")
    tried = beside.tried_in(DEMO / "camp-sheath.toml", knife)
    assert (tried.fits, tried.unsure) == (False, True)
    assert not beside.tried_in(DEMO / "camp-sheath.toml", DEMO / "camp-knife.toml").unsure


def test_what_was_never_made_is_not_kept_and_says_what_to_do(tmp_path):
    job = KeptJob(read_request(DEMO / "camp-sheath.toml"), Keep(tmp_path))
    for part in ("knife", "sheath", "tooling", "fit", "forming"):
        with pytest.raises(NotKeptError) as refused:
            getattr(job, part)
        assert isinstance(refused.value, CannotMakeError)
        assert "Make the job" in refused.value.mend
