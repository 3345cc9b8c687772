"""Solids held against trimesh, an independent mesh library, and against integrals."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.surface import (
    Solid,
    closed_body,
    genus,
    open_above,
    simplified,
    solid_below,
    with_holes,
)

GRID = Grid.over(-11, -7, 10, 8, 0.25)
WAVES = HeightField.of(GRID, lambda x, y: np.sin(x / 2) * np.cos(y / 3) + 0.1 * x)
FLOOR = -8.0


def trimesh_of(solid: Solid) -> trimesh.Trimesh:
    mesh = trimesh.Trimesh(solid.vertices, solid.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume == pytest.approx(solid.volume, rel=1e-9)
    return mesh


def field_volume(surface: HeightField, floor: float) -> float:
    """Integrate the two-triangle surface over its grid: each triangle's mean times its area."""
    z = surface.z - floor
    below = (z[:-1, :-1] + z[:-1, 1:] + z[1:, 1:]) / 3
    above = (z[:-1, :-1] + z[1:, :-1] + z[1:, 1:]) / 3
    return float((below + above).sum()) * surface.grid.spacing**2 / 2


def test_a_block_has_the_volume_of_its_field() -> None:
    solid = solid_below(WAVES, FLOOR)
    mesh = trimesh_of(solid)
    assert mesh.volume == pytest.approx(field_volume(WAVES, FLOOR), rel=1e-12)
    assert mesh.euler_number == 2
    x_min, y_min, x_max, y_max = GRID.bounds
    assert mesh.bounds[0] == pytest.approx([x_min, y_min, FLOOR])
    assert mesh.bounds[1] == pytest.approx([x_max, y_max, WAVES.z.max()])


def strays(surface: HeightField, solid: Solid) -> float:
    """Return the greatest distance of a node from the top of a solid, across it, mm."""
    x, y = surface.grid.mesh()
    worst = 0.0
    found = np.zeros(surface.grid.shape, dtype=bool)
    for a, b, c in solid.vertices[solid.triangles]:
        normal = np.cross(b - a, c - a)
        if normal[2] < 1e-9:
            continue
        near = (
            (x >= min(a[0], b[0], c[0])) & (x <= max(a[0], b[0], c[0]))
            & (y >= min(a[1], b[1], c[1])) & (y <= max(a[1], b[1], c[1]))
        )  # fmt: skip
        points = np.column_stack([x[near], y[near], surface.z[near]])
        edges = [
            (q[0] - p[0]) * (points[:, 1] - p[1]) - (q[1] - p[1]) * (points[:, 0] - p[0])
            for p, q in ((a, b), (b, c), (c, a))
        ]
        inside = np.min(edges, axis=0) >= -1e-9
        off = np.abs((points[inside] - a) @ normal) / np.linalg.norm(normal)
        worst = max(worst, float(off.max(initial=0)))
        found[near] |= inside
    assert found.all()
    return worst


@pytest.mark.parametrize("tolerance", [0.002, 0.02])
def test_a_coarser_block_is_watertight_and_stays_within_its_tolerance(tolerance: float) -> None:
    wall = HeightField.of(GRID, lambda x, y: np.clip(12 - 3 * np.hypot(x, y), 0, 5) + 0 * x)
    for surface in (WAVES, wall):
        solid = solid_below(surface, FLOOR, tolerance)
        trimesh_of(solid)
        assert len(solid.triangles) < 0.9 * len(solid_below(surface, FLOOR).triangles)
        assert strays(surface, solid) <= 1.05 * tolerance
        volume = field_volume(surface, FLOOR)
        assert solid.volume == pytest.approx(volume, abs=tolerance * 21 * 15 * 4)


def test_a_plane_takes_few_triangles() -> None:
    plane = HeightField.flat(Grid.over(0, 0, 64, 64, 0.5), 3.0)
    solid = solid_below(plane, 0.0, 0.01)
    assert len(solid.triangles) <= 14
    assert trimesh_of(solid).volume == pytest.approx(64 * 64 * 3)


@pytest.mark.parametrize("shape", [(2, 2), (2, 7), (5, 3), (9, 9), (10, 4)])
def test_grids_of_any_shape_close(shape: tuple[int, int]) -> None:
    ny, nx = shape
    heights = np.random.default_rng(3).uniform(0, 2, shape)
    surface = HeightField(Grid(0, 0, 0.5, nx, ny), heights)
    every = solid_below(surface, -1, 1e-12)
    assert trimesh_of(every).volume == pytest.approx(field_volume(surface, -1), rel=1e-9)
    trimesh_of(solid_below(surface, -1, 0.3))


def test_a_plate_that_is_too_thin_is_refused() -> None:
    with pytest.raises(CannotMakeError, match="underside"):
        solid_below(WAVES, 0.0)


def test_each_hole_right_through_adds_one_to_the_genus() -> None:
    block = solid_below(WAVES, FLOOR, 0.01)
    holes = [(x, y, 1.5, 5.0, FLOOR) for x in (-8.0, 0.0, 7.0) for y in (-4.0, 4.0)]
    blind = [(4.0, 0.0, 2.0, 5.0, -3.0)]
    cut = with_holes(block, holes + blind)
    mesh = trimesh_of(cut)
    assert genus(cut) == len(holes)
    assert mesh.euler_number == 2 - 2 * len(holes)


def test_holes_and_grooves_take_their_own_volume() -> None:
    plate = solid_below(HeightField.flat(Grid.over(0, 0, 40, 30, 1)), -10)
    cut = with_holes(
        plate,
        [(10.0, 10.0, 6.0, 0.0, -10.0), (30.0, 20.0, 4.0, 0.0, -3.0)],
        [(np.array([[20.0, -5.0], [20.0, 40.0]]), 3.0, -8.0)],
    )
    gone = plate.volume - trimesh_of(cut).volume
    assert gone == pytest.approx(9 * pi * 10 + 4 * pi * 3 + 3 * 2 * 30, rel=0.005)


def test_crossing_grooves_are_cut_once() -> None:
    plate = solid_below(HeightField.flat(Grid.over(0, 0, 40, 40, 1)), -10)
    across = (np.array([[-5.0, 20.0], [45.0, 20.0]]), 4.0, -7.0)
    along = (np.array([[20.0, -5.0], [20.0, 45.0]]), 4.0, -7.0)
    gone = plate.volume - trimesh_of(with_holes(plate, [], [across, along])).volume
    assert gone == pytest.approx(3 * (2 * 4 * 40 - 16), rel=1e-6)


def test_a_vent_at_the_foot_of_a_wall_is_opened_up_to_the_surface() -> None:
    wall = HeightField.of(Grid.over(0, 0, 20, 20, 0.5), lambda x, _: np.clip(x - 10, 0, 2))
    (vent,) = open_above(wall, [(10.0, 10.0, 1.0, 0.0, -5.0)])
    assert vent[3] == pytest.approx(1.0)
    assert open_above(wall, [(10.0, 10.0, 1.0, -4.0, -5.0)])[0][3] == -4.0
    assert genus(with_holes(solid_below(wall, -5), [vent])) == 1


def test_a_dummy_is_closed_and_lies_inside() -> None:
    radius = 6.0

    def lens(x: np.ndarray, y: np.ndarray) -> np.ndarray:
        r = np.hypot(x, y)
        return np.where(r < radius, 2 - 0.2 * r, 0.0)

    body = closed_body(HeightField.of(GRID, lens))
    mesh = trimesh_of(body)
    assert mesh.euler_number == 2
    assert np.hypot(*mesh.vertices[:, :2].T).max() < radius
    # Twice the integral of 2 - r/5 over the disc, less at most a band of one cell at its rim.
    whole = 2 * (2 * pi * radius**2 - 2 * pi * 0.2 * radius**3 / 3)
    rim = 2 * pi * radius * GRID.spacing * 1.5 * 2 * (2 - 0.2 * radius)
    assert whole - rim < mesh.volume < whole


def test_parts_of_a_dummy_that_meet_at_a_corner_do_not_hang_together() -> None:
    z = np.zeros((9, 9))
    z[1:5, 1:5] = 1
    z[4:7, 4:7] = 1
    body = closed_body(HeightField(Grid(0, 0, 1, 9, 9), z))
    mesh = trimesh_of(body)
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(3 * 3 * 2)


def test_a_body_without_a_whole_cell_is_refused() -> None:
    z = np.zeros((5, 5))
    z[2, 1:4] = 1
    with pytest.raises(CannotMakeError, match="thinner than its grid"):
        closed_body(HeightField(Grid(0, 0, 1, 5, 5), z))


def test_fewer_triangles_for_the_same_body() -> None:
    block = solid_below(WAVES, FLOOR)
    fewer = simplified(block, 0.02)
    assert len(fewer.triangles) < len(block.triangles) / 2
    assert trimesh_of(fewer).volume == pytest.approx(block.volume, rel=1e-4)


def test_an_open_body_is_refused() -> None:
    block = solid_below(WAVES, FLOOR)
    with pytest.raises(ValueError, match="not closed"):
        simplified(Solid(block.vertices, block.triangles[1:]), 0.01)


def test_the_same_body_gives_the_same_bytes() -> None:
    holes = [(0.0, 0.0, 2.0, 5.0, FLOOR)]
    first, second = (with_holes(solid_below(WAVES, FLOOR, 0.01), holes) for _ in range(2))
    assert first.vertices.tobytes() == second.vertices.tobytes()
    assert first.triangles.tobytes() == second.triangles.tobytes()
