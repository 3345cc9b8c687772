"""Regions and level lines of surfaces whose level lines are known."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely

from chape.field.contour import level_lines, regions_above
from chape.field.grid import Grid
from chape.field.heights import HeightField

GRID = Grid.over(-10, -10, 10, 10, 0.1)
BOWL = HeightField.of(GRID, np.hypot)
PEAK = BOWL.with_z(-BOWL.z)


def test_a_peak_is_a_disc() -> None:
    regions = regions_above(PEAK, -4.0)
    assert len(regions.geoms) == 1
    assert regions.area == pytest.approx(16 * pi, rel=1e-3)
    assert regions.geoms[0].exterior.is_ccw


def test_a_bowl_has_its_hole() -> None:
    regions = regions_above(BOWL, 4.0)
    assert regions.is_valid
    assert [len(part.interiors) for part in regions.geoms] == [1]
    assert regions.area == pytest.approx(400 - 16 * pi, rel=1e-4)


def test_level_lines_keep_higher_ground_on_the_left() -> None:
    (line,) = level_lines(PEAK, -4.0)
    ring = shapely.LinearRing(line)
    assert ring.is_ccw
    assert ring.length == pytest.approx(8 * pi, rel=1e-3)
    assert not shapely.LinearRing(level_lines(BOWL, 4.0)[0]).is_ccw


def test_plateaus_at_the_level_are_not_above_it() -> None:
    steps = HeightField.of(GRID, lambda x, _: np.where(x > 0.05, 1.0, 0.0))
    assert regions_above(steps, 0.0).area == pytest.approx(10 * 20, abs=1e-6)
    assert regions_above(steps, 1.0).is_empty


def test_saddles_give_valid_regions() -> None:
    checks = HeightField.of(
        Grid.over(0, 0, 6, 6, 1), lambda x, y: np.where((x + y) % 2 == 0, 1.0, 0.0)
    )
    for level in (0.25, 0.5, 0.75):
        regions = regions_above(checks, level)
        assert regions.is_valid
        assert 0 < regions.area < 36


def test_a_level_must_be_a_number() -> None:
    with pytest.raises(ValueError, match="finite"):
        regions_above(BOWL, float("nan"))
