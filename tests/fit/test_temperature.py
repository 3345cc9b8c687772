"""The sheet's stiffness over temperature."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chape.catalog.read import catalog
from chape.fit.model import COLDEST, HOTTEST
from chape.fit.temperature import ROOM, modulus_at, softens_at

SHEET = catalog().sheet("acrylic-pvc-2.0")


def test_the_catalogues_modulus_is_that_at_room_temperature():
    assert modulus_at(SHEET, ROOM) == SHEET.flexural_modulus.value


def test_ten_kelvin_cost_ten_times_the_loss():
    lost = 1 - modulus_at(SHEET, ROOM + 10) / modulus_at(SHEET, ROOM)
    assert lost == pytest.approx(10 * SHEET.modulus_loss.value)


def test_at_the_deflection_temperature_the_standards_bar_deflects_as_it_must():
    # A bar on two supports with a load F in its middle sinks by F L³/(48 E I), and its stress is
    # F L d/(8 I): any text on beams. ASTM D648 (from memory): 1.82 MPa, 0.25 mm, 100 mm, 12.7 mm.
    modulus = modulus_at(SHEET, SHEET.deflection_temperature.value)
    second = 12.7**3 / 12
    load = 1.82 * 8 * second / (100 * 12.7)
    assert load * 100**3 / (48 * modulus * second) == pytest.approx(0.25, rel=1e-6)


@given(st.floats(COLDEST, HOTTEST), st.floats(0.0, 40.0))
def test_warmer_is_never_stiffer_and_always_something(temperature, warmer):
    cold, warm = (modulus_at(SHEET, each) for each in (temperature, temperature + warmer))
    assert 0 < warm <= cold


def test_there_is_no_jump_where_it_softens():
    soft = softens_at(SHEET)
    assert modulus_at(SHEET, soft - 1e-6) == pytest.approx(modulus_at(SHEET, soft + 1e-6), rel=1e-6)
    assert softens_at(SHEET) < SHEET.deflection_temperature.value
