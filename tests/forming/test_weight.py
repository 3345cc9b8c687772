"""Area and mass of pieces whose answer is plain."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import fit_outline
from chape.forming.weight import weight_of
from chape.sheath.model import Hole, HoleUse, Piece, Slot

SHEET = catalog().sheet("acrylic-pvc-2.0")
GRID = Grid.over(-30, -20, 30, 20, 0.5)


def piece(z, outline, holes=(), slots=()):
    return Piece("plain", HeightField(GRID, z), fit_outline(outline), holes, slots)


def wall(thickness=2.0):
    return HeightField.flat(GRID, thickness)


def test_a_level_disc_weighs_its_area_times_its_gauge():
    disc = shapely.Point(0, 0).buffer(15, quad_segs=256)
    found = weight_of(piece(np.zeros(GRID.shape), disc), wall(), SHEET)
    area = np.pi * 15**2
    assert found.flat == pytest.approx(area, rel=1e-3)
    assert found.surface == pytest.approx(area, rel=1e-3)
    assert found.mass == pytest.approx(area * 2.0 * SHEET.density.value * 1e-6, rel=1e-3)


def test_holes_and_slots_weigh_nothing():
    box = shapely.box(-20, -10, 20, 10)
    holes = (Hole(-10.3, 1.7, 6.4, HoleUse.EYELET, 5.0),)
    slots = (Slot(6.1, -2.3, 15.0, 4.0, 0.4),)
    found = weight_of(piece(np.zeros(GRID.shape), box, holes, slots), wall(), SHEET)
    open_area = np.pi * 3.2**2 + 11 * 4 + np.pi * 4
    assert found.flat == pytest.approx(800 - open_area, rel=1e-4)
    assert found.surface == pytest.approx(found.flat, rel=1e-6)


def test_a_slope_is_longer_than_its_plan_by_its_secant():
    x, _ = GRID.mesh()
    found = weight_of(piece(0.75 * x, shapely.box(-20, -10, 20, 10)), wall(1.5), SHEET)
    assert found.surface == pytest.approx(800 * 1.25, rel=1e-6)
    assert found.mass == pytest.approx(1000 * 1.5 * SHEET.density.value * 1e-6, rel=1e-6)
    assert found.spread == pytest.approx(found.mass * SHEET.density.spread / SHEET.density.value)


def test_a_dome_comes_to_its_cap():
    x, y = GRID.mesh()
    radius, reach = 25.0, 12.0
    z = np.sqrt(np.maximum(radius**2 - x**2 - y**2, 0.0))
    disc = shapely.Point(0, 0).buffer(reach, quad_segs=256)
    cap = 2 * np.pi * radius * (radius - np.sqrt(radius**2 - reach**2))
    assert weight_of(piece(z, disc), wall(), SHEET).surface == pytest.approx(cap, rel=1e-3)
