"""Heating, folding, cooling and the cycle: how they answer to what changes."""

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.errors import CannotMakeError
from chape.forming.cooling import MouldBody, cool_sheet
from chape.forming.cycle import cycle_of
from chape.forming.folding import band_margin, flat_length, heat_fold
from chape.forming.heating import heat_sheet
from chape.forming.model import Air, FormingChoices
from chape.sheath.model import Fold

SHEET = catalog().sheet("acrylic-pvc-2.0")
CHOICES = FormingChoices()


def test_ordinary_sheet_takes_about_two_minutes_in_the_press():
    """Common practice, no source: two minutes; the catalogue's contact is chosen to give it."""
    found = heat_sheet(SHEET, catalog().heater("press"), CHOICES)
    assert found.ready.value == pytest.approx(120, rel=0.15)
    assert found.ready.spread > 0.2 * found.ready.value
    assert found.ready.shares[0][0] == "conductance"


def test_a_press_below_the_window_never_gets_there():
    cool = CHOICES.model_copy(update={"setting": 150.0})
    found = heat_sheet(SHEET, catalog().heater("press"), cool)
    assert found.ready is None
    assert found.limit is None


def test_a_press_above_the_limit_spoils_the_sheet_in_the_end():
    hot = CHOICES.model_copy(update={"setting": 230.0})
    found = heat_sheet(SHEET, catalog().heater("press"), hot)
    assert found.ready.value < found.limit.value


def test_thinner_sheet_is_ready_sooner():
    thin = catalog().sheet("acrylic-pvc-1.5")
    press = catalog().heater("press")
    assert (
        heat_sheet(thin, press, CHOICES).ready.value < heat_sheet(SHEET, press, CHOICES).ready.value
    )


def fold(height):
    x = np.array([0.0, 100.0])
    return Fold(20.0, x, np.full(2, height), np.zeros(2), 0.4, 2.0)


def test_the_strip_takes_half_a_minute_to_a_minute():
    """Common practice, no source: 30-60 s on the strip."""
    found = heat_fold(SHEET, catalog().heater("strip"), fold(2.5), CHOICES)
    assert 30 <= found.ready.value <= 60
    near, far = found.curves
    assert (near.temperature[1:] > far.temperature[1:]).all()


def test_the_bent_length_is_the_bend_allowance_of_a_half_turn():
    # Machinery's Handbook: BA = pi (R + K T) over 180 degrees.
    assert flat_length(fold(2.5)) == pytest.approx(np.pi * (2.5 + 0.4 * 2.0))


def test_the_band_margin_grows_as_the_root_of_time():
    assert band_margin(SHEET, 80.0) == pytest.approx(2 * band_margin(SHEET, 20.0))


def test_a_mould_warms_over_a_run_and_the_sheet_takes_longer():
    body = MouldBody.of(catalog().material("HDPE"), 25.0)
    found = cool_sheet(SHEET, body, CHOICES, between=60.0)
    assert (np.diff(found.mould) > 0).all()
    assert found.last > found.first.value
    assert 0 < found.growth < 0.02
    blown = cool_sheet(SHEET, body, CHOICES.model_copy(update={"air": Air.COMPRESSED}), 60.0)
    assert blown.first.value < found.first.value


def test_a_mould_without_heat_figures_is_refused():
    with pytest.raises(CannotMakeError, match="acrylic-PVC"):
        MouldBody.of(catalog().material("acrylic-PVC"), 25.0)


def test_from_flat_sheet_to_formed_in_about_four_minutes():
    """Common practice, no source: three and a half to four minutes, the next sheet heating."""
    heat = heat_sheet(SHEET, catalog().heater("press"), CHOICES).ready.value
    body = MouldBody.of(catalog().material("HDPE"), 25.0)
    cool = cool_sheet(SHEET, body, CHOICES, 60.0).first.value
    cycle = cycle_of(CHOICES, heat, 5.0, cool)
    assert 200 <= cycle.alone <= 250
    assert cycle.period < cycle.alone
    assert cycle.per_hour == pytest.approx(3600 / cycle.period)
