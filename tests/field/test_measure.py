"""Volumes and areas of bodies whose volume and area are known."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.measure import area, upright_share, volume_above

GRID = Grid(-2.0, -1.0, 0.5, 9, 5)


def test_volume_of_a_wedge() -> None:
    wedge = HeightField.of(GRID, lambda x, _y: x)
    # Above z = 0 stands a wedge 2 mm long, 2 mm wide, 2 mm high at its thick end.
    assert volume_above(wedge, 0.0) == pytest.approx(4.0)
    # A level between nodes cuts the triangles themselves.
    assert volume_above(wedge, 0.3) == pytest.approx(1.7**2 / 2 * 2)
    assert volume_above(wedge, 2.0) == 0.0
    assert volume_above(wedge, -2.0) == pytest.approx(4 * 2 * 2)


def test_volume_of_one_raised_node() -> None:
    z = np.zeros(GRID.shape)
    z[2, 4] = 3.0
    # Six triangles of half a cell share the node: a pyramid on three cells.
    assert volume_above(HeightField(GRID, z), 0.0) == pytest.approx(3 * 0.25 * 3 / 3)
    # Cut at two thirds of its height a pyramid leaves a twenty-seventh.
    assert volume_above(HeightField(GRID, z), 2.0) == pytest.approx(0.75 / 27)


@settings(deadline=None)
@given(
    hnp.arrays(np.float64, (4, 5), elements=st.floats(-5, 5)),
    st.floats(-6, 6),
)
def test_what_is_above_less_what_is_below_is_the_mean_height(z: np.ndarray, level: float) -> None:
    surface = HeightField(Grid(0.0, 0.0, 0.4, 5, 4), z)
    below = volume_above(surface.with_z(-z), -level)
    mean = volume_above(surface, -10.0) - (10.0 + level) * 4 * 3 * 0.16
    assert volume_above(surface, level) - below == pytest.approx(mean, abs=1e-9)


def test_area_of_a_slope_and_of_a_cap() -> None:
    slope = HeightField.of(GRID, lambda x, y: 0.3 * x - 1.2 * y)
    assert area(slope) == pytest.approx(4 * 2 * sqrt(1 + 0.3**2 + 1.2**2))
    # Cap of a sphere of 5 mm, cut by a plane 4 mm above its centre: 2 pi R h over a disc of 3 mm.
    cap = HeightField.of(
        Grid.over(-4, -4, 4, 4, 0.05),
        lambda x, y: np.sqrt(np.maximum(25 - x**2 - y**2, 16)),
    )
    assert area(cap) - (64 - 9 * pi) == pytest.approx(2 * pi * 5 * 1, rel=1e-3)


def test_upright_share_of_a_slope() -> None:
    slope = HeightField.of(GRID, lambda x, y: 0.6 * x + 0.8 * y)
    np.testing.assert_allclose(upright_share(slope), sqrt(0.5))
