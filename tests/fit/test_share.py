"""The share of knives that pass, against a wedge between springs worked out by hand."""

from concurrent.futures import ThreadPoolExecutor
from math import inf

import numpy as np
import pytest
from scipy.stats import kstest, norm, triang

from chape.errors import CannotMakeError
from chape.fit.model import Conditions, FitChoices
from chape.fit.share import interval, share_that_passes
from chape.fit.vary import COLUMNS, deviations, knives_at, middle, triangle
from chape.workers import cluster, process_pool
from wedge import STILL, Here, Wedge, modulus_at


def share_of(wedge=None, *, wanted=None, executor=None, **choices):
    wedge, fit = wedge or Wedge(), FitChoices(**choices)
    held = wedge.peak(middle(fit, modulus_at)) if wanted is None else wanted
    return share_that_passes(wedge, fit, modulus_at, held, executor or Here())


def test_where_nothing_varies_every_knife_passes():
    share = share_of(**STILL)
    assert share.passing == 1.0
    assert np.ptp(share.holds) == 0
    assert all(each.total == 0 for each in share.influences)


def test_the_share_of_a_hold_that_varies_with_the_modulus_alone():
    # The hold is in proportion to the modulus, so that a band of 1.5 spreads passes
    # P(|z| < 1.5 | |z| < 3) = 0.8688: the normal law.
    share = share_of(**{**STILL, "modulus_spread": 0.1}, hold_band=0.15)
    known = (norm.cdf(1.5) - norm.cdf(-1.5)) / (norm.cdf(3) - norm.cdf(-3))
    assert share.passing == pytest.approx(known, abs=0.01)
    assert share.low < known < share.high
    assert share.influences[0].name == "sheet modulus"
    assert share.influences[0].total == pytest.approx(1.0, abs=0.05)


def test_the_share_of_a_hold_that_varies_with_the_handle_alone():
    # Depth 0.4 ± 0.05 mm: a band of ± 0.25 is 0.1 mm, two spreads.
    share = share_of(**{**STILL, "handle_spread": 0.1}, hold_band=0.25)
    known = (norm.cdf(2) - norm.cdf(-2)) / (norm.cdf(3) - norm.cdf(-3))
    assert share.passing == pytest.approx(known, abs=0.01)
    assert share.influences[0].name == "handle thickness"


def test_variance_shares_of_small_spreads_are_those_of_the_slopes():
    # First order: each share is (dF/dx s)², over their sum; for F ~ d E t³ that is, over F²,
    # (s_d/d)², s_E², (3 s_t)² and (F_mu/F s_mu)² with F_mu/F = (1 + tan²a)/((tan a + mu)(1 -
    # mu tan a)), by differentiation.
    wedge = Wedge(slope=20.0)
    spreads = {"handle_spread": 0.02, "gauge_spread": 0.01, "modulus_spread": 0.02}
    share = share_of(wedge, **{**STILL, **spreads, "friction_spread": 0.01}, samples=2048)
    steep, friction = np.tan(np.radians(20.0)), 0.25
    by_friction = (1 + steep**2) / ((steep + friction) * (1 - friction * steep))
    parts = {
        "handle thickness": (0.01 / 0.4) ** 2,
        "sheet gauge": 0.03**2,
        "sheet modulus": 0.02**2,
        "friction": (by_friction * 0.01) ** 2,
    }
    for each in share.influences:
        known = parts.get(each.name, 0.0) / sum(parts.values())
        assert each.first == pytest.approx(known, abs=0.03), each.name
        assert each.total == pytest.approx(known, abs=0.03), each.name


def test_the_answer_is_the_same_whoever_works():
    alone = share_of(samples=128)
    with ThreadPoolExecutor(3) as threads, process_pool() as processes:
        for executor in (threads, processes):
            shared = share_of(samples=128, executor=executor)
            assert shared.holds.tobytes() == alone.holds.tobytes()
            assert shared.influences == alone.influences


def test_a_cluster_gives_the_same_bits(dask_address):
    with cluster(dask_address) as executor:
        shared = share_of(samples=128, executor=executor)
    assert shared.holds.tobytes() == share_of(samples=128).holds.tobytes()


def test_another_seed_draws_other_knives_and_nearly_the_same_share():
    one, other = share_of(samples=1024), share_of(samples=1024, seed=2)
    assert not np.array_equal(one.holds, other.holds)
    assert one.passing == pytest.approx(other.passing, abs=0.03)


def test_samples_are_rounded_up_to_a_power_of_two():
    assert len(share_of(samples=500).holds) == 512


def test_knives_that_lock_fail_and_leave_no_gap_in_the_figures():
    share = share_of(Wedge(slope=70.0), friction=0.3, friction_spread=0.1, samples=64)
    assert np.isinf(share.holds).any()
    assert share.passing < 1
    assert all(np.isfinite([each.first, each.total]).all() for each in share.influences)


@pytest.mark.parametrize("wanted", [0.0, inf, float("nan")])
def test_no_band_around_no_hold(wanted):
    with pytest.raises(CannotMakeError, match="no band"):
        share_of(wanted=wanted)


def test_wilsons_interval():
    # R.G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3 (from memory);
    # recomputed: (2np + z² ± z sqrt(z² + 4npq))/(2(n + z²)).
    known = {
        (81, 263): (0.2553, 0.3662),
        (15, 148): (0.0624, 0.1605),
        (0, 20): (0.0, 0.1611),
        (1, 29): (0.0061, 0.1718),
    }
    z = norm.ppf(0.975)
    for (passing, counted), ends in known.items():
        p = passing / counted
        root = z * np.sqrt(z**2 + 4 * counted * p * (1 - p))
        formula = [(2 * passing + z**2 + s * root) / (2 * (counted + z**2)) for s in (-1, 1)]
        assert interval(passing, counted) == pytest.approx(formula, abs=1e-9)
        assert interval(passing, counted) == pytest.approx(ends, abs=1e-4)


def test_knives_vary_as_the_file_says():
    cube = np.random.default_rng(4).random((4000, COLUMNS))
    fit = FitChoices(
        friction_spread=0.05, handle_spread=0.2, gauge_spread=0.04, cold=-5.0, hot=50.0
    )
    knives = knives_at(cube, fit, modulus_at)
    assert knives.friction.std() == pytest.approx(0.05, rel=0.05)
    # Half the thickness on each side.
    assert knives.swell.std() == pytest.approx(0.1, rel=0.05)
    assert knives.gauge_factor.std() == pytest.approx(0.04, rel=0.05)
    assert (knives.temperature.min(), knives.temperature.max()) == pytest.approx((-5, 50), abs=2)
    assert knives.modulus == pytest.approx(
        knives.modulus_factor * [modulus_at(each) for each in knives.temperature]
    )
    assert len(knives.conditions()) == len(knives) == 4000
    assert knives.conditions()[7] == Conditions(
        *(column[7] for column in (knives.friction, knives.modulus, knives.swell)),
        *(column[7] for column in (knives.along, knives.across, knives.gauge_factor)),
    )


def test_nothing_lies_beyond_the_cut_off_and_friction_is_never_negative():
    corners = np.array([[0.0] * COLUMNS, [1.0] * COLUMNS])
    assert np.abs(deviations(corners)) == pytest.approx(3.0)
    assert knives_at(corners, FitChoices(friction=0.05), modulus_at).friction.min() == 0.0


def test_a_triangle_is_a_triangle():
    drawn = triangle(np.random.default_rng(1).random(2000), -10.0, 21.0, 45.0)
    assert kstest(drawn, triang(31 / 55, loc=-10, scale=55).cdf).pvalue > 0.01
    assert triangle(np.array([0.0, 1.0]), -10.0, 21.0, 45.0) == pytest.approx([-10, 45])
    assert triangle(np.array([0.3]), 20.0, 20.0, 20.0) == pytest.approx([20])
    # A workshop outside the band is taken for its nearer end.
    assert triangle(np.array([0.0, 0.5, 1.0]), 10.0, 5.0, 20.0).min() == 10.0
