"""Lines and arcs from polygons: what must come out of shapes everybody can picture."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from chape.errors import CannotMakeError, InputError
from chape.field.outline import Outline, fit_outline, fit_path, offset, rounded


def strays(outline: Outline, polygon: Polygon) -> float:
    """Return how far outline and polygon stray from each other, both ways, mm."""
    ours = shapely.segmentize(shapely.LinearRing(outline.flattened(1e-5)), 0.1)
    theirs = shapely.segmentize(polygon.exterior, 0.1)
    return float(shapely.hausdorff_distance(ours, theirs))


def test_a_rounded_rectangle_is_four_lines_and_four_arcs() -> None:
    outline = fit_outline(box(3, 3, 57, 27).buffer(3, quad_segs=40))
    assert len(outline.points) == 8
    assert np.count_nonzero(outline.bulges) == 4
    # Four lines and one whole circle of radius 3.
    assert outline.area == pytest.approx(60 * 30 - (4 - pi) * 9, abs=0.01)
    assert outline.length == pytest.approx(2 * (54 + 24) + 6 * pi, abs=0.005)
    quarter = np.tan(pi / 8)
    assert outline.bulges[outline.bulges != 0] == pytest.approx(quarter, rel=0.01)


def test_a_circle_is_two_half_circles() -> None:
    outline = fit_outline(Point(5, -2).buffer(20, quad_segs=64))
    assert outline.bulges.tolist() == pytest.approx([1, 1], abs=1e-3)
    assert outline.area == pytest.approx(pi * 400, rel=1e-4)
    assert outline.length == pytest.approx(40 * pi, rel=1e-4)
    assert outline.bounds == pytest.approx((-15, -22, 25, 18), abs=0.01)


def test_an_ellipse_takes_few_arcs() -> None:
    angle = np.linspace(0, 2 * pi, 4000, endpoint=False)
    ellipse = Polygon(np.column_stack([50 * np.cos(angle), 20 * np.sin(angle)]))
    outline = fit_outline(ellipse, 0.005)
    assert len(outline.points) < 40
    assert strays(outline, ellipse) <= 0.005
    assert outline.area == pytest.approx(pi * 1000, rel=1e-4)


def test_true_corners_stay() -> None:
    outline = fit_outline(box(0, 0, 10, 5))
    corners = sorted(map(tuple, outline.points.tolist()))
    assert corners == [(0, 0), (0, 5), (10, 0), (10, 5)]
    assert not outline.bulges.any()


def test_an_outline_runs_counter_clockwise_whatever_it_is_given() -> None:
    clockwise = Polygon([(0, 0), (0, 5), (10, 5), (10, 0)])
    assert fit_outline(clockwise).area == pytest.approx(50)


def test_no_arc_sweeps_more_than_half_a_circle_or_is_all_but_straight() -> None:
    slot = shapely.LineString([(0, 0), (30, 0.001), (60, 0)]).buffer(4, quad_segs=50)
    outline = fit_outline(slot)
    assert np.abs(outline.bulges).max() <= 1
    chord = np.hypot(*(np.roll(outline.points, -1, axis=0) - outline.points).T)
    curved = outline.bulges != 0
    bulge = np.abs(outline.bulges[curved])
    radius = chord[curved] * (1 + bulge**2) / (4 * bulge)
    assert radius.max() <= 5000


def test_a_path_keeps_its_ends_and_turns() -> None:
    angle = np.linspace(0, pi / 2, 200)
    path = np.vstack([[[20, -30]], np.column_stack([20 * np.cos(angle), 20 * np.sin(angle)])])
    points, bulges = fit_path(path, 0.01)
    assert points[0].tolist() == [20, -30]
    assert points[-1] == pytest.approx([0, 20])
    assert len(bulges) == len(points) - 1 == 2
    assert bulges == pytest.approx([0, np.tan(pi / 8)], rel=1e-3)


def test_a_bow_tie_is_refused_with_its_place() -> None:
    with pytest.raises(InputError, match=r"crosses or touches itself.*\[2 2\]"):
        fit_outline(Polygon([(0, 0), (4, 4), (4, 0), (0, 4)]))


def test_offsets_keep_their_distance() -> None:
    shape = box(0, 0, 40, 20)
    grown = offset(shape, 3)
    assert grown.area == pytest.approx(800 + 3 * 120 + pi * 9, abs=0.05)
    assert offset(
        Outline(np.array([[0.0, 0], [40, 0], [40, 20], [0, 20]]), np.zeros(4)), -5
    ).equals(box(5, 5, 35, 15))


def test_rounding_both_ways_leaves_no_sharp_corner() -> None:
    ell = box(0, 0, 40, 40).difference(box(20, 20, 40, 40))
    smooth = fit_outline(rounded(ell, 5, 3))
    curved = np.abs(smooth.bulges) > 0
    assert np.count_nonzero(curved) == 6
    chord = np.hypot(*(np.roll(smooth.points, -1, axis=0) - smooth.points).T)
    radius = chord * (1 + smooth.bulges**2) / (4 * np.where(curved, smooth.bulges, 1))
    assert radius[curved & (smooth.bulges > 0)] == pytest.approx(3, abs=0.02)
    assert radius[smooth.bulges < 0] == pytest.approx(-5, abs=0.02)


def test_rounding_a_shape_away_is_refused() -> None:
    with pytest.raises(CannotMakeError, match="nothing is left"):
        rounded(box(0, 0, 4, 4), 0, 3)
    with pytest.raises(CannotMakeError, match="several parts"):
        rounded(box(0, 0, 10, 10).union(box(10, 4, 30, 6)).union(box(30, 0, 40, 10)), 0, 2)
