"""How lines are laid: against planes, strips and valleys whose answer is known."""

from __future__ import annotations

from math import acos, atan, radians, sin, tan

import numpy as np
import pytest

from chape.cutting.contours import contour_runs
from chape.cutting.creases import crease_runs
from chape.cutting.gentle import permitted
from chape.cutting.ground import Ground
from chape.cutting.left import Standing, under
from chape.cutting.locate import follow, stepped, tip_heights, tip_map
from chape.cutting.pace import Flat
from chape.cutting.rates import Rates
from chape.cutting.rings import lines_from_edge, ring_runs
from chape.field.envelope import Body, closing
from chape.field.grid import Grid
from chape.field.heights import HeightField

FLAT = Flat(3.0, Rates(18000.0, 2600.0, 800.0, 6.0, 5000.0))


def plane(slope: float, heading: float) -> HeightField:
    """A plane that rises by ``slope`` in a direction, radians from x."""
    grid = Grid.over(0, 0, 20, 20, 0.4)
    x, y = grid.mesh()
    return HeightField(grid, slope * (x * np.cos(heading) + y * np.sin(heading)))


@pytest.mark.parametrize("degrees", [4.0, 8.0, 15.0])
@pytest.mark.parametrize("off", [0.0, 20.0, 60.0])
def test_lines_of_a_flat_cutter_leave_the_ridge_that_was_asked_for(
    degrees: float, off: float
) -> None:
    slope, scallop = tan(radians(degrees)), 0.02
    surface = plane(slope, radians(off))
    apart = permitted(surface, surface, FLAT, scallop)[0]
    s = float(apart[25, 25])
    # What two lines s apart leave between them, by setting the disc down along both.
    t = np.linspace(-3, 3 + s, 20001)
    g, along, across = slope, slope * np.cos(radians(off)), slope * np.sin(radians(off))

    def over(t: np.ndarray) -> np.ndarray:
        inside = np.sqrt(np.maximum(9 - t * t, 0))
        return np.where(np.abs(t) <= 3, 3 * g - along * inside - across * t, np.inf)

    between = np.minimum(over(t), over(t - s))[(t > 3 * across / g) & (t < 3 * across / g + s)]
    ridge = between.max()
    assert ridge <= scallop * 1.001
    assert s == pytest.approx(FLAT.step) or ridge > 0.9 * scallop


def test_up_a_slope_a_flat_cutter_is_as_blunt_as_its_rim() -> None:
    slope = tan(radians(6.0))
    surface = plane(slope, 0.0)
    stray = acos(1 - 0.02 / (3 * slope))
    assert permitted(surface, surface, FLAT, 0.02)[0][20, 20] == pytest.approx(6 * sin(stray))
    # Along a slope every line is a step down: it may be no higher than the ridge.
    assert permitted(surface, surface, FLAT, 0.02)[1][20, 20] <= 0.02 / slope * 1.5


def test_a_strip_has_as_many_lines_as_fit_into_half_its_width() -> None:
    zone = np.zeros((60, 120), dtype=np.bool_)
    zone[20:40, 10:110] = True
    count = lines_from_edge(zone, np.full(zone.shape, 0.7), 0.4)
    assert count[30, 60] == pytest.approx(10 * 0.4 / 0.7, rel=0.06)
    assert (count[~zone] <= 0.3).all()
    # Where lines may lie half as far apart, there are twice as many.
    twice = lines_from_edge(zone, np.full(zone.shape, 0.35), 0.4)
    assert twice[30, 60] == pytest.approx(2 * count[30, 60], rel=0.01)


def test_rings_over_level_ground_leave_no_more_than_their_ridge() -> None:
    grid = Grid.over(0, 0, 24, 16, 0.4)
    level = HeightField.flat(grid, 0.0)
    x, y = grid.mesh()
    zone = (np.abs(x - 12) < 9) & (np.abs(y - 8) < 5)
    runs = ring_runs(level, zone, np.full(grid.shape, 0.69))
    assert len(runs) == 1
    fine = HeightField.flat(Grid.over(0, 0, 24, 16, 0.1), 0.0)
    standing = Standing(fine, Ground(HeightField.flat(fine.grid, 1.0)))
    standing.cut([np.column_stack([run, np.zeros(len(run))]) for run in runs], Body.ball(3.0))
    x, y = fine.grid.mesh()
    # The zone's own corners are rounded off.
    inside = (np.abs(x - 12) < 8.2) & (np.abs(y - 8) < 4.2)
    assert np.percentile(standing.z[inside], 99) < 0.03
    assert standing.z[inside].max() < 0.08


def test_contours_stand_at_one_height_however_coarse_the_map() -> None:
    grid = Grid.over(0, 0, 30, 30, 0.3)
    x, y = grid.mesh()
    away = np.hypot(x - 15.1, y - 14.8)
    cone = HeightField(grid, np.clip(2.0 * (9 - away), 0.0, 6.0))
    body = Body.ball(3.0)
    reach = tip_map(cone, body, 0.4)
    # Beside its foot and its top edge the ball's way is no cone.
    zone = (reach.z > 1.0) & (reach.z < 4.0)
    runs = contour_runs(cone, body, reach, zone, 0.69)
    gone, gone_level = 0.0, 0.0
    for path in follow(cone, body, runs):
        way = np.diff(path, axis=0)
        level = np.abs(way[:, 2]) < 1e-3
        gone += float(np.linalg.norm(way, axis=1).sum())
        gone_level += float(np.linalg.norm(way[level], axis=1).sum())
        # Level or not, the tip keeps to where it may be, along the normal of a slope of 2.
        between = (path[:-1] + path[1:]) / 2
        stray = tip_heights(cone, body, between[:, :2]) - between[:, 2]
        assert np.abs(stray).max() / np.hypot(1, 2.0) < 0.006
    # The rest is ways from one line to the next; followed as drawn, all of it was up and down.
    assert gone_level / gone > 0.8


def test_a_crease_is_found_where_two_slopes_meet() -> None:
    grid = Grid.over(0, 0, 30, 20, 0.3)
    x, y = grid.mesh()
    heading = atan(0.2)
    away = (y - 9.87) * np.cos(heading) - (x - 15) * np.sin(heading)
    surface = HeightField(grid, np.maximum(0.1 * away, -1.2 * away))
    body = Body.ball(3.0)
    reach = tip_map(surface, body, 0.4)
    runs = crease_runs(surface, body, reach, np.ones(reach.grid.shape, dtype=np.bool_))
    points = np.vstack([stepped(run, 1.0) for run in runs])
    inner = points[(points[:, 0] > 4) & (points[:, 0] < 26)]
    # The ball touches both where the planes, raised by what it stands off them, meet.
    apart = 3 * (np.hypot(1, 1.2) - np.hypot(1, 0.1)) / 1.3
    off = (inner[:, 1] - 9.87) * np.cos(heading) - (inner[:, 0] - 15) * np.sin(heading)
    assert len(inner) > 15
    assert np.abs(off - apart).max() < 0.05


@pytest.mark.parametrize("slope", [1.2, 2.5, 4.5])
@pytest.mark.parametrize("moved", [0.0, 0.07, 0.13])
def test_a_fillet_of_the_balls_own_radius_is_cut_from_its_crease(
    slope: float, moved: float
) -> None:
    grid = Grid.over(0, 0, 24, 12, 0.2)
    x, _ = grid.mesh()
    body = Body.ball(3.0)
    surface = closing(HeightField(grid, np.clip((x - 12 - moved) * slope, 0, 7)), body)
    reach = tip_map(surface, body, 0.4)
    runs = crease_runs(surface, body, reach, np.ones(reach.grid.shape, dtype=np.bool_))
    z = np.full(grid.shape, np.inf)
    for path in follow(surface, body, runs):
        z = under(z, surface, stepped(path, 0.05), body)
    # Where it is steeper, contours follow.
    rise = np.gradient(surface.z, 0.2)[1]
    fillet = (rise > 0.02) & (rise < 0.99) & (surface.z < 2.5)
    fillet[:10] = fillet[-10:] = False
    left = (z - surface.z) / np.hypot(1, rise)
    assert fillet.sum() > 200
    # One line where the slopes meet leaves up to 0.084 mm, for the fillet is drawn in facets.
    assert left[fillet].max() < 0.03


def test_a_flat_cutter_takes_a_disc_and_a_bull_nose_a_dish() -> None:
    surface = HeightField.flat(Grid.over(0, 0, 8, 8, 0.5), 0.0)
    tip = np.array([[4.0, 4.0, 0.0]])
    flat = under(np.full(surface.grid.shape, 5.0), surface, tip, Body.flat(3.0))
    assert flat[8, 2] == 0.0
    assert flat[8, 1] == 5.0
    bull = under(np.full(surface.grid.shape, 5.0), surface, tip, Body.bull_nose(3.0, 1.0))
    assert bull[8, 4] == 0.0
    assert bull[8, 3] == pytest.approx(1 - np.sqrt(0.75))
