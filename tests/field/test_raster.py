"""Meshes of other programs: read, refused, and laid over a grid."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from chape.errors import InputError
from chape.field.grid import Grid
from chape.field.raster import top_of
from chape.field.triangles import triangles_of_stl

BOX = trimesh.creation.box(bounds=[[0, 0, -10], [20, 10, 5]])
BALL = trimesh.creation.icosphere(subdivisions=5, radius=8.0)


def binary(mesh):
    return mesh.export(file_type="stl")


def text(mesh):
    return mesh.export(file_type="stl_ascii").encode()


@pytest.mark.parametrize("write", [binary, text])
def test_both_forms_of_stl_are_read(write):
    triangles = triangles_of_stl(write(BOX))
    assert triangles.shape == (12, 3, 3)
    assert np.allclose(triangles.reshape(-1, 3).min(axis=0), [0, 0, -10])


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "no STL"),
        (b"\0" * 84, "no triangle"),
        (binary(BOX)[:-30], "ends before"),
        (text(BOX)[:-300], "ends inside"),
        (text(BOX).replace(b"vertex ", b"vertex x", 1), "not three numbers"),
        (text(BOX).replace(b"10.0", b"nan ", 1), "no number"),
        (b"\0" * 80 + (2**31).to_bytes(4, "little") + b"\0" * 50, "ends before"),
        (b"solid nothing\nendsolid\n", "no triangle"),
    ],
)
def test_a_damaged_file_is_refused_with_a_sentence(content, said):
    with pytest.raises(InputError, match=said):
        triangles_of_stl(content)


def test_a_number_that_is_none_is_refused_in_binary():
    content = bytearray(binary(BOX))
    content[96:100] = np.float32(np.nan).tobytes()
    with pytest.raises(InputError, match="no number"):
        triangles_of_stl(bytes(content))


def test_a_box_is_covered_to_its_edges_and_not_beyond():
    grid = Grid(-1.0, -1.0, 0.5, 47, 27)
    z = top_of(triangles_of_stl(binary(BOX)), grid)
    x, y = grid.mesh()
    inside = (x >= 0) & (x <= 20) & (y >= 0) & (y <= 10)
    assert np.all(z[inside] == 5)
    assert np.all(np.isneginf(z[~inside]))
    inset = top_of(triangles_of_stl(binary(BOX)), grid, 0.01)
    inside = (x > 0) & (x < 20) & (y > 0) & (y < 10)
    assert np.all(inset[inside] == 5)
    assert np.all(np.isneginf(inset[~inside]))


def test_a_ball_stands_where_its_formula_says():
    grid = Grid(-9.0, -9.0, 0.3, 61, 61)
    z = top_of(np.asarray(BALL.triangles), grid)
    x, y = grid.mesh()
    within = np.hypot(x, y) < 7.5
    exact = np.sqrt(64 - x[within] ** 2 - y[within] ** 2)
    # The chords of the facets lie inside the ball, by at most their edge²/(8 R) along the normal.
    sag = BALL.edges_unique_length.max() ** 2 / (6 * 8.0) * 8 / exact
    assert np.all(z[within] <= exact + 1e-9)
    assert np.all(exact - z[within] <= sag)


def test_upright_rays_meet_the_mesh_at_the_same_heights():
    """Against a plain solution of each ray with each triangle, by Cramer's rule."""
    mesh = trimesh.creation.torus(major_radius=8.0, minor_radius=3.0)
    mesh.apply_transform(trimesh.transformations.rotation_matrix(0.4, [1, 0.3, 0]))
    grid = Grid(-11.03, -11.07, 0.71, 31, 31)
    z = top_of(np.asarray(mesh.triangles), grid)
    x, y = grid.mesh()
    highest = np.full(grid.shape, -np.inf)
    for a, b, c in np.asarray(mesh.triangles):
        u, v = b - a, c - a
        area = u[0] * v[1] - u[1] * v[0]
        s = ((x - a[0]) * v[1] - (y - a[1]) * v[0]) / area
        t = ((y - a[1]) * u[0] - (x - a[0]) * u[1]) / area
        met = (s >= 0) & (t >= 0) & (s + t <= 1)
        highest = np.where(met, np.maximum(highest, a[2] + s * u[2] + t * v[2]), highest)
    met = np.isfinite(highest)
    assert (~met).sum() > 100
    assert np.array_equal(met, np.isfinite(z))
    assert np.allclose(z[met], highest[met], atol=1e-7)
