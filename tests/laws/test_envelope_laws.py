"""Laws of sliding a body over a height field, on random surfaces of a few cells."""

from __future__ import annotations

from math import radians
from typing import TYPE_CHECKING

import numba
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from chape.field.body import Body
from chape.field.envelope import closing, dilate, erode, locate, opening
from chape.field.grid import Floats, Grid
from chape.field.heights import HeightField
from naive_envelope import bracket, over_nodes

if TYPE_CHECKING:
    from collections.abc import Callable

#: Rounding of sums of a few numbers of the size of ten.
ROUNDING = 1e-9

BODIES = {
    "ball": Body.ball(2.3),
    "flat": Body.flat(1.7),
    "bull nose": Body.bull_nose(2.5, 0.9),
    "bull nose, slender": Body.bull_nose(2.5, 2.2),
    "drill": Body.cone(radians(59), 2.4),
    "vee": Body.cone(radians(30), 2.0),
    "tapered ball": Body.tapered_ball(0.6, radians(15), 2.2),
    "ball cut short": Body(0.0, 3.0, np.inf, 2.0),
    "clearance": Body.clearance(0.0, 0.8, radians(8), 2.4),
    "smaller than a cell": Body.ball(0.3),
}
bodies = st.sampled_from(list(BODIES.values()))


@st.composite
def surfaces(draw: st.DrawFn) -> HeightField:
    grid = Grid(-1.5, 2.25, 0.75, draw(st.integers(2, 12)), draw(st.integers(2, 12)))
    tallest = draw(st.sampled_from([0.3, 3.0, 12.0]))
    heights = hnp.arrays(np.float64, grid.shape, elements=st.floats(-tallest, tallest))
    return HeightField(grid, draw(heights))


@st.composite
def surfaces_with_points(draw: st.DrawFn) -> tuple[HeightField, Floats]:
    surface = draw(surfaces())
    x_min, y_min, x_max, y_max = surface.grid.bounds
    place = st.tuples(st.floats(x_min - 0.2, x_max + 0.2), st.floats(y_min - 0.2, y_max + 0.2))
    return surface, np.array(draw(st.lists(place, min_size=1, max_size=6)))


@settings(deadline=None, max_examples=60)
@given(surfaces_with_points(), bodies)
def test_never_below_the_highest_node_under_the_body(
    case: tuple[HeightField, Floats], body: Body
) -> None:
    surface, points = case
    tips = locate(surface, points, body)
    for point, tip in zip(points, tips, strict=True):
        assert tip >= over_nodes(surface, point, body) - ROUNDING


@settings(deadline=None, max_examples=50)
@given(surfaces_with_points(), bodies)
def test_agrees_with_looking_everywhere(case: tuple[HeightField, Floats], body: Body) -> None:
    surface, points = case
    tips = locate(surface, points[:2], body)
    for point, tip in zip(points, tips, strict=False):
        low, high = bracket(surface, point, body, pieces=24)
        assert low - ROUNDING <= tip <= high + ROUNDING


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
def test_looking_everywhere_closes_in_on_it(body: Body) -> None:
    grid = Grid(0.0, 0.0, 0.5, 14, 12)
    surface = HeightField(grid, np.random.default_rng(5).uniform(0, 1.0, grid.shape))
    points = np.random.default_rng(6).uniform([1, 1], [5, 4], (5, 2))
    tips = locate(surface, points, body)
    gaps = []
    for point, tip in zip(points, tips, strict=True):
        low, high = bracket(surface, point, body, pieces=100)
        assert low - ROUNDING <= tip <= high + ROUNDING
        gaps.append(tip - low)
    # Samples 0.005 mm apart, on slopes below 3.
    assert np.median(gaps) < 0.015


@settings(deadline=None, max_examples=40)
@given(surfaces(), st.floats(0.2, 3.0))
def test_a_flat_disc_finds_the_highest_place_within_its_rim(
    surface: HeightField, radius: float
) -> None:
    grid = surface.grid
    dilated = dilate(surface, Body.flat(radius))
    turns = np.linspace(0, 2 * np.pi, 721)
    rim = radius * np.column_stack([np.cos(turns), np.sin(turns)])
    steepest = np.hypot(
        np.abs(np.diff(surface.z, axis=1)).max(), np.abs(np.diff(surface.z, axis=0)).max()
    )
    missed = steepest / grid.spacing * radius * np.pi / 720
    x_min, y_min, x_max, y_max = grid.bounds
    for j, i in [(0, 0), (grid.ny // 2, grid.nx // 2), (grid.ny - 1, 0)]:
        point = np.array([grid.x[i], grid.y[j]])
        # Linear pieces are highest at a node within the disc, or on its rim.
        around = point + rim
        around = around[
            (around[:, 0] >= x_min)
            & (around[:, 0] <= x_max)
            & (around[:, 1] >= y_min)
            & (around[:, 1] <= y_max)
        ]
        highest = over_nodes(surface, point, Body.flat(radius))
        if len(around):
            highest = max(highest, float(surface.at(around).max()))
        at_edge = j == 0 or i == 0 or radius > min(grid.shape) * grid.spacing / 2
        assert dilated.z[j, i] >= highest - ROUNDING
        if not at_edge:
            assert dilated.z[j, i] <= highest + missed + ROUNDING


@settings(deadline=None, max_examples=40)
@given(surfaces(), bodies)
def test_dilating_lifts_and_eroding_lowers(surface: HeightField, body: Body) -> None:
    assert (dilate(surface, body).z >= surface.z - ROUNDING).all()
    assert (erode(surface, body).z <= surface.z + ROUNDING).all()
    assert (closing(surface, body).z >= surface.z).all()
    assert (opening(surface, body).z <= surface.z).all()


@settings(deadline=None, max_examples=30)
@given(surfaces(), bodies, st.integers(0, 2**31))
def test_a_higher_surface_keeps_the_tip_higher(
    surface: HeightField, body: Body, number: int
) -> None:
    raised = surface.z + np.random.default_rng(number).uniform(0, 1, surface.z.shape)
    higher = dilate(surface.with_z(raised), body).z
    assert (higher >= dilate(surface, body).z - ROUNDING).all()


@settings(deadline=None, max_examples=30)
@given(surfaces(), bodies)
def test_swapping_the_axes_or_turning_half_round_changes_nothing(
    surface: HeightField, body: Body
) -> None:
    grid = surface.grid
    tips = dilate(surface, body).z
    swapped = HeightField(Grid(grid.y0, grid.x0, grid.spacing, grid.ny, grid.nx), surface.z.T)
    np.testing.assert_allclose(dilate(swapped, body).z.T, tips, atol=ROUNDING)
    turned = surface.with_z(surface.z[::-1, ::-1])
    np.testing.assert_allclose(dilate(turned, body).z[::-1, ::-1], tips, atol=ROUNDING)


@settings(deadline=None, max_examples=30)
@given(surfaces(), st.floats(0.3, 2.5), st.floats(0.05, 0.95))
def test_a_fuller_body_stays_higher(surface: HeightField, radius: float, share: float) -> None:
    flat = dilate(surface, Body.flat(radius)).z
    bull = dilate(surface, Body.bull_nose(radius, share * radius)).z
    ball = dilate(surface, Body.ball(radius)).z
    assert (flat >= bull - ROUNDING).all()
    assert (bull >= ball - ROUNDING).all()


@settings(deadline=None, max_examples=20)
@given(surfaces(), bodies, st.floats(-3, 3))
def test_lift_adds_to_dilating_and_takes_from_eroding(
    surface: HeightField, body: Body, lift: float
) -> None:
    lifted = Body(body.flat_radius, body.corner_radius, body.cone_slope, body.radius, lift)
    np.testing.assert_allclose(
        dilate(surface, lifted).z, dilate(surface, body).z + lift, atol=ROUNDING
    )
    np.testing.assert_allclose(
        erode(surface, lifted).z, erode(surface, body).z - lift, atol=ROUNDING
    )


def rolling_hills(spacing: float) -> HeightField:
    """A surface that bends by no more than 0.31 per mm, and rises by no more than 0.8."""
    return HeightField.of(
        Grid.over(0, 0, 16, 16, spacing),
        lambda x, y: np.sin(x / 1.8) + 0.5 * np.cos(y / 2.3 + x / 9),
    )


@pytest.mark.parametrize("operation", [closing, opening])
@pytest.mark.parametrize(
    ("body", "most", "rate"),
    [
        (Body.ball(3.0), 0.3 * 0.2**2, 3.5),
        (Body.bull_nose(3.0, 1.0), 0.3 * 0.2**2, 3.0),
        # A disc's rim is sharp, so what the triangles miss there is a share of a cell.
        (Body.flat(1.0), 0.2 * 0.2, 1.7),
    ],
    ids=["ball", "bull nose", "flat"],
)
def test_closing_twice_is_closing_once_but_for_the_grid(
    operation: Callable[[HeightField, Body], HeightField], body: Body, most: float, rate: float
) -> None:
    coarse, fine = (
        float(np.abs(operation(once, body).z - once.z).max())
        for once in (operation(rolling_hills(spacing), body) for spacing in (0.4, 0.2))
    )
    assert fine < most
    assert coarse / fine > rate


def test_neither_threads_nor_company_change_a_tip() -> None:
    surface = rolling_hills(0.2)
    points = np.random.default_rng(3).uniform(-1, 17, (3000, 2))
    body = Body.bull_nose(3.0, 1.0)
    threads = numba.get_num_threads()
    tips = locate(surface, points, body)
    try:
        numba.set_num_threads(1)
        assert locate(surface, points, body).tobytes() == tips.tobytes()
    finally:
        numba.set_num_threads(threads)
    alone = [float(locate(surface, point[None, :], body)[0]) for point in points[:50]]
    np.testing.assert_allclose(alone, tips[:50], atol=ROUNDING)
