"""A rigid bar in a rigid slot moves as far as geometry says."""

from itertools import product
from math import cos, sin

import numpy as np
import pytest
from scipy.optimize import brentq

from chape.fit.freedom import FURTHEST, furthest_shift, furthest_turn

LENGTH, WIDTH, THICK = 100.0, 10.0, 4.0
SLOT, HIGH = 10.8, 4.6
CORNERS = np.array(list(product((0, LENGTH), (-WIDTH / 2, WIDTH / 2), (-THICK / 2, THICK / 2))))
#: Once for each of the slot's four faces.
POINTS = np.vstack([CORNERS] * 4)
MIDDLE = np.array([LENGTH / 2, 0.0, 0.0])
FACES = np.repeat(np.array([[0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1.0]]), len(CORNERS), axis=0)
ROOM = np.repeat([SLOT / 2, SLOT / 2, HIGH / 2, HIGH / 2], len(CORNERS))


def slot(points):
    return ROOM - (points * FACES).sum(axis=1), FACES


@pytest.mark.parametrize(("axis", "width", "room"), [(2, WIDTH, SLOT), (1, THICK, HIGH)])
@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_bar_turns_until_its_corners_touch(axis, width, room, sense):
    """Its corners span L sin a + w cos a: the exact angle, not the linear one."""
    exact = brentq(lambda a: LENGTH * sin(a) + width * cos(a) - room, 0.0, 0.1)
    reach = furthest_turn(POINTS, slot, MIDDLE, sense * np.eye(3)[axis])
    assert reach.amount == pytest.approx(exact, rel=1e-4)
    assert reach.overlap < 1e-3
    assert not reach.free
    assert reach.touches


def test_a_bar_shifts_by_its_clearance():
    end = np.array([0.0, 0.0, 0.0])
    reach = furthest_shift(POINTS, slot, MIDDLE, end, np.array([0.0, 1.0, 0.0]))
    assert reach.amount == pytest.approx((SLOT - WIDTH) / 2, abs=1e-3)
    assert {round(float(POINTS[index][1]), 3) for index in reach.touches} == {WIDTH / 2}


def test_what_nothing_stops_is_followed_no_further():
    end = np.array([0.0, 0.0, 0.0])
    reach = furthest_shift(POINTS, slot, MIDDLE, end, np.array([1.0, 0.0, 0.0]))
    assert reach.free
    assert FURTHEST <= reach.amount < FURTHEST + 1


def test_what_touches_at_home_may_slide_and_never_press_further():
    def tight(points):
        gaps, ways = slot(points)
        return gaps - 0.45, ways  # overlaps by 0.05 mm to both sides

    end = np.array([0.0, 0.0, 0.0])
    assert furthest_shift(POINTS, tight, MIDDLE, end, np.eye(3)[1]).amount == pytest.approx(0)
    assert furthest_shift(POINTS, tight, MIDDLE, end, np.eye(3)[0]).free
