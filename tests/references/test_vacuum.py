"""The standard atmosphere and pumping down."""

import pytest

from chape.forming.vacuum import pressure_at, pump_down


@pytest.mark.parametrize(
    ("altitude", "pascal"),
    [
        (0, 101325),
        (500, 95460.8),
        (1000, 89874.6),
        (1500, 84556.0),
        (2000, 79495.2),
        (3000, 70108.5),
    ],
)
def test_pressure_at_geopotential_altitude(altitude, pascal):
    """ISO 2533:1975, recomputed from its formula p0 (1 - 0.0065 H / 288.15)^5.25588."""
    assert 1000 * pressure_at(altitude) == pytest.approx(pascal, abs=0.6)


@pytest.mark.parametrize(
    ("volume", "speed", "start", "end", "ultimate", "seconds"),
    [
        # V/S ln(p0/p1); for instance Jousten, Handbook of Vacuum Technology; recomputed.
        (20.0, 3.6, 101.325, 15.0, 0.0, 38.206),
        (20.0, 3.6, 101.325, 10.0, 0.0, 46.315),
        (20.0, 3.6, 101.325, 15.0, 5.0, 45.303),
        (100.0, 16.0, 101.325, 10.0, 0.0, 52.104),
    ],
)
def test_pump_down(volume, speed, start, end, ultimate, seconds):
    assert pump_down(volume, speed, start, end, ultimate) == pytest.approx(seconds, abs=0.002)


def test_a_pump_never_gets_below_its_lowest():
    assert pump_down(20.0, 3.6, 101.325, 5.0, 5.0) is None
