"""A person photographs a knife, confirms it, and has a sheath designed that clears the real one."""

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
import shapely
from typer.testing import CliRunner

from chape.catalog.read import catalog
from chape.cli.main import app
from chape.errors import InputError, OutputError
from chape.fit.check_stock import check_stock
from chape.fit.stock import stock_fit
from chape.knife.read import read_knife
from chape.knife.thickness import edge_band, half_thickness
from chape.sheath.design import design_sheath
from chape.sheath.model import SheathChoices
from measured_camp import camp_file, camp_ring, save, side_pixels
from specimens import DEMO, camp_knife, camp_sheath

RUN = CliRunner()


def rows(table):
    return ",".join(f"{x:g}:{thickness:g}" for x, thickness in table)


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    folder = tmp_path_factory.mktemp("measured")
    photo = save(side_pixels(), folder / "camp.jpg")
    file = camp_file()
    done = RUN.invoke(
        app,
        ["measure", str(photo), "--bar", "200", "--name", 'Tarn "camp" knife', "--json",
         "--handle-thickness", rows(file.handle.thickness), "--blade-length", "115",
         "--spine-thickness", rows(file.blade.spine_thickness)],
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    return folder / "camp", json.loads(done.stdout)


def test_the_files_say_what_was_measured(measured):
    folder, figures = measured
    assert sorted(path.name for path in folder.iterdir()) == [
        "knife.toml", "outline.svg", "overlay.png",
    ]  # fmt: skip
    file = tomllib.loads((folder / "knife.toml").read_text("utf-8"))
    assert file["knife"]["name"] == 'Tarn "camp" knife'
    assert file["knife"]["source"] == "photo camp.jpg"
    assert file["knife"]["measured"].isoformat() == "2026-03-14"
    assert "unmeasured" not in file["knife"]
    assert file["knife"]["uncertainty"] == figures["uncertainty_mm"]
    assert figures["to_be_measured"] == []


def test_the_measured_knife_is_the_knife_within_its_own_error(measured):
    folder, figures = measured
    knife, true = read_knife(folder / "knife.toml", 0.8), camp_knife(0.8)
    assert knife.length == pytest.approx(230.0, abs=2 * knife.uncertainty)
    drawn = shapely.Polygon(camp_ring())
    ring = knife.outline.exterior
    off = shapely.distance(drawn.exterior, shapely.points(points_along(ring)))
    assert np.quantile(off, 0.95) <= knife.uncertainty
    # Turned as the blade's straightest side asks: a twentieth of a degree over 230 mm.
    assert shapely.hausdorff_distance(ring, drawn.exterior) < knife.uncertainty + 0.25
    assert figures["length_mm"] == pytest.approx(knife.length, abs=0.01)
    assert knife.blade_length == pytest.approx(true.blade_length)


def test_a_check_finds_it_sound(measured):
    folder, _ = measured
    done = RUN.invoke(app, ["check", str(folder / "knife.toml")])
    assert done.exit_code == 0, done.output
    assert "sound" in done.output


def test_its_sheath_clears_the_real_knife(measured):
    """The uncertainty grew every clearance: the true knife has all the room that was asked for."""
    folder, _ = measured
    knife = read_knife(folder / "knife.toml", 0.8)
    sheath = design_sheath(knife, sheath_choices(), catalog())
    own = stock_fit(camp_sheath(0.8), camp_knife(0.8))
    real = stock_fit(sheath, camp_knife(0.8))
    assert {finding.code for finding in check_stock(real, 0.3)} <= {"stock-fits", "stock-loose"}
    # In the sheath made for the measured knife the real one has no less room than in its own.
    on_blade = real.points[:, 0] < 105
    own_blade = own.points[:, 0] < 105
    assert np.quantile(real.room[on_blade], 0.02) >= np.quantile(own.room[own_blade], 0.02) - 0.05


def points_along(ring):
    return shapely.get_coordinates(shapely.segmentize(ring, 0.5))


def sheath_choices():
    tables = tomllib.loads((DEMO / "camp-sheath.toml").read_text("utf-8"))
    return SheathChoices.model_validate({**tables["sheath"], "spacing": 0.8})


def measured_small(by, uncertainty):
    """The camp knife as a picture would show it that makes it smaller by so much all round."""
    true, file = camp_knife(0.8), camp_file()
    small = true.outline.buffer(-by)
    small = shapely.affinity.translate(small, -small.bounds[0], 0)
    return replace(
        true,
        outline=small,
        half=half_thickness(small, file, 0.8),
        edge_band=edge_band(small, file),
        uncertainty=uncertainty,
    )


@pytest.mark.parametrize(("uncertainty", "clears"), [(0.5, True), (0.0, False)])
def test_a_knife_measured_too_small_still_has_its_room(uncertainty, clears):
    """Within the stated uncertainty the real knife is cleared; unstated, the error is missing."""
    own = stock_fit(camp_sheath(0.8), camp_knife(0.8))
    sheath = design_sheath(measured_small(0.4, uncertainty), sheath_choices(), catalog())
    real = stock_fit(sheath, camp_knife(0.8))
    blade = [np.quantile(fit.room[fit.points[:, 0] < 105], 0.02) for fit in (real, own)]
    assert (blade[0] >= blade[1]) == clears
    assert (real.edge.least >= own.edge.least) == clears


def test_nothing_is_written_over(measured):
    folder, _ = measured
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = RUN.invoke(app, ["measure", str(folder.with_suffix(".jpg")), "--bar", "200"])
    assert isinstance(done.exception, OutputError)
    assert "never overwrites" in str(done.exception)
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--unit", "feet"], "--unit"),
        (["--paper", "a3"], "--paper"),
        (["--date", "yesterday"], "--date"),
        (["--tip", "north"], "left, right, up or down"),
        (["--bar", "nan"], "--bar nan"),
        (["--bar", "20"], "bar of 20 mm"),
        (["--dpi", "nan"], "--dpi nan"),
        (["--turn", "90"], "--turn 90"),
        (["--handle-thickness", "thick"], "full thickness"),
        (["--blade-length", "0"], "--blade-length 0"),
        (["--caliper", "no.toml"], "no such file"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(measured, tmp_path, options, words):
    photo, out = measured[0].with_suffix(".jpg"), tmp_path / "camp"
    done = RUN.invoke(app, ["measure", str(photo), "--out", str(out), *options])
    assert isinstance(done.exception, InputError)
    assert words in str(done.exception)
    assert not out.exists()


def test_text_is_no_picture(tmp_path):
    (tmp_path / "knife.jpg").write_text("hello", "utf-8")
    done = RUN.invoke(app, ["measure", str(tmp_path / "knife.jpg")])
    assert isinstance(done.exception, InputError)
    assert "no picture" in str(done.exception)


def test_reference_sheets_are_printed(tmp_path):
    out = tmp_path / "sheet.pdf"
    assert RUN.invoke(app, ["sheet", str(out), "--sheets", "2"]).exit_code == 0
    assert out.read_bytes().startswith(b"%PDF")
    for options in (["--sheets", "9"], ["--paper", "a3"]):
        done = RUN.invoke(app, ["sheet", str(out), *options])
        assert isinstance(done.exception, InputError)
