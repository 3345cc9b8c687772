"""Bends against published figures.

Machinery's Handbook, "Allowances for bends": BA = (pi/180) A (R + K T); the handbook's own
right-angle formulas L = c T + 1.57 R for soft brass and copper, aluminium, and hard stock.
"""

from __future__ import annotations

from math import pi, radians

import numpy as np
import pytest

from chape.sheath.fold import bend_allowance, half_strip


@pytest.mark.parametrize(
    ("gauge", "radius", "angle", "k_factor", "expected"),
    [
        (2.0, 3.0, 90.0, 0.33, 5.74911),
        (2.0, 3.0, 90.0, 0.5, 6.28319),
        (2.03, 2.03, 180.0, 0.5, 9.56615),
        (1.5, 3.0, 180.0, 0.5, 11.78097),
    ],
)
def test_allowance_is_the_handbooks(gauge, radius, angle, k_factor, expected):
    flat = bend_allowance(radians(angle), radius, gauge, k_factor)
    assert flat == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("c", "k_factor"), [(0.55, 0.350), (0.64, 0.407), (0.71, 0.452)])
def test_k_is_that_of_the_right_angle_formulas(c, k_factor):
    # L = c T + 1.57 R is an allowance of a right angle with K = c / (pi / 2).
    assert c / (pi / 2) == pytest.approx(k_factor, abs=1e-3)
    for radius in (1.0, 4.0):
        flat = bend_allowance(pi / 2, radius, 2.0, c / (pi / 2))
        assert flat == pytest.approx(c * 2.0 + 1.57 * radius, abs=1e-3 * radius)


def test_aluminium_example_in_inches():
    # T = .0625, R = .125 in: L = .64 T + 1.57 R = .23625 in
    flat = bend_allowance(pi / 2, 0.125, 0.0625, 0.64 / (pi / 2))
    assert flat == pytest.approx(0.23625, abs=1.2e-4)


def test_half_a_strip_bends_through_a_right_angle():
    heights = np.array([2.0, 4.5, 9.0])
    allowances = [bend_allowance(pi / 2, g, 2.0, 0.4) for g in heights]
    assert half_strip(heights, 2.0, 0.4) == pytest.approx(allowances)
