"""Outlines moved outwards and inwards, against another library's offsets of polygons.

The reference is Clipper2 (through manifold3d's CrossSection), which shares no code with the library
that ``field.outline.offset`` stands on.
"""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
import shapely

from chape.field.outline import Outline, offset
from specimens import camp_sheath, slender_sheath
from whole import whole


def theirs(polygon, distance):
    rings = [np.asarray(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]
    section = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
    moved = section.offset(distance, manifold3d.JoinType.Round, 2.0, 2048)
    shapes = [shapely.Polygon(ring) for ring in moved.to_polygons()]
    outer = [shape for shape in shapes if shape.exterior.is_ccw]
    inner = [shape for shape in shapes if not shape.exterior.is_ccw]
    return shapely.union_all(outer).difference(shapely.union_all(inner))


def star(seed):
    """A simple outline of lines and arcs round the origin, some of it hollow."""
    random = np.random.default_rng(seed)
    angles = np.sort(random.uniform(0, 2 * np.pi, 14))
    reach = random.uniform(20.0, 60.0, 14)
    points = np.column_stack([reach * np.cos(angles), reach * np.sin(angles)])
    return Outline(points, random.uniform(-0.15, 0.15, 14))


@pytest.mark.parametrize("distance", [6.0, 3.0, 0.4, -0.4, -3.0])
@pytest.mark.parametrize("seed", range(6))
def test_offsets_of_stars_agree(seed, distance):
    polygon = star(seed).polygon(0.0005)
    if not polygon.is_valid:
        polygon = max(shapely.get_parts(polygon.buffer(0)), key=shapely.area)
    ours = offset(polygon, distance, 0.0005)
    other = theirs(polygon, distance)
    apart = ours.symmetric_difference(other).area
    assert apart < 0.002 * polygon.length


@pytest.mark.parametrize("sheath", [camp_sheath, slender_sheath])
@pytest.mark.parametrize("distance", [3.0, -1.5])
def test_the_trim_cutters_way_round_a_sheath_agrees(sheath, distance):
    pattern = whole(sheath()).pattern
    ours = offset(pattern, distance, 0.0005)
    other = theirs(pattern.polygon(0.0005), distance)
    assert ours.symmetric_difference(other).area < 0.001 * pattern.length
    assert ours.hausdorff_distance(other) < 0.01
