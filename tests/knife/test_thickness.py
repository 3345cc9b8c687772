from __future__ import annotations

from math import atan, degrees, gamma, hypot, radians, sqrt, tan
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from chape.field.distance import distance_to_line
from chape.knife.file import KnifeFile
from chape.knife.grinds import bevel_face, bevel_reach, grind_radius, half_section
from chape.knife.landmarks import cut_at, reach_at, sides_of
from chape.knife.read import knife_of

if TYPE_CHECKING:
    from chape.knife.model import Knife

#: A straight-edged bar of a knife: blade 100 long and 20 high, handle 100 long and 24 high.
BAR: dict[str, Any] = {
    "knife": {"name": "Bar"},
    "outline": {"stations": [[0, 0, 20], [50, 0, 20], [100, 0, 20], [101, -2, 22], [200, -2, 22]]},
    "blade": {"length": 100, "spine_thickness": [[0, 4], [100, 4]], "behind_edge": 0},
    "handle": {"thickness": [[100, 16], [200, 16]], "roundness": 2},
}


def bar(**tables: dict[str, Any]) -> KnifeFile:
    merged = {key: {**BAR.get(key, {}), **tables.get(key, {})} for key in {*BAR, *tables}}
    return KnifeFile.model_validate(merged)


def section(knife: Knife, x: float) -> tuple[np.ndarray, np.ndarray]:
    """Return y and h of the nodes nearest to x."""
    grid = knife.half.grid
    column = int(np.argmin(np.abs(grid.x - x)))
    return grid.y, knife.half.z[:, column]


def test_full_flat_grind_has_the_included_angle_of_the_formula():
    # 2 atan(t / 2w), t = 4, w = 20: 11.4212 degrees (geometry).
    y, half = section(knife_of(bar(blade={"bevel_angle": 60}), 0.5), 50)
    slope = (half[(y > 10.1)][0] - half[(y > 4.9)][0]) / (y[y > 10.1][0] - y[y > 4.9][0])
    assert degrees(2 * atan(slope)) == pytest.approx(11.4212, abs=1e-4)
    assert half[np.isclose(y, 20)][0] == pytest.approx(2)


def test_bevel_of_known_face_and_reach():
    # (b/2) / sin a, b = 0.5, a = 20: 0.7310 (geometry).
    assert bevel_face(0.5, 20) == pytest.approx(0.7310, abs=5e-5)
    assert bevel_reach(0.5, 20) == pytest.approx(0.25 / tan(radians(20)))
    assert hypot(bevel_reach(0.5, 20), 0.25) == pytest.approx(bevel_face(0.5, 20))


def test_bevel_rises_to_the_thickness_behind_the_edge():
    file = bar(blade={"behind_edge": 0.6, "bevel_angle": 18}).blade
    reach = bevel_reach(0.6, 18)
    at = np.array([0.0, reach / 2, reach, (reach + 20) / 2, 20.0])
    half = half_section(at, np.full(5, 20.0), np.full(5, 4.0), file, np.inf)
    assert half == pytest.approx([0, 0.15, 0.3, (0.3 + 2) / 2, 2])


def test_hollow_grind_is_the_wheels_circle():
    # Points of the section must all lie one wheel radius from a single centre.
    file = bar(
        blade={"grind": "hollow", "grind_height": 14, "wheel_radius": 90, "behind_edge": 0.4}
    ).blade
    reach = bevel_reach(0.4, 20)
    at = np.linspace(reach, 14, 40)
    radius = grind_radius(file, 20.0)
    half = half_section(at, np.full(40, 20.0), np.full(40, 4.0), file, radius)
    chord = hypot(14 - reach, 2 - 0.2)
    depth = sqrt(90**2 - chord**2 / 4)
    centre = np.array([(reach + 14) / 2, 1.1]) + depth / chord * np.array([-1.8, 14 - reach])
    assert np.hypot(at - centre[0], half - centre[1]) == pytest.approx(90, abs=1e-9)
    # The deepest point stands one sagitta off the chord.
    off = ((half - 0.2) * (14 - reach) - (at - reach) * 1.8) / chord
    assert -off.min() == pytest.approx(90 - depth, rel=2e-3)
    past = half_section(np.array([14.0, 17.0]), np.full(2, 20.0), np.full(2, 4.0), file, radius)
    assert past == pytest.approx([2, 2])


def test_convex_grind_mirrors_the_hollow_one_in_its_chord():
    file = bar(blade={"grind": "convex", "bulge": 0.3, "bevel_angle": 60}).blade
    radius = grind_radius(file, 20.0)
    at = np.linspace(0.5, 19.5, 77)
    wide, thick = np.full(77, 20.0), np.full(77, 4.0)
    convex = half_section(at, wide, thick, file, radius)
    flat = half_section(at, wide, thick, file, np.inf)
    # The bulge is measured over the grind's height, the chord here is a little longer.
    assert (convex - flat).max() == pytest.approx(0.3, rel=0.02)
    centre_side = half_section(at, wide, thick, file, -radius)
    assert convex - flat == pytest.approx((flat - centre_side)[::-1], abs=0.01)


def test_partial_flat_grind_ends_at_its_height():
    y, half = section(
        knife_of(bar(blade={"grind": "partial flat", "grind_height": 8, "bevel_angle": 60}), 0.5),
        50,
    )
    assert half[(y >= 8) & (y <= 20)] == pytest.approx(2)
    assert half[np.isclose(y, 4)][0] == pytest.approx(1)


def test_double_edge_is_thickest_midway():
    y, half = section(
        knife_of(bar(knife={"name": "D", "edges": "double"}, blade={"bevel_angle": 60}), 0.5), 50
    )
    assert half[np.isclose(y, 10)][0] == pytest.approx(2)
    assert half[np.isclose(y, 5)][0] == pytest.approx(1)
    assert half[np.isclose(y, 15)][0] == pytest.approx(1)


def test_volume_of_a_prism():
    """Blade: a triangle w·t/2 long; handle: an ellipse π/4·height·thickness; no step between."""
    prism = {"stations": [[0, 0, 20], [50, 0, 20], [100, 0, 20], [150, 0, 20], [200, 0, 20]]}
    knife = knife_of(bar(outline=prism, blade={"bevel_angle": 60}), 0.1)
    # Nodes on a cut face count half, as in the trapezium rule.
    z = knife.half.z.copy()
    z[np.isclose(knife.half.grid.y, 20)] /= 2
    z[:, np.isclose(knife.half.grid.x, 0) | np.isclose(knife.half.grid.x, 200)] /= 2
    volume = 2 * z.sum() * 0.1**2
    assert volume == pytest.approx(100 * 40 + 100 * np.pi / 4 * 20 * 16, rel=2e-3)


@pytest.mark.parametrize("exponent", [1.5, 2.0, 2.4, 4.0])
def test_handle_section_has_the_superellipses_area(exponent):
    """Area 4·a·b·Γ(1 + 1/n)² / Γ(1 + 2/n) (textbook formula, from memory)."""
    knife = knife_of(bar(handle={"roundness": exponent}), 0.05)
    _, half = section(knife, 150)
    area = 2 * half.sum() * 0.05
    expected = 4 * 12 * 8 * gamma(1 + 1 / exponent) ** 2 / gamma(1 + 2 / exponent)
    assert area == pytest.approx(expected, rel=1e-3)


def test_guard_is_a_level_block_with_rounded_edges():
    guard = {"from": 98, "to": 106, "thickness": 20, "rounding": 2, "reach": [0, 20]}
    knife = knife_of(bar(guard=guard), 0.25)
    y, half = section(knife, 102)
    assert half[np.isclose(y, 10)][0] == pytest.approx(10)
    assert half[np.isclose(y, 1)][0] == pytest.approx(10 - (2 - sqrt(3)))
    along = knife.half.z[int(np.argmin(np.abs(y - 10)))]
    x = knife.half.grid.x
    assert along[np.isclose(x, 98.5)][0] == pytest.approx(10 - 2 + sqrt(4 - 1.5**2))
    assert along[np.isclose(x, 97)][0] < 2.1


def test_edge_band_reaches_over_bevel_and_margin():
    knife = knife_of(bar(blade={"behind_edge": 0.5, "edge_margin": 0.8}), 0.5)
    reach = bevel_reach(0.5, 20) + 0.8
    x_min, y_min, x_max, y_max = knife.edge_band.bounds
    assert (x_min, y_min, x_max) == pytest.approx((0, 0, 100))
    assert y_max == pytest.approx(reach, abs=1e-3)
    assert knife.edge_band.area == pytest.approx(100 * reach, rel=1e-3)


def test_distance_to_a_line_matches_the_geometry_library():
    line = np.array([[0.0, 0], [3, 4], [3, 4], [10, -2]])
    points = np.random.default_rng(7).uniform(-12, 12, (300, 2))
    expected = shapely.distance(shapely.points(points), shapely.LineString(line))
    assert distance_to_line(points, line) == pytest.approx(expected, abs=1e-12)


def test_sides_of_an_outline():
    outline = shapely.Polygon([(0, 5), (40, 0), (90, 2), (100, 6), (90, 12), (40, 14)])
    sides = sides_of(outline)
    assert sides.lower.tolist() == [[0, 5], [40, 0], [90, 2], [100, 6]]
    assert sides.upper.tolist() == [[0, 5], [40, 14], [90, 12], [100, 6]]
    assert cut_at(sides.lower, 20).tolist() == [[0, 5], [20, 2.5]]
    low, high = reach_at(outline, np.array([-1.0, 20, 40, 101]))
    assert low[1:3] == pytest.approx([2.5, 0])
    assert high[1:3] == pytest.approx([9.5, 14])
    assert np.isnan(low[[0, 3]]).all()
