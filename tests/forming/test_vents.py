"""Vents: the dip they leave, and the air they let out."""

import math

import pytest

from chape.forming.vents import dip, venting_seconds


def test_a_small_vent_dips_like_a_relieved_half_space():
    # (2 - 4/pi) 0.75 p a / (3 G), Timoshenko & Goodier, section 139.
    expected = (2 - 4 / math.pi) * 0.75 * 0.08 * 0.5 / 1.5
    assert dip(1.0, 2.0, 0.5, 80.0) == pytest.approx(expected)


def test_a_wide_vent_bends_the_sheet_like_a_clamped_plate():
    # p a^4 / (64 D), Timoshenko & Woinowsky-Krieger, section 16.
    stiffness = 1.5 * 1.0 / (12 * 0.75)
    assert dip(8.0, 1.0, 0.5, 80.0) == pytest.approx(0.08 * 4.0**4 / (64 * stiffness))


def test_softer_sheet_and_wider_vents_dip_deeper():
    assert dip(1.0, 2.0, 0.25, 80.0) > dip(1.0, 2.0, 0.5, 80.0)
    assert dip(1.5, 2.0, 0.5, 80.0) > dip(1.0, 2.0, 0.5, 80.0)


def test_air_leaves_at_the_speed_of_sound():
    # Choked flow of air at 20 °C: 343.2 * (2/2.4)^3 = 198.6 m/s.
    choked = 343.2 * (2 / 2.4) ** 3
    assert choked == pytest.approx(198.6, abs=0.1)
    area = 50 * math.pi * 0.8**2 / 4
    expected = 1.5e6 * math.log(5) / (0.6 * area * 198600)
    assert venting_seconds(1.5, 50, 0.8, 100.0, 20.0) == pytest.approx(expected)
    assert venting_seconds(1.5, 0, 0.8, 100.0, 20.0) == math.inf
