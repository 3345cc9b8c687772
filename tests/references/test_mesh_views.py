"""What is read off a mesh, against solids with formulas and an independent mesh library.

Formulas: the silhouette of an ellipsoid, a cylinder and a wedge, and their thickness along z.
Independent: trimesh's projected outline (a union of all faces by the geometry library) and its ray
hits, which know nothing of rows and columns.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh
from trimesh.path.polygons import projected
from trimesh.ray.ray_triangle import ray_triangle_id

from chape.field.silhouette import silhouette_of
from chape.knife.mesh_half import halves_of
from chape.knife.mesh_pose import seen

#: Half axes, mm.
AXES = np.array([60.0, 14.0, 8.0])


def ellipsoid(fine: int = 5) -> trimesh.Trimesh:
    ball = trimesh.creation.icosphere(subdivisions=fine, radius=1.0)
    return ball.apply_scale(AXES)


def cylinder() -> trimesh.Trimesh:
    # Lies along x; two corners on the axis plane, so that its silhouette is exact.
    rod = trimesh.creation.cylinder(radius=7.0, height=90.0, sections=256)
    return rod.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [0, 1, 0]))


def wedge() -> trimesh.Trimesh:
    """An edge at y = 0, 4 mm thick at y = 25, 120 mm long."""
    section = np.array([[0, 0], [25, 2], [25, -2]])
    points = np.vstack([np.column_stack([np.full(3, x), section]) for x in (0.0, 120.0)])
    return trimesh.convex.convex_hull(points)


def rim(outline: shapely.Polygon) -> np.ndarray:
    return shapely.get_coordinates(outline.exterior)


@pytest.mark.parametrize("spacing", [0.1, 0.4])
def test_the_outline_of_an_ellipsoid(spacing):
    points = rim(silhouette_of(np.asarray(ellipsoid().triangles), spacing))
    a, b, _ = AXES
    # To first order the distance from an ellipse is (f - 1)/|grad f| with f = (x/a)² + (y/b)².
    f = (points[:, 0] / a) ** 2 + (points[:, 1] / b) ** 2
    off = (f - 1) / (2 * np.hypot(points[:, 0] / a**2, points[:, 1] / b**2))
    # Facets lie inside by their sag: edges of 0.033 on the unit ball, 0.033²/8 of the radius a.
    assert off.max() < 1e-6
    assert off.min() > -a * 0.04**2 / 8 * 1.5


def test_the_outline_of_a_cylinder_and_a_wedge():
    flat = silhouette_of(np.asarray(cylinder().triangles), 0.1)
    box = shapely.box(-45, -7, 45, 7)
    # Corners of the outline are cut by less than a cell.
    assert rim(flat).shape[0] > 100
    assert flat.symmetric_difference(box).area < 4 * 0.1**2 + 2 * 90 * 7 * (1 - np.cos(np.pi / 256))
    blade = silhouette_of(np.asarray(wedge().triangles), 0.1)
    assert blade.hausdorff_distance(shapely.box(0, 0, 120, 25)) < 0.1 * np.sqrt(0.5)
    assert blade.area == pytest.approx(120 * 25, abs=4 * 0.1**2)


def test_thickness_of_solids():
    view = seen(np.asarray(wedge().triangles), 0.4)
    x, y = view.grid.mesh()
    within = view.solid & (y > 0.01)
    assert within.sum() > 10_000
    assert np.abs(view.top - view.bottom - 4 * y / 25)[within].max() < 1e-9
    view = seen(np.asarray(ellipsoid().triangles), 0.4)
    x, y = view.grid.mesh()
    inside = (x / AXES[0]) ** 2 + (y / AXES[1]) ** 2
    some = inside < 0.9
    exact = 2 * AXES[2] * np.sqrt(1 - np.where(some, inside, 0.0))
    short = (exact - (view.top - view.bottom))[some]
    assert short.min() > -1e-9
    # The sag of a facet, 0.04²/8, stretched with the half axis and by the slope, on both sides.
    assert short.max() < 2 * AXES[2] * 0.04**2 / 8 * 1.5 / np.sqrt(1 - 0.9)
    halves = halves_of(
        np.asarray(ellipsoid().triangles), silhouette_of(ellipsoid().triangles, 0.1), 0.4
    )
    assert halves.half.z.max() == pytest.approx(AXES[2], abs=0.01)
    assert halves.apart < 1e-6
    assert halves.missing == 0


def lumpy() -> trimesh.Trimesh:
    """A solid without any symmetry, turned any way."""
    ball = trimesh.creation.icosphere(subdivisions=3, radius=1.0)
    n = ball.vertices
    lumps = 1 + 0.2 * np.sin(3 * n[:, 0] + 1) + 0.15 * np.cos(5 * n[:, 1] * n[:, 2])
    ball.vertices = n * lumps[:, None] * [30.0, 9.0, 5.0]
    return ball.apply_transform(trimesh.transformations.euler_matrix(0.3, -0.1, 0.8))


def test_the_outline_agrees_with_an_independent_projection():
    solid = lumpy()
    theirs = projected(solid, normal=[0, 0, 1], origin=[0, 0, 0], precise=True)
    ours = silhouette_of(np.asarray(solid.triangles), 0.1)
    # Corners of facets between two lines of the grid are cut off by less than a quarter cell.
    assert ours.hausdorff_distance(shapely.Polygon(theirs.exterior)) < 0.03
    assert ours.area == pytest.approx(theirs.area, rel=2e-5)


class EveryFace:
    """Stands in for the library's search tree, which needs one more package: leaves none out."""

    bounds = (-50.0, -50.0, -50.0, 50.0, 50.0, 50.0)

    def intersection(self, _):
        return list(range(1280))


def test_thickness_agrees_with_independent_rays():
    solid = lumpy()
    view = seen(np.asarray(solid.triangles), 0.5)
    rows, columns = np.nonzero(view.solid)
    pick = np.random.default_rng(4).choice(len(rows), 300, replace=False)
    rows, columns = rows[pick], columns[pick]
    starts = np.column_stack([view.grid.x[columns], view.grid.y[rows], np.full(300, 100.0)])
    _, ray, hits = ray_triangle_id(
        solid.triangles, starts, np.tile([0, 0, -1.0], (300, 1)), tree=EveryFace()
    )
    top, bottom = np.full(300, -np.inf), np.full(300, np.inf)
    np.maximum.at(top, ray, hits[:, 2])
    np.minimum.at(bottom, ray, hits[:, 2])
    hit = np.isfinite(top)
    # The library leaves out rays that graze the rim.
    assert hit.sum() >= 295
    assert np.abs(top - view.top[rows, columns])[hit].max() < 1e-6
    assert np.abs(bottom - view.bottom[rows, columns])[hit].max() < 1e-6
