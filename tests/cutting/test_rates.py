from __future__ import annotations

from math import acos, pi

import pytest

from chape.catalog.read import catalog
from chape.cutting.rates import (
    feed_rate,
    rates_for,
    scallop_height,
    spindle_speed,
    step_over,
)
from chape.errors import CannotMakeError


@pytest.mark.parametrize(
    ("speed", "diameter", "expected"),
    [(300, 6.35, 15038.3), (300, 6.0, 15915.5), (200, 3.175, 20051.0)],
)
def test_spindle_speed_from_surface_speed(speed: float, diameter: float, expected: float) -> None:
    # Machinery's Handbook: n = 1000 Vc / (pi D)
    assert spindle_speed(speed, diameter) == pytest.approx(expected, abs=0.06)


def test_inch_form_agrees() -> None:
    # 12 V / (pi D) at 800 ft/min and 0.25 in, Machinery's Handbook
    assert spindle_speed(800 * 0.3048, 0.25 * 25.4) == pytest.approx(12223.1, abs=0.06)


@pytest.mark.parametrize(
    ("spindle", "flutes", "load", "expected"),
    [(18000, 2, 0.1, 3600), (18000, 2, 0.15, 5400), (16000, 1, 0.2, 3200)],
)
def test_feed(spindle: float, flutes: int, load: float, expected: float) -> None:
    # Machinery's Handbook: f = n z fz
    assert feed_rate(spindle, flutes, load) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("radius", "step", "expected"),
    [
        (3, 0.5, 0.0104348),
        (3, 1, 0.0419601),
        (3.175, 0.5, 0.0098578),
        (1.5, 0.3, 0.0075188),
        (3.175, 0.25, 0.0024616),
    ],
)
def test_scallop(radius: float, step: float, expected: float) -> None:
    # R - sqrt(R^2 - (s/2)^2): Choi and Jerard, Sculptured Surface Machining (from memory)
    assert scallop_height(radius, step) == pytest.approx(expected, abs=6e-8)


@pytest.mark.parametrize(
    ("radius", "scallop", "expected"), [(3, 0.01, 0.489490), (1.5, 0.02, 0.488262)]
)
def test_step_over_gives_its_scallop(radius: float, scallop: float, expected: float) -> None:
    step = step_over(radius, scallop)
    assert step == pytest.approx(expected, abs=6e-7)
    assert scallop_height(radius, step) == pytest.approx(scallop, rel=1e-9)


def test_chords_of_a_circle() -> None:
    # step 2 acos(1 - e/R): 3.24125 degrees, 112 chords (geometry)
    assert 2 * acos(1 - 0.01 / 25) * 180 / pi == pytest.approx(3.24125, abs=1e-5)


def test_rates_stay_within_the_machine() -> None:
    machine, material = catalog().machine("router-600"), catalog().material("HDPE")
    for cutter in catalog().rack("rack-6").cutters:
        rates = rates_for(cutter, material, machine)
        assert machine.spindle_least <= rates.spindle <= machine.spindle_most
        assert 0 < rates.plunge <= rates.feed <= machine.feed_most


def test_a_spindle_that_cannot_turn_slowly_enough_is_refused() -> None:
    machine = catalog().machine("router-600").model_copy(update={"spindle_least": 23000.0})
    wide = catalog().rack("rack-6").cutters[0].model_copy(update={"diameter": 40.0})
    with pytest.raises(CannotMakeError, match="slowest"):
        rates_for(wide, catalog().material("HDPE"), machine)
