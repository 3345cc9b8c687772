"""Removal against brute force, exact bodies and laws."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from chape.catalog.model import CutterKind
from chape.cutting.reach import depth_below, reachable
from chape.cutting.remove import remove
from chape.cutting.segments import Segments
from chape.cutting.sweep import profile, shape_of, surely_clear, swept_height
from chape.field.grid import Grid
from chape.field.heights import HeightField
from cutting.proof_setups import BALL, BULL, DRILL, FLAT, RACK
from cutting.proof_setups import cutter as cutter_of

if TYPE_CHECKING:
    from chape.catalog.model import Cutter

TAPER = cutter_of(6, CutterKind.TAPERED_BALL, 6.0, corner=1.0, point_angle=30.0)
VEE = cutter_of(7, CutterKind.VEE, 6.0, point_angle=60.0)
CUTTERS = (BALL, FLAT, BULL, DRILL, TAPER, VEE)
place = st.floats(-6, 6, allow_nan=False)


def brute(cutter: Cutter, segment: tuple[float, ...], x: float, y: float) -> float:
    """The least underside over many places along the segment."""
    shape = shape_of(cutter)
    best = np.inf
    for share in np.linspace(0, 1, 4001):
        tip = [a + share * (b - a) for a, b in zip(segment[:3], segment[3:], strict=True)]
        r = float(np.hypot(x - tip[0], y - tip[1]))
        if r <= shape[4]:
            best = min(best, tip[2] + profile(shape, r))
    return best


@pytest.mark.parametrize("cutter", CUTTERS, ids=lambda cutter: cutter.kind)
def test_the_closed_form_is_the_least_of_many_places(cutter: Cutter) -> None:
    generator = np.random.default_rng(1)
    for _ in range(12):
        segment = tuple(generator.uniform(-4, 4, 6).tolist())
        x, y = generator.uniform(-4, 4, 2).tolist()
        exact, many = swept_height(shape_of(cutter), segment, x, y), brute(cutter, segment, x, y)
        if np.isinf(many):
            continue
        # Samples miss the end of the covered interval by one step of the slope at most.
        # The bisection of a bull nose ends within 0.1 µm along the segment.
        assert exact <= many + 1e-6
        assert exact == pytest.approx(many, abs=0.02)


@given(segment=st.tuples(*[place] * 6), x=place, y=place, rise=st.floats(1e-3, 8))
@settings(max_examples=300, deadline=None)
@example(segment=(0.0, 0.0, 0.0, 1.0, 0.0, 0.0), x=0.5, y=2.0, rise=1.0)
def test_what_is_surely_clear_is_clear(
    segment: tuple[float, float, float, float, float, float], x: float, y: float, rise: float
) -> None:
    low = min(segment[2], segment[5])
    start, way = np.array(segment[:2]), np.array(segment[3:5]) - segment[:2]
    squared = float(way @ way)
    share = float(np.clip((np.array([x, y]) - start) @ way / squared, 0, 1)) if squared else 0.0
    d2 = float(((start + share * way - [x, y]) ** 2).sum())
    for cutter in CUTTERS:
        shape = shape_of(cutter)
        if surely_clear(shape, rise, d2):
            assert swept_height(shape, segment, x, y) >= low + rise - 1e-7


def straight(*places: tuple[float, float, float], cutter: int = 0) -> Segments:
    points = np.array(places, dtype=float)
    count = len(points) - 1
    return Segments(
        np.hstack([points[:-1], points[1:]]),
        np.full(count, cutter, dtype=np.int32),
        np.zeros(count, dtype=np.bool_),
        np.arange(count, dtype=np.int32),
    )


def test_a_ball_plunged_leaves_a_sphere() -> None:
    grid = Grid.over(-5, -5, 5, 5, 0.1)
    result = remove(HeightField.flat(grid, 0.0), straight((0, 0, 5), (0, 0, -2)), [BALL])
    x, y = grid.mesh()
    r2 = x * x + y * y
    ball = np.where(r2 <= 9, 3 - np.sqrt(np.maximum(9 - r2, 0)) - 2, 0.0)
    assert result.stock.z == pytest.approx(np.minimum(ball, 0.0), abs=1e-12)
    assert result.cut[0] == pytest.approx(2)


def test_a_ramp_of_a_ball_leaves_a_cylinder() -> None:
    """Section along a ramp of slope m: the envelope lies R/cos below the middle's line."""
    grid = Grid.over(0, -1, 40, 1, 0.5)
    m = 0.25
    path = straight((0.0, 0.0, 10.0), (40.0, 0.0, 10.0 - 40 * m))
    result = remove(HeightField.flat(grid, 12.0), path, [BALL])
    x = grid.x[20:60]
    middle = result.stock.z[2, 20:60]
    assert middle == pytest.approx(10 - m * x + 3 - 3 * np.hypot(1, m), abs=1e-9)


@given(
    path=st.lists(st.tuples(st.floats(0, 12), st.floats(0, 12), st.floats(-3, 3)), min_size=2,
                  max_size=8),
    cutter=st.integers(0, 5),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_tiles_and_bands_change_nothing(
    path: list[tuple[float, float, float]], cutter: int
) -> None:
    grid = Grid.over(0, 0, 12, 30, 0.4)
    stock = HeightField.flat(grid, 1.0)
    segments = straight(*path, cutter=cutter)
    result = remove(stock, segments, CUTTERS)
    shape = shape_of(CUTTERS[cutter])
    x, y = grid.mesh()
    expected = stock.z.copy()
    for segment in segments.ends:
        for j, i in np.ndindex(*grid.shape):
            over = swept_height(shape, tuple(segment.tolist()), x[j, i], y[j, i])
            expected[j, i] = min(expected[j, i], over)
    assert result.stock.z == pytest.approx(expected, abs=1e-9)


def test_cutting_twice_changes_nothing() -> None:
    grid = Grid.over(0, 0, 20, 20, 0.3)
    path = straight((2, 2, -1), (18, 15, -2), (3, 17, 0.5))
    once = remove(HeightField.flat(grid, 1.0), path, [BULL])
    twice = remove(once.stock, path, [BULL])
    assert np.array_equal(once.stock.z, twice.stock.z)
    assert twice.cut.max() == 0


def test_a_flat_reaches_everything_level_and_a_ball_leaves_a_fillet() -> None:
    grid = Grid.over(0, 0, 20, 2, 0.1)
    # The last node of the top is at x = 10.
    step = np.where(grid.x[None, :] < 10.05, 5.0, 0.0) + np.zeros(grid.shape)
    everywhere = np.ones(grid.shape, dtype=np.bool_)
    assert reachable(step, 0.1, everywhere, [FLAT]) == pytest.approx(step)
    ball = reachable(step, 0.1, everywhere, [BALL])[10]
    x = grid.x
    # At 13.0 the rim would still touch the top node; the first free place is the next node.
    foot = (x > 10.15) & (x <= 13.1)
    fillet = 3 - np.sqrt(np.maximum(9 - (13.1 - x[foot]) ** 2, 0))
    assert ball[foot] == pytest.approx(fillet, abs=1e-9)
    assert ball[x > 13.15] == pytest.approx(0, abs=1e-12)


def test_depth_below_a_slope_is_measured_along_its_normal() -> None:
    grid = Grid.over(0, 0, 6, 6, 0.2)
    slope = 2.0
    z = HeightField.of(grid, lambda x, y: slope * x + 0 * y).z
    rows, columns = np.array([15, 15]), np.array([15, 15])
    heights = z[rows, columns] - np.array([0.1, 0.5])
    depths = depth_below(z, 0.2, rows, columns, heights)
    assert depths == pytest.approx(np.array([0.1, 0.5]) / np.hypot(1, slope))


def test_depth_below_the_top_of_a_step_is_to_its_side() -> None:
    grid = Grid.over(0, 0, 6, 6, 0.2)
    z = np.where(grid.x[None, :] < 2.9, 5.0, 0.0) + np.zeros(grid.shape)
    # Below the last node of the top, the side falls away within one cell.
    depth = depth_below(z, 0.2, np.array([15]), np.array([14]), np.array([3.0]))
    assert depth[0] == pytest.approx(2.0 * 0.2 / np.hypot(5, 0.2))


def test_every_cutter_of_the_rack_has_a_profile_that_never_falls() -> None:
    for cutter in RACK:
        heights = [profile(shape_of(cutter), r) for r in np.linspace(0, cutter.radius, 50)]
        assert (np.diff(heights) >= 0).all()
        assert np.isinf(profile(shape_of(cutter), cutter.radius + 1e-6))


@pytest.mark.parametrize("cutter", CUTTERS, ids=lambda cutter: cutter.kind)
def test_the_volume_is_what_the_stock_lost(cutter: Cutter) -> None:
    generator = np.random.default_rng(2)
    stock = HeightField.flat(Grid(0, 0, 0.25, 161, 141), 5.0)
    ends = np.column_stack([generator.uniform(-2, 42, (40, 6))])
    ends[:, [2, 5]] = generator.uniform(1, 6, (40, 2))
    none = np.zeros(40, np.int32)
    taken = remove(stock, Segments(ends, none, none > 0, np.arange(40, dtype=np.int32)), [cutter])
    lost = float((stock.z - taken.stock.z).sum()) * 0.25**2
    assert lost > 100
    assert float(taken.volume.sum()) == pytest.approx(lost, rel=1e-5)
    assert np.all((taken.volume > 0) == (taken.cut > 0))


def test_a_slot_is_as_large_as_its_width_its_depth_and_its_length() -> None:
    stock = HeightField.flat(Grid(0, 0, 0.1, 501, 201), 0.0)
    ends = np.array([[-10.0, 10, -2, 25, 10, -2], [25, 10, -2, 60, 10, -2]])
    segments = Segments(
        ends, np.zeros(2, np.int32), np.zeros(2, bool), np.arange(2, dtype=np.int32)
    )
    first, second = remove(stock, segments, [FLAT]).volume
    # 61 rows of nodes lie within 3 mm of the middle line.
    assert first + second == pytest.approx(6.1 * 2 * 50.1, rel=1e-6)
    half_round = np.pi * 9 / 2 * 2
    assert first == pytest.approx(6 * 2 * 25 + half_round, rel=0.02)


def test_a_rapid_far_beyond_the_stock_takes_no_longer() -> None:
    stock = HeightField.flat(Grid(0, 0, 0.5, 80, 80), 0.0)
    ends = np.array([[-1e9, -1e9, -1.0, 1e9, 1e9, -0.5]])
    one = Segments(ends, np.zeros(1, np.int32), np.ones(1, bool), np.zeros(1, np.int32))
    taken = remove(stock, one, [FLAT])
    assert taken.stray[0] == pytest.approx(1.0)
    assert taken.cut[0] > 0.7


def test_a_tapered_ball_is_a_ball_that_runs_smoothly_into_its_cone() -> None:
    """Ball of 1 mm, half angle 15°: the touching place lies at r = cos 15°, 1 - sin 15° high."""
    shape = shape_of(TAPER)
    half = np.radians(15)
    r, z = np.cos(half), 1 - np.sin(half)
    assert profile(shape, 0.5) == pytest.approx(1 - np.sqrt(0.75))
    assert profile(shape, r) == pytest.approx(z)
    assert profile(shape, 2.0) == pytest.approx(z + (2.0 - r) / np.tan(half))
    assert np.isinf(profile(shape, 3.1))
    before, after = profile(shape, r - 1e-4), profile(shape, r + 1e-4)
    assert (z - before) / 1e-4 == pytest.approx((after - z) / 1e-4, rel=1e-2)
