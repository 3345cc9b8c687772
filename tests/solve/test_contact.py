"""Contact with friction, against hand calculation and against trying everything."""

from __future__ import annotations

from itertools import product
from math import atan, cos, degrees, radians, sin, tan

import numpy as np
import pytest

from chape.solve.contact import Compliance, Points, touch


def given(matrix):
    """A compliance that is known from the start."""
    matrix = np.asarray(matrix, dtype=float)

    def columns(nodes):
        return matrix.T[(3 * nodes[:, None] + np.arange(3)).ravel()]

    return Compliance(columns, len(matrix) // 3)


def single(count, layer=0.0):
    """Points that sit right on nodes."""
    return Points(np.arange(count)[:, None], np.ones((count, 1)), np.full(count, layer))


def none(count):
    return np.zeros(count, dtype=bool)


@pytest.mark.parametrize(
    ("friction", "slope"), [(0.2, 30.0), (0.3, 45.0), (0.5, 10.0), (0.0, 20.0)]
)
def test_a_block_between_springs_as_worked_out_by_hand(friction, slope):
    """A slope pushes a spring that moves across the draw only: F / (k y) is the mating factor."""
    stiff, interference, a = 12.0, 0.4, radians(slope)
    compliance = given(np.diag([0.0, 0.0, 1 / stiff]))
    normal = np.array([[sin(a), 0.0, cos(a)]])
    direction = normal + friction * np.array([[cos(a), 0.0, -sin(a)]])
    gap = np.array([-interference * cos(a)])
    force, moved = touch(compliance, single(1), gap, normal, direction, none(1))
    across, along = force @ direction[:, 2], force @ direction[:, 0]
    assert moved[2] == pytest.approx(interference)
    assert across == pytest.approx(stiff * interference)
    assert along / across == pytest.approx((friction + tan(a)) / (1 - friction * tan(a)))


def test_past_the_angle_of_friction_nothing_fits():
    friction = 0.6
    a = radians(degrees(atan(1 / friction)) + 1)
    normal = np.array([[sin(a), 0.0, cos(a)]])
    direction = normal + friction * np.array([[cos(a), 0.0, -sin(a)]])
    with pytest.raises(ArithmeticError):
        touch(given(np.diag([0, 0, 1.0])), single(1), np.array([-0.1]), normal, direction, none(1))


@pytest.mark.parametrize("seed", range(6))
def test_no_point_pulls_and_none_runs_through(seed):
    """The one set of touching points that fits, among all sets there are."""
    count = 6
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(3 * count, 3 * count))
    compliance = root @ root.T
    normals = rng.normal(size=(count, 3)) + np.array([0, 0, 3.0])
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    gaps = rng.normal(size=count)
    force, moved = touch(given(compliance), single(count, 0.1), gaps, normals, normals, none(count))
    opened = gaps + (normals * moved.reshape(-1, 3)).sum(axis=1) + 0.1 * force
    assert (force >= 0).all()
    assert (opened > -1e-9).all()
    assert np.abs(force * opened).max() < 1e-9
    spread = np.zeros((count, 3 * count))
    for i in range(count):
        spread[i, 3 * i : 3 * i + 3] = normals[i]
    whole = spread @ compliance @ spread.T + 0.1 * np.eye(count)
    fitting = []
    for chosen in product([False, True], repeat=count):
        trial, kept = np.zeros(count), np.flatnonzero(chosen)
        if len(kept):
            trial[kept] = np.linalg.solve(whole[np.ix_(kept, kept)], -gaps[kept])
        if (trial >= 0).all() and (gaps + whole @ trial > -1e-9).all():
            fitting.append(trial)
    assert len(fitting) == 1
    assert force == pytest.approx(fitting[0])


def test_a_good_first_guess_changes_nothing_but_the_time():
    count = 5
    rng = np.random.default_rng(3)
    root = rng.normal(size=(3 * count, 3 * count))
    compliance = given(root @ root.T)
    normals = np.tile([0.0, 0.0, 1.0], (count, 1))
    gaps = rng.normal(size=count)
    cold, _ = touch(compliance, single(count, 0.1), gaps, normals, normals, none(count))
    warm, _ = touch(compliance, single(count, 0.1), gaps, normals, normals, cold > 0)
    assert warm == pytest.approx(cold)


def test_columns_are_worked_out_only_where_something_touches():
    asked = []

    def columns(nodes):
        asked.extend(nodes)
        return np.eye(9)[(3 * nodes[:, None] + np.arange(3)).ravel()]

    compliance = Compliance(columns, 3)
    normals = np.tile([0.0, 0.0, 1.0], (3, 1))
    gaps = np.array([1.0, -0.2, 2.0])
    force, _ = touch(compliance, single(3), gaps, normals, normals, none(3))
    assert force == pytest.approx([0.0, 0.2, 0.0])
    assert asked == [1]
    packed = compliance.packed()
    assert packed.known.all()
    assert touch(packed, single(3), gaps, normals, normals, none(3))[0] == pytest.approx(force)


def test_right_at_the_angle_of_friction_nothing_fits():
    """The matrix is singular there, to the last bit: mu = 1 on a slope of 45 degrees."""
    normal = np.array([[1.0, 0.0, 1.0]])
    direction = np.array([[2.0, 0.0, 0.0]])
    with pytest.raises(ArithmeticError):
        touch(given(np.diag([0, 0, 1.0])), single(1), np.array([-0.1]), normal, direction, none(1))
