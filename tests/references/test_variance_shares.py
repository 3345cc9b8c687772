"""Variance shares against formulas whose shares are known."""

import numpy as np
import pytest
from scipy.stats import norm

from chape.solve.variance import power_of_two, sample_pages, variance_shares


def shares_of(formula, columns, n, seed=3, groups=None):
    pages = sample_pages(n, groups or [[k] for k in range(columns)], seed)
    mixed = np.array([formula(page) for page in pages.mixed])
    return variance_shares(formula(pages.a), formula(pages.b), mixed, seed)


def ishigami(points, a=7.0, b=0.1):
    x = np.pi * (2 * points - 1)
    return np.sin(x[:, 0]) + a * np.sin(x[:, 1]) ** 2 + b * x[:, 2] ** 4 * np.sin(x[:, 0])


def test_ishigami_function():
    # Closed form, T. Ishigami and T. Homma, ISUMA 1990, as in Saltelli et al., Global Sensitivity
    # Analysis (2008); recomputed: with V = a²/8 + b π⁴/5 + b² π⁸/18 + 1/2,
    # V1 = (1 + b π⁴/5)²/2, V2 = a²/8, V13 = 8 b² π⁸/225.
    a, b = 7.0, 0.1
    whole = a**2 / 8 + b * np.pi**4 / 5 + b**2 * np.pi**8 / 18 + 0.5
    v1, v2, v13 = (1 + b * np.pi**4 / 5) ** 2 / 2, a**2 / 8, 8 * b**2 * np.pi**8 / 225
    first, total = [v1 / whole, v2 / whole, 0.0], [(v1 + v13) / whole, v2 / whole, v13 / whole]
    assert first == pytest.approx([0.3139, 0.4424, 0.0], abs=1e-4)
    assert total == pytest.approx([0.5576, 0.4424, 0.2437], abs=1e-4)

    found = shares_of(ishigami, 3, 4096)
    assert found.first == pytest.approx(first, abs=0.01)
    assert found.total == pytest.approx(total, abs=0.01)
    for known, got, error in zip(
        first + total, found.first + found.total, found.first_error + found.total_error, strict=True
    ):
        assert abs(got - known) < 3 * error
        assert error < 0.04


def test_the_error_halves_with_four_times_the_sample():
    few, many = (shares_of(ishigami, 3, n) for n in (1024, 4096))
    for a, b in zip(few.total_error, many.total_error, strict=True):
        assert b / a == pytest.approx(0.5, abs=0.1)


def test_a_sum_of_normal_inputs_shares_by_the_squares_of_its_factors():
    # V = sum of c², S_i = c_i²/V, no interaction: elementary.
    factors = np.array([1.0, 2.0, 3.0, 0.0])
    found = shares_of(lambda p: norm.ppf(p) @ factors + 40.0, 4, 2048)
    known = factors**2 / 14
    assert found.first == pytest.approx(known, abs=0.01)
    assert found.total == pytest.approx(known, abs=0.01)
    assert found.total[3] == 0.0


def test_inputs_taken_together_share_together():
    factors = np.array([1.0, 2.0, 3.0])
    found = shares_of(lambda p: norm.ppf(p) @ factors, 3, 2048, groups=[[0, 2], [1]])
    assert found.first == pytest.approx([10 / 14, 4 / 14], abs=0.01)


def test_a_product_of_two_has_an_interaction():
    # f = x y with x, y uniform on ±1: S_1 = S_2 = 0, S_T = 1: elementary.
    found = shares_of(lambda p: (2 * p[:, 0] - 1) * (2 * p[:, 1] - 1), 2, 2048)
    assert found.first == pytest.approx([0, 0], abs=0.02)
    assert found.total == pytest.approx([1, 1], abs=0.02)


def test_what_does_not_vary_has_no_shares():
    found = shares_of(lambda p: np.full(len(p), 3.0), 2, 16)
    assert found.first == found.total == (0.0, 0.0)


def test_the_same_seed_gives_the_same_bits_and_another_does_not():
    once, again, other = (shares_of(ishigami, 3, 64, seed) for seed in (5, 5, 6))
    assert once == again
    assert once != other


@pytest.mark.parametrize(("least", "power"), [(1, 1), (2, 2), (3, 4), (500, 512), (513, 1024)])
def test_a_sample_is_a_power_of_two(least, power):
    assert power_of_two(least) == power
