"""Cutter locations against exact bodies, and against an independent drop-cutter library.

The exact locations are plain geometry: a cutter resting on a plane, a ridge, a sphere, in a bowl,
on a cone. The errors allowed on curved surfaces are ``spacing² · curvature / 4``, what the
triangles themselves miss, with the curvature of the surface and the body's lever on it.
"""

from __future__ import annotations

from math import hypot, radians, sqrt

import numpy as np
import pytest

from chape.field.body import Body
from chape.field.envelope import locate
from chape.field.grid import Floats, Grid
from chape.field.heights import HeightField
from naive_envelope import bracket

BODIES = {
    "ball": Body.ball(3.0),
    "flat": Body.flat(2.0),
    "bull nose": Body.bull_nose(3.0, 1.0),
    "drill": Body.cone(radians(59), 3.0),
    "vee": Body.cone(radians(45), 3.0),
    "tapered ball": Body.tapered_ball(0.8, radians(20), 3.0),
    "clearance": Body.clearance(0.0, 1.2, radians(8), 2.6),
}
SPACING = 0.2


def random_points(count: int, most: float, number: int = 1) -> Floats:
    return np.random.default_rng(number).uniform(-most, most, (count, 2))


def over(most: float, function: object, spacing: float = SPACING) -> HeightField:
    assert callable(function)
    return HeightField.of(Grid.over(-most, -most, most, most, spacing), function)


def along(body: Body, rise: float, aside: Floats) -> Floats:
    """Highest of ``rise t − profile`` along a line ``aside`` mm from the axis, by fine sampling."""
    t = np.linspace(-body.radius, body.radius, 120001)
    return np.array([(rise * t - body.profile(np.hypot(t, d))).max() for d in aside])


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
@pytest.mark.parametrize("degrees", [0, 10, 30, 50, 80])
def test_on_a_plane(body: Body, degrees: float) -> None:
    slope = np.tan(radians(degrees))
    ux, uy = np.cos(radians(37)), np.sin(radians(37))
    plane = over(6.0, lambda x, y: slope * (ux * x + uy * y))
    points = random_points(400, 2.9)
    # The body touches uphill, where its profile is as steep as the plane.
    raised = along(body, slope, np.zeros(1))[0]
    expected = slope * (points @ np.array([ux, uy])) + raised
    # The sampled maximum is short by at most half a sample of the slope's difference.
    np.testing.assert_allclose(locate(plane, points, body), expected, atol=1e-7 + 3e-5 * slope)


def test_on_a_plane_a_ball_and_a_bull_nose_stand_off_by_their_corner() -> None:
    plane = over(6.0, lambda x, y: 0.6 * x + 0.8 * y)
    points = random_points(400, 2.9)
    heights = plane.at(points)
    ball = locate(plane, points, Body.ball(3.0)) - heights
    np.testing.assert_allclose(ball, 3 * (sqrt(2) - 1), atol=1e-12)
    bull = locate(plane, points, Body.bull_nose(3.0, 1.0)) - heights
    np.testing.assert_allclose(bull, 2 * 1 + 1 * (sqrt(2) - 1), atol=1e-12)
    flat = locate(plane, points, Body.flat(3.0)) - heights
    np.testing.assert_allclose(flat, 3.0, atol=1e-12)
    vee = locate(plane, points, Body.cone(radians(60), 3.0)) - heights
    np.testing.assert_allclose(vee, 3 * (1 - 1 / sqrt(3)), atol=1e-12)


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
@pytest.mark.parametrize("way", [(1.0, 0.0), (0.0, 1.0), (sqrt(0.5), sqrt(0.5))])
def test_on_a_sharp_ridge_that_climbs(body: Body, way: tuple[float, float]) -> None:
    ux, uy = way
    # So steep aside that the body touches the ridge itself, which lies along the grid's edges.
    ridge = over(6.0, lambda x, y: 0.7 * (ux * x + uy * y) - 40 * np.abs(uy * x - ux * y))
    points = random_points(60, 2.0, number=2)
    points = points[np.abs(points @ np.array([uy, -ux])) < 0.9 * body.radius]
    forward, aside = points @ np.array([ux, uy]), np.abs(points @ np.array([uy, -ux]))
    expected = 0.7 * forward + along(body, 0.7, aside)
    np.testing.assert_allclose(locate(ridge, points, body), expected, atol=5e-5)


@pytest.mark.parametrize("body", BODIES.values(), ids=BODIES.keys())
def test_on_a_needle(body: Body) -> None:
    needle = over(5.0, lambda x, y: np.where(np.hypot(x, y) < 0.1, 0.0, -400.0))
    points = random_points(100, 0.65 * body.radius, number=3)
    r = np.hypot(points[:, 0], points[:, 1])
    np.testing.assert_allclose(locate(needle, points, body), -body.profile(r), atol=1e-12)


def sphere_tips(body: Body, radius: float, r: Floats) -> Floats:
    """Exact tips on a sphere about the origin, for a body without or with a corner or a cone."""
    if body.cone_slope < np.inf:
        # The side leans on the sphere where that is as steep; nearer the top the point does.
        steep = radius * body.cone_slope / hypot(1, body.cone_slope)
        touch = np.minimum(r, steep)
        return np.sqrt(radius**2 - touch**2) - body.cone_slope * (r - touch)
    outside = np.maximum(r - body.flat_radius, 0.0)
    corner = body.corner_radius
    return np.sqrt((radius + corner) ** 2 - outside**2) - corner


@pytest.mark.parametrize("name", ["ball", "flat", "bull nose", "drill", "vee"])
def test_on_a_sphere(name: str) -> None:
    body, radius = BODIES[name], 8.0
    dome = over(8.0, lambda x, y: np.sqrt(np.maximum(radius**2 - x**2 - y**2, 1.0)))
    points = random_points(2000, 3.4)
    r = np.hypot(points[:, 0], points[:, 1])
    error = locate(dome, points, body) - sphere_tips(body, radius, r)
    # Chords lie inside a sphere, so a cutter sinks a little; at r = 4.8 it bends by 0.25 per mm.
    assert error.max() < 1e-9
    assert error.min() > -(SPACING**2) / 4 * 0.25


@pytest.mark.parametrize(("name", "most"), [("ball", 4.0), ("flat", 4.0), ("bull nose", 4.0)])
def test_in_a_bowl(name: str, most: float) -> None:
    body, radius = BODIES[name], 12.0
    bowl = over(9.0, lambda x, y: radius - np.sqrt(np.maximum(radius**2 - x**2 - y**2, 1.0)))
    points = random_points(2000, most)
    r = np.hypot(points[:, 0], points[:, 1]) + body.flat_radius
    corner = body.corner_radius
    exact = radius - np.sqrt((radius - corner) ** 2 - r**2) - corner
    error = locate(bowl, points, body) - exact
    # Chords lie above a bowl: the cutter is kept out a little. At r = 8.7 it bends by 0.26 per mm.
    assert error.min() > -1e-9
    assert error.max() < SPACING**2 / 4 * 0.26


@pytest.mark.parametrize("name", ["ball", "flat"])
def test_errors_on_a_sphere_fall_with_the_square_of_the_spacing(name: str) -> None:
    body, points = BODIES[name], random_points(2000, 2.9)
    r = np.hypot(points[:, 0], points[:, 1])
    exact = sphere_tips(body, 8.0, r)
    coarse, fine = (
        np.abs(
            locate(
                over(7.0, lambda x, y: np.sqrt(np.maximum(64 - x**2 - y**2, 1.0)), spacing),
                points,
                body,
            )
            - exact
        ).max()
        for spacing in (0.25, 0.125)
    )
    assert 3.0 < coarse / fine < 5.5


@pytest.mark.parametrize("name", ["ball", "flat"])
def test_on_a_cone_away_from_its_point(name: str) -> None:
    body, slope = BODIES[name], sqrt(3)
    cone = over(12.0, lambda x, y: -slope * np.hypot(x, y))
    turns = np.linspace(0, 2 * np.pi, 500)
    points = 8.0 * np.column_stack([np.cos(turns), np.sin(turns)])
    flat, corner = body.flat_radius, body.corner_radius
    exact = -slope * (8.0 - flat) + corner * (hypot(1, slope) - 1)
    error = locate(cone, points, body) - exact
    # Where it touches, 5.4 mm or more from the axis, the cone bends by 0.32 per mm.
    assert error.max() < 1e-9
    assert error.min() > -(SPACING**2) / 4 * 0.32


def test_off_the_grid_nothing_stops_the_tip() -> None:
    plate = over(5.0, lambda x, _y: 0 * x)
    points = np.array([[8.1, 0.0], [7.9, 0.0], [5.0, 5.0], [0.0, -9.0]])
    tips = locate(plate, points, Body.ball(3.0))
    assert tips[0] == tips[3] == -np.inf
    assert tips[1] == pytest.approx(-(3 - sqrt(9 - 2.9**2)))
    assert tips[2] == 0.0


def test_points_that_are_none_are_refused() -> None:
    plate = over(5.0, lambda x, _y: 0 * x)
    with pytest.raises(ValueError, match=r"\(n, 2\)"):
        locate(plate, np.zeros(2), Body.ball(3.0))
    with pytest.raises(ValueError, match="finite"):
        locate(plate, np.array([[np.nan, 0.0]]), Body.ball(3.0))
    with pytest.raises(ValueError, match="no cell"):
        locate(HeightField.flat(Grid(0, 0, 1.0, 1, 5)), np.zeros((1, 2)), Body.ball(3.0))


def pillow() -> HeightField:
    """A pillow with 60-degree flanks and a tilted, rippled top, in single precision."""
    grid = Grid.over(-7, -7, 7, 7, 0.35)
    x, y = grid.mesh()
    heights = 4 / (1 + np.exp(np.hypot(x, y / 1.3) / 0.5 - 7)) + 0.2 * np.sin(x) + 0.1 * y
    return HeightField(grid, heights.astype(np.float32).astype(np.float64))


@pytest.mark.parametrize("name", ["ball", "flat", "bull nose"])
def test_against_an_independent_drop_cutter_library(name: str) -> None:
    """Held against opencamlib 2023.1.11, dropped on the very same triangles."""
    library = pytest.importorskip("opencamlib")
    cutter = {
        "ball": library.BallCutter(6.0, 30.0),
        "flat": library.CylCutter(4.0, 30.0),
        "bull nose": library.BullCutter(6.0, 1.0, 30.0),
    }[name]
    points = random_points(150, 3.9, number=7)
    theirs = dropped(library, pillow(), cutter, points)
    # Measured: 2e-15 mm for ball and flat, 5e-11 mm for the bull nose.
    assert np.abs(locate(pillow(), points, BODIES[name]) - theirs).max() < 1e-9


def test_against_the_library_a_cone_is_kept_as_high_or_rightly_higher() -> None:
    """On edges the library lets a cone sink in by up to 0.016 mm here; our tips stay above.

    That they are not merely too high is seen by sampling the triangles themselves.
    """
    library = pytest.importorskip("opencamlib")
    body, points = BODIES["vee"], random_points(150, 3.9, number=7)
    theirs = dropped(library, pillow(), library.ConeCutter(6.0, radians(45), 30.0), points)
    tips = locate(pillow(), points, body)
    assert (tips > theirs - 1e-9).all()
    differing = np.flatnonzero(tips > theirs + 1e-9)
    assert len(differing) < 0.5 * len(points)
    for k in differing[:5]:
        low, _high = bracket(pillow(), points[k], body, pieces=100)
        assert theirs[k] < low <= tips[k] + 1e-9
        assert tips[k] - low < 1e-5


def test_against_the_library_a_tapered_ball_is_kept_as_high_or_rightly_higher() -> None:
    """Held against opencamlib's ball on a cone, whose side has the faults of its cone."""
    library = pytest.importorskip("opencamlib")
    body, points = BODIES["tapered ball"], random_points(150, 3.9, number=7)
    cutter = library.BallConeCutter(1.6, 6.0, radians(20))
    theirs = dropped(library, pillow(), cutter, points)
    tips = locate(pillow(), points, body)
    assert (tips > theirs - 1e-9).all()
    differing = np.flatnonzero(tips > theirs + 1e-6)
    assert len(differing) < 0.5 * len(points)
    for k in differing[:5]:
        low, _high = bracket(pillow(), points[k], body, pieces=100)
        assert theirs[k] < low <= tips[k] + 1e-9
        assert tips[k] - low < 1e-5


@pytest.mark.parametrize("tip", [0.5, 1.5])
def test_a_tapered_ball_on_a_sphere(tip: float) -> None:
    body, radius = Body.tapered_ball(tip, radians(20), 3.0), 8.0
    dome = over(8.0, lambda x, y: np.sqrt(np.maximum(radius**2 - x**2 - y**2, 1.0)))
    points = random_points(2000, 3.4)
    r = np.hypot(points[:, 0], points[:, 1])
    # The ball touches out to where the sphere is as steep as the cone; here it nowhere is.
    exact = np.sqrt((radius + tip) ** 2 - r**2) - tip
    error = locate(dome, points, body) - exact
    assert error.max() < 1e-9
    assert error.min() > -(SPACING**2) / 4 * 0.25


def dropped(library: object, surface: HeightField, cutter: object, points: Floats) -> Floats:
    """Return the library's own tip heights."""
    drop = library.BatchDropCutter()
    # Kept in a name of its own: the library does not hold on to the surface it is given.
    solid = triangles(library, surface)
    drop.setSTL(solid)
    drop.setCutter(cutter)
    drop.setThreads(1)
    for x, y in points:
        drop.appendPoint(library.CLPoint(float(x), float(y), -50.0))
    drop.run()
    return np.array([point.z for point in drop.getCLPoints()])


def triangles(library: object, surface: HeightField) -> object:
    """Return the surface's own triangles in the library's words."""
    grid, z = surface.grid, surface.z
    solid = library.STLSurf()

    def corner(i: int, j: int) -> object:
        return library.Point(float(grid.x[i]), float(grid.y[j]), float(z[j, i]))

    for j in range(grid.ny - 1):
        for i in range(grid.nx - 1):
            low, high = corner(i, j), corner(i + 1, j + 1)
            solid.addTriangle(library.Triangle(low, corner(i + 1, j), high))
            solid.addTriangle(library.Triangle(low, high, corner(i, j + 1)))
    return solid
