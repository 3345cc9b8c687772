"""Where water stays in shapes whose answer is plain, and what a hole at the right place changes."""

import numpy as np
import pytest
import shapely

from chape.sheath.drain import FILM, STEP, clear_of, drained, pockets

TUB = shapely.Polygon([(0, 0), (10, -8), (20, 0), (20, 20), (0, 20)])
DOWN = (0.0, -1.0)


def test_a_tub_open_above_holds_all_its_water():
    top = shapely.LineString([(0, 20), (20, 20)])
    (found,) = pockets(TUB, [top], DOWN)
    assert (found.x, found.y) == pytest.approx((10.0, -8.0))
    assert found.depth == pytest.approx(28.0, abs=2 * STEP)


def test_turned_over_it_holds_nothing():
    top = shapely.LineString([(0, 20), (20, 20)])
    assert pockets(TUB, [top], (0.0, 1.0)) == ()


def test_water_stands_up_to_the_rim_it_spills_over():
    side = shapely.LineString([(20, 3), (20, 4)])
    (found,) = pockets(TUB, [side], DOWN)
    assert found.depth == pytest.approx(11.0, abs=2 * STEP)


def test_a_hole_at_the_lowest_point_lets_it_all_out():
    top = shapely.LineString([(0, 20), (20, 20)])
    hole = shapely.Point(10, -8).buffer(2)
    assert pockets(TUB, [top, hole], DOWN) == ()


def test_each_hollow_wants_a_hole_of_its_own():
    twin = shapely.union_all([TUB, shapely.affinity.translate(TUB, 20, 3)])
    top = shapely.LineString([(0, 20), (20, 20)])
    holes = drained(twin, [top], DOWN, 2.5)
    assert [(hole.x, hole.y) for hole in holes] == [
        pytest.approx((10.0, -8.0)),
        pytest.approx((30.0, -5.0)),
    ]
    # The deep one first; the other then holds no more than its own rim.
    assert holes[0].depth > holes[1].depth >= FILM


def test_less_than_a_film_is_no_hollow():
    shallow = shapely.Polygon([(0, 0), (10, -1), (20, 0), (20, 9), (0, 9)])
    assert pockets(shallow, [shapely.LineString([(20, 0), (20, 9)])], DOWN) == ()


def test_a_drain_stands_on_the_lowest_point_unless_a_rivet_is_in_its_way():
    none = np.zeros((0, 3))
    assert clear_of((0.0, 0.0), DOWN, 2.5, none, 0.2) == pytest.approx((0.0, 0.0))
    rivet = np.array([[1.0, -6.5, 4.9]])
    x, y = clear_of((0.0, 0.0), DOWN, 2.5, rivet, 0.2)
    assert x == 0.0
    assert 0 < y <= 2.3
    assert np.hypot(1.0, -6.5 - y) >= 4.9 + 2.5
