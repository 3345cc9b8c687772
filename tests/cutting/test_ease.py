"""Ways eased within a tube."""

from __future__ import annotations

import numpy as np
import pytest

from chape.cutting.ease import eased, evenly


def turns(way: np.ndarray) -> np.ndarray:
    """Return by how much a way turns at each of its points, radians."""
    heading = np.unwrap(np.arctan2(*np.diff(way, axis=0).T[::-1]))
    turned: np.ndarray = np.abs(np.diff(heading))
    return turned


def test_a_straight_way_stays() -> None:
    line = evenly(np.array([[0.0, 0.0], [30.0, 40.0]]))
    np.testing.assert_allclose(eased(line, 1.0), line, atol=1e-9)


def test_jitter_smaller_than_the_tube_vanishes() -> None:
    along = np.arange(0.0, 50.0, 0.25)
    rng = np.random.default_rng(4)
    line = np.column_stack([along, rng.uniform(-0.02, 0.02, len(along))])
    assert turns(line).max() > 0.05
    assert turns(eased(line, 0.05)[20:-20]).max() < 0.01


@pytest.mark.parametrize("within", [0.0, 0.1, 0.5])
def test_nothing_leaves_its_tube_and_ends_stay(within: float) -> None:
    corner = evenly(np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0]]))
    easy = eased(corner, within)
    away = np.hypot(*(easy - corner).T)
    assert away.max() <= within + 1e-9
    np.testing.assert_array_equal(easy[[0, -1]], corner[[0, -1]])


def test_a_corner_is_cut_short_by_the_whole_tube() -> None:
    within = 0.5
    corner = evenly(np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0]]))
    easy = eased(corner, within)
    assert np.hypot(*(easy - [20.0, 0.0]).T).min() == pytest.approx(within, abs=1e-6)
    # A string from one edge of the tube to the other would bend there by less than a right angle.
    assert turns(easy).max() < 0.9 * np.pi / 2


def test_a_closed_way_stays_closed_and_every_place_of_it_is_eased() -> None:
    square = evenly(np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0], [0.0, 0.0]]))
    easy = eased(square, 0.4)
    np.testing.assert_array_equal(easy[0], easy[-1])
    assert np.hypot(*(easy - square).T)[[0, -1]] == pytest.approx(0.4)


def test_a_tube_may_be_shut_here_and_there() -> None:
    corner = evenly(np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0]]))
    within = np.where(corner[:, 0] < 10, 0.5, 0.0)
    np.testing.assert_array_equal(eased(corner, within)[within == 0], corner[within == 0])
