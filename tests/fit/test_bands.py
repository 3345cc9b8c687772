"""What one input alone does to the hold of a wedge between springs."""

import pytest

from chape.fit.bands import hold_bands
from chape.fit.model import FitChoices
from chape.fit.vary import middle
from wedge import STILL, Here, Wedge, modulus_at


def bands(**choices):
    fit = FitChoices(**choices)
    return {each.name: each for each in hold_bands(Wedge(), fit, 0.25, modulus_at, Here())}


def test_each_band_is_that_of_its_input_alone():
    found = bands(handle_spread=0.1, gauge_spread=0.05, modulus_spread=0.1, cold=-10.0, hot=43.0)
    usual = Wedge().peak(middle(FitChoices(), modulus_at))
    # Depth 0.4 mm, half of 0.1 mm on each side; a closer fit holds more.
    assert found["clearance"].ends == pytest.approx((0.2, 0.3))
    assert found["clearance"].holds == pytest.approx((usual * 0.45 / 0.4, usual * 0.35 / 0.4))
    assert found["sheet gauge"].holds == pytest.approx((usual * 0.95**3, usual * 1.05**3))
    assert found["sheet modulus"].holds == pytest.approx((usual * 0.9, usual * 1.1))
    cold, hot = (usual * modulus_at(each) / modulus_at(21.0) for each in (-10.0, 43.0))
    assert found["temperature"].holds == pytest.approx((cold, hot))
    assert found["friction"].ends == pytest.approx((0.2, 0.3))
    # (mu + tan 20°)/(1 - mu tan 20°), as checked for 0.2 and 0.3 at 30° in the handbooks.
    ratio = found["friction"].holds[1] / found["friction"].holds[0]
    assert ratio == pytest.approx((0.66397 / 0.89081) / (0.56397 / 0.92721), rel=1e-4)


def test_the_widest_comes_first_and_what_does_not_vary_is_a_point():
    found = list(bands(**{**STILL, "friction_spread": 0.1}).values())
    assert found[0].name == "friction"
    assert all(each.holds[0] == pytest.approx(each.holds[1]) for each in found[1:])
