"""Small boards whose programs are broken on purpose: mould, back, fixture and trim."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from chape.cutting.model import KeepOut, Setup
from chape.field.envelope import Body, closing, opening
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import Groove, RoundHole
from cut_boards import mould, rounded_part

SIZE = 30.0
SPACING = 0.5


def _rounded_hill(grid: Grid, height: float) -> HeightField:
    x, y = grid.mesh()
    away = np.hypot(np.maximum(np.abs(x - SIZE / 2) - 3, 0), y - SIZE / 2) - 4
    z = np.clip(np.minimum(height, -away * np.tan(np.radians(75))), 0, None)
    return closing(opening(HeightField(grid, z), Body.ball(1.6)), Body.ball(3.1))


def small_mould() -> Setup:
    surface = _rounded_hill(Grid.over(0, 0, SIZE, SIZE, SPACING), 3.0)
    holes = (
        RoundHole(4.0, 4.0, 1.0, 0.0, -12.0, "vent"),
        RoundHole(SIZE - 5, SIZE - 6, 6.0, 0.0, -25.3, "dowel"),
    )
    return replace(
        mould(),
        stock=HeightField.flat(surface.grid, 4.0),
        target=surface,
        holes=holes,
        width=SIZE,
        depth=SIZE,
    )


def small_back() -> Setup:
    level = HeightField.flat(Grid.over(0, 0, 40, 30, SPACING), 0.0)
    grooves = (
        Groove(np.array([[8.0, 4.0], [8.0, 26.0]]), 3.0, -3.0),
        Groove(np.array([[8.0, 12.0], [20.0, 12.0], [24.0, 20.0]]), 3.0, -3.0),
    )
    return replace(
        mould(),
        name="mould-back",
        stock=level,
        target=level,
        grooves=grooves,
        flipped=True,
        width=40.0,
        depth=30.0,
    )


def small_fixture() -> Setup:
    grid = Grid.over(0, 0, SIZE, SIZE, SPACING)
    z = -_rounded_hill(grid, 3.0).z
    ring = np.array([[5.0, 5.0], [25.0, 5.0], [25.0, 25.0], [5.0, 25.0], [5.0, 5.0]])
    return replace(
        mould(),
        name="fixture",
        offset="G55",
        stock=HeightField.flat(grid, 1.0),
        target=closing(HeightField(grid, z), Body.ball(3.1)),
        holes=(RoundHole(2.5, 15.0, 4.0, 0.0, -8.0, "insert"),),
        grooves=(Groove(ring, 3.0, -2.0),),
        width=SIZE,
        depth=SIZE,
    )


def small_trim() -> Setup:
    grid = Grid.over(0, 0, 60, 34, SPACING)
    parts = (rounded_part(16, 17, 8, 3), rounded_part(44, 17, 8, 3))
    holes = tuple(RoundHole(x, 17.0, 6.4, 2.0, -0.3, "eyelet") for x in (16.0, 44.0))
    x, y = grid.mesh()
    ways = shapely.union_all([part.polygon().buffer(3.0).exterior for part in parts])
    seat = np.where(shapely.contains_xy(ways.buffer(4.5), x, y), -2.0, 0.0)
    return replace(
        mould(),
        name="trim",
        offset="G55",
        stock=HeightField.flat(grid, 2.0),
        target=HeightField(grid, seat),
        holes=holes,
        outlines=parts,
        sheet_gauge=2.0,
        keep_outs=tuple(KeepOut(x, 17.0, 4.0, 5.3, after_stop=True) for x in (16.0, 44.0)),
        width=60.0,
        depth=34.0,
    )


BOARDS = {
    "mould": small_mould,
    "back": small_back,
    "fixture": small_fixture,
    "trim": small_trim,
}
