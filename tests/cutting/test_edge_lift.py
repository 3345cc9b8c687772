"""The lift of a trimmed edge against beam theory, and the finding that carries it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.cutting.edge_lift import check_edges, edge_lift, mean_pull
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import Outline
from cut_boards import trim
from synthetic_job import parts

LEVEL = HeightField.flat(Grid.over(0, 0, 120, 40, 1.0), 0.0)
STRIP = Outline(np.array([[0, 0], [110, 0], [110, 12], [0, 12]], float), np.zeros(4))
#: Heads that hold one end of the strip: all of it up to x = 10.
CLAMP = np.array([[4.0, 6.0, 9.0]])


def lift(gauge: float = 2.0, force: float = 1.0, screws: np.ndarray = CLAMP) -> float:
    return edge_lift(STRIP, LEVEL, gauge, 2300.0, screws, force).most


def test_a_strip_held_at_one_end_bends_like_a_beam() -> None:
    """F L^3 / (3 E I), elementary; the clamp's rim is round, so that L is known within 5 mm."""
    second_moment = 12 * 2.0**3 / 12
    longest, shortest = (F**3 / (3 * 2300.0 * second_moment) for F in (104.0, 97.0))
    assert shortest < lift() < 1.03 * longest


def test_lift_grows_with_force_and_falls_with_the_cube_of_the_gauge() -> None:
    assert lift(force=3.0) == pytest.approx(3 * lift())
    assert lift(gauge=1.0) == pytest.approx(8 * lift(), rel=1e-3)


def test_more_screws_lift_less_and_none_holds_nothing() -> None:
    far = np.array([[100.0, 6.0, 5.0]])
    assert lift(screws=np.vstack([CLAMP, far])) < 0.1 * lift()
    assert lift(screws=np.empty((0, 3))) == np.inf


def test_the_worst_place_is_the_free_end() -> None:
    assert edge_lift(STRIP, LEVEL, 2.0, 2300.0, CLAMP, 1.0).x > 105


def test_the_finding_comes_with_fewer_than_four_screws_only() -> None:
    fixture, setup = parts()[3], trim()
    assert check_edges(fixture, setup) == ()
    (few,) = check_edges(replace(fixture, screws=(0, 1, 2, 4, 5, 6)), setup)
    assert few.code == "edge-lifts"
    assert "Held by 3 screws" in few.message
    assert few.measured is not None
    (none,) = check_edges(replace(fixture, screws=(4, 5, 6, 7)), setup)
    assert "freely" in none.message
    assert none.measured is None


def test_the_pull_is_power_over_surface_speed() -> None:
    """38.5 W at 4.665 m/s along the cut, tan 30 degrees of it upwards: worked by hand."""
    energy = catalog().material("acrylic-PVC").cutting_energy.value
    removal = 6.0 * 2.0 * 1604 / 60
    speed = np.pi * 6.0 * 14850 / 60_000
    assert mean_pull(trim()) == pytest.approx(energy * removal / speed * np.tan(np.pi / 6))
