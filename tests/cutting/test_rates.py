from __future__ import annotations

from math import acos, pi

import pytest

from chape.catalog.read import catalog
from chape.cutting.force import (
    bending,
    cutting_power,
    effective_diameter,
    mean_chip,
    tooth_force,
    torque,
)
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


def test_a_ball_cuts_with_its_effective_diameter() -> None:
    # 2 sqrt(2 R ap - ap²), R 3, ap 0.5 (geometry)
    assert effective_diameter(3, 0.5) == pytest.approx(3.31662, abs=5e-6)


def test_chips_get_thin_beside_a_wall() -> None:
    # hm = 2 fz sqrt(r (1 - r)): D 6, width 0.6, fz 0.1 give 0.0600 (Machinery's Handbook)
    assert mean_chip(0.1, 0.6, 6) == pytest.approx(0.06, abs=1e-12)
    assert mean_chip(0.1, 6, 6) == pytest.approx(0.1)


def test_power_and_torque_of_a_level() -> None:
    # 6 x 6 mm at 3000 mm/min are 1800 mm³/s; at 0.06 J/mm³ 108 W, and at 18000 rev/min 0.0573 N m.
    power = cutting_power(0.06, 6, 6, 3000)
    assert power == pytest.approx(108)
    assert torque(power, 18000) == pytest.approx(108 / (18000 * 2 * pi / 60))
    # The same energy as force: one tooth 0.1 mm thick and 6 mm deep carries 60 N/mm² x 0.6 mm².
    assert tooth_force(0.06, 0.1, 6) == pytest.approx(36)


def test_a_slender_cutter_bends_as_a_bar_does() -> None:
    # Cantilever: 10 N, 30 mm, a bar of 0.8 x 3 mm of 600 GPa: F L³ / (3 E I), I = pi d^4 / 64.
    expected = 10 * 30**3 / (3 * 600e3 * pi * 2.4**4 / 64)
    assert bending(10, 30, 3) == pytest.approx(expected)
    assert bending(10, 60, 3) == pytest.approx(8 * expected)


def test_a_weak_spindle_takes_shallower_levels() -> None:
    machine, material = catalog().machine("router-600"), catalog().material("aluminium")
    cutter = catalog().rack("rack-6").cutters[0]
    strong = rates_for(cutter, material, machine)
    weak = rates_for(cutter, material, machine.model_copy(update={"spindle_power": 40.0}))
    assert weak.depth < strong.depth
    asked = cutting_power(material.cutting_energy.value, 6, weak.depth, weak.feed)
    assert asked == pytest.approx(0.7 * 40, rel=1e-6)
    with pytest.raises(CannotMakeError, match="power"):
        rates_for(cutter, material, machine.model_copy(update={"spindle_power": 2.0}))


def test_the_spindle_slows_where_the_feed_is_at_its_end() -> None:
    machine, material = catalog().machine("router-600"), catalog().material("HDPE")
    slow = machine.model_copy(update={"feed_most": 1500.0})
    cutter = catalog().rack("rack-6").cutters[1]
    rates = rates_for(cutter, material, slow)
    assert rates.spindle < rates_for(cutter, material, machine).spindle
    wanted = material.tooth_load_per_diameter.value * cutter.diameter
    load = rates.feed / (rates.spindle * cutter.flutes)
    assert 0.4 * wanted <= load <= wanted * 1.001
    with pytest.raises(CannotMakeError, match="rub"):
        rates_for(cutter, material, machine.model_copy(update={"feed_most": 300.0}))


@pytest.mark.parametrize("name", catalog().names("materials"))
def test_every_material_can_be_cut_on_every_machine(name: str) -> None:
    material = catalog().material(name)
    for machine in catalog().names("machines"):
        for cutter in catalog().rack("rack-6").cutters:
            rates = rates_for(cutter, material, catalog().machine(machine))
            assert 0 < rates.depth <= material.depth_per_diameter.value * cutter.diameter
            assert rates.feed > 0
