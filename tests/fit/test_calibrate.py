"""A spring scale's reading, against Bayes' rule worked out by hand for a wedge between springs."""

import tomllib
from dataclasses import dataclass

import numpy as np
import pytest

from chape.errors import CannotMakeError, InputError
from chape.fit.calibrate import HELD, calibrate, lines_to_keep, scale_uncertainty
from chape.fit.model import FitChoices
from chape.fit.share import share_that_passes
from chape.fit.vary import middle
from wedge import STILL, Here, Wedge, modulus_at


def calibrated(*readings, wedge=None, **choices):
    wedge, fit = wedge or Wedge(), FitChoices(**choices)
    wanted = wedge.peak(middle(fit, modulus_at))
    share = share_that_passes(wedge, fit, modulus_at, wanted, Here())
    return calibrate(readings, share, wedge, fit, modulus_at, Here())


def still(**choices):
    return {**STILL, "friction_spread": 0.05, **choices}


@dataclass(frozen=True)
class Straight:
    """A hold in proportion to friction, so that Bayes' rule has a closed form."""

    per_friction: float = 100.0
    gauge_power: float = 0.0

    def peak(self, conditions):
        return self.per_friction * conditions.friction * conditions.modulus / modulus_at(21.0)


def test_a_straight_hold_gives_the_normal_posterior():
    # Normal prior 0.25 ± 0.05, reading 30 ± 5 N of 100 N per friction, that is 0.30 ± 0.05: the
    # mean lies half way, and the variance halves (any text on Bayes' rule; elementary).
    found = calibrated((30.0, 5.0), wedge=Straight(), **still())
    assert found.friction == pytest.approx(0.275, abs=1e-4)
    assert found.spread == pytest.approx(0.05 / np.sqrt(2), rel=1e-3)
    # 90 % of a normal law lies within 1.645 spreads.
    assert found.low == pytest.approx(found.friction - 1.645 * found.spread, abs=2e-4)
    assert found.high == pytest.approx(found.friction + 1.645 * found.spread, abs=2e-4)
    assert found.expected == pytest.approx(25.0, abs=0.05)
    # 5 N off, where sqrt(5² + 5²) is to be expected: P(|z| > 0.707) = 0.4795.
    assert found.chance == pytest.approx(0.4795, abs=0.002)


def test_what_is_kept_is_read_back_as_it_was_found():
    found = calibrated((30.0, 5.0), wedge=Straight(), **still())
    kept = FitChoices(**tomllib.loads(lines_to_keep(found)))
    assert kept.friction == pytest.approx(found.friction, abs=5e-4)
    assert kept.friction_spread == pytest.approx(found.spread, abs=5e-4)


def test_two_readings_count_twice():
    # Precisions add: 1/0.05² three times over.
    found = calibrated((30.0, 5.0), (30.0, 5.0), wedge=Straight(), **still())
    assert found.friction == pytest.approx((0.25 + 0.30 + 0.30) / 3, abs=1e-4)
    assert found.spread == pytest.approx(0.05 / np.sqrt(3), rel=1e-3)


def test_a_sharp_reading_gives_back_the_friction_it_was_made_with():
    reading = Wedge().peak(middle(FitChoices(friction=0.32), modulus_at))
    found = calibrated((reading, 0.05), **still())
    assert found.friction == pytest.approx(0.32, abs=0.002)
    assert found.low < 0.32 < found.high
    assert found.narrowing > 20


def test_what_else_varies_blurs_what_a_reading_teaches():
    reading = Wedge().peak(middle(FitChoices(friction=0.32), modulus_at))
    sharp = calibrated((reading, 0.5), **still())
    blurred = calibrated((reading, 0.5), **still(handle_spread=0.2))
    assert 0.25 < blurred.friction < sharp.friction
    assert sharp.spread < blurred.spread < 0.05
    assert 1 < blurred.narrowing < sharp.narrowing


def test_a_reading_as_expected_leaves_friction_and_narrows_the_band():
    reading = Wedge().peak(middle(FitChoices(), modulus_at))
    found = calibrated((reading, scale_uncertainty(reading)), samples=512)
    assert found.friction == pytest.approx(0.25, abs=0.01)
    assert found.spread < 0.05
    assert found.before[0] < found.after[0] < found.after[1] < found.before[1]
    assert not found.surprising


def test_the_band_before_holds_the_share_of_sampled_knives_it_says():
    wedge, fit = Wedge(), FitChoices(samples=2048)
    share = share_that_passes(wedge, fit, modulus_at, 20.0, Here())
    found = calibrate([(20.0, 1.0)], share, wedge, fit, modulus_at, Here())
    inside = (share.holds >= found.before[0]) & (share.holds <= found.before[1])
    assert inside.mean() == pytest.approx(HELD, abs=0.015)


def test_intervals_cover_the_friction_as_often_as_they_say():
    rng, wedge, fit = np.random.default_rng(8), Wedge(), FitChoices(samples=128)
    share = share_that_passes(wedge, fit, modulus_at, 20.0, Here())
    # Other knives than those the calibration averages over, read at the workshop's temperature.
    drawn = share_that_passes(
        wedge,
        fit.model_copy(update={"seed": 9, "samples": 128, "cold": 21.0, "hot": 21.0}),
        modulus_at,
        20.0,
        Here(),
    )
    covered = 0
    for friction, hold in zip(drawn.knives.friction, drawn.holds, strict=True):
        reading = max(0.1, hold + rng.normal(0, 1.0))
        found = calibrate([(reading, 1.0)], share, wedge, fit, modulus_at, Here())
        covered += found.low <= friction <= found.high
    # 128 trials of 0.9: the standard deviation is 0.027.
    assert covered / 128 == pytest.approx(HELD, abs=0.07)


def test_an_unlikely_reading_is_surprising_and_an_impossible_one_refused():
    usual = Wedge().peak(middle(FitChoices(), modulus_at))
    assert calibrated((1.6 * usual, 0.5), **still()).surprising
    with pytest.raises(CannotMakeError, match="no friction from"):
        calibrated((20 * usual, 0.5), **still())


@pytest.mark.parametrize("reading", [(0.0, 1.0), (-3.0, 1.0), (float("nan"), 1.0), (20.0, 0.0)])
def test_a_reading_that_is_none(reading):
    with pytest.raises(InputError, match="found a reading"):
        calibrated(reading)


def test_no_reading_and_no_doubt():
    with pytest.raises(InputError, match="no reading"):
        calibrated()
    with pytest.raises(InputError, match="no reading can change"):
        calibrated((20.0, 1.0), friction_spread=0.0)


def test_a_sheath_that_does_not_hold_teaches_nothing():
    wedge, fit = Wedge(), FitChoices(samples=64)
    share = share_that_passes(wedge, fit, modulus_at, 20.0, Here())
    with pytest.raises(CannotMakeError, match="teaches"):
        calibrate([(20.0, 1.0)], share, Wedge(depth=-1.0), fit, modulus_at, Here())


def test_frictions_that_lock_are_left_out():
    found = calibrated((500.0, 40.0), wedge=Wedge(slope=68.0), **still(friction_spread=0.04))
    assert np.isfinite(found.friction)
    assert found.high < 1 / np.tan(np.radians(68.0))
