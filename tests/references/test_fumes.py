"""Hydrogen chloride in a room, by stoichiometry."""

import pytest

from chape.forming.fumes import CEILING, HYDROGEN_CHLORIDE, VINYL_CHLORIDE, hydrogen_chloride


def test_pvc_is_mostly_hydrogen_chloride_by_mass():
    share = HYDROGEN_CHLORIDE / VINYL_CHLORIDE
    assert share == pytest.approx(0.583, abs=5e-4)


def test_one_gram_in_a_small_workshop_is_over_the_ceiling():
    """1 g in 30 m³: 13.0 ppm (24.45 l/mol), against a ceiling of 5 ppm in 29 CFR 1910.1000."""
    assert hydrogen_chloride(1.0, 30.0) == pytest.approx(13.0, abs=0.05)
    assert hydrogen_chloride(1.0, 30.0) > CEILING
