"""Meshes as the page loads them, and the shapes they are of."""

import struct
from pathlib import Path

import numpy as np
import pytest
import shapely

import chape.demo
from chape.bench import solids
from chape.bench.buffers import mesh_bytes
from chape.bench.shapes import made_buffer
from chape.documents.to_mesh import stl_bytes
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.skin import cut_to, skin
from chape.field.surface import solid_below
from chape.pipeline.glance import Glancer
from chape.tooling.model import RoundHole


def read(buffer):
    """Read a buffer as its description says, by another way than it was written."""
    magic, version, flags, n, m, low, high = struct.unpack_from("<4sHHIIff", buffer)
    assert (magic, version, buffer[24:32]) == (b"CHPM", 1, bytes(8))
    at = 32
    parts = []
    for kind, count in (("<f4", 3 * n), ("<i1", 4 * n), ("<f4", n * flags), ("<u4", 3 * m)):
        parts.append(np.frombuffer(buffer, kind, count, at))
        at += parts[-1].nbytes
    assert at == len(buffer)
    places, normals, values, triangles = parts
    return places.reshape(n, 3), normals.reshape(n, 4), values, triangles.reshape(m, 3), low, high


@pytest.fixture(scope="module")
def cube():
    return solid_below(HeightField.flat(Grid(0, 0, 10.0, 2, 2), 10.0), 0.0)


@pytest.fixture(scope="module")
def sheaths():
    folder = Path(chape.demo.__file__).parent
    glancer = Glancer(1.6)
    return [glancer.look(folder / f"{n}-sheath.toml").sheath for n in ("slender", "slender-paired")]


# At the corner of a plate its flat outweighs the walls, and would take them into its own normal.
@pytest.mark.parametrize("side", [10.0, 100.0])
def test_a_block_has_sharp_edges_and_every_normal_is_its_faces(side):
    block = solid_below(HeightField.flat(Grid(0, 0, side, 2, 2), 10.0), 0.0)
    places, normals, values, triangles, _, _ = read(mesh_bytes(block))
    assert len(values) == 0
    for corners in triangles:
        a, b, c = places[corners]
        across = np.cross(b - a, c - a)
        face = across / np.linalg.norm(across)
        for corner in corners:
            assert normals[corner, :3] @ face > 126


def test_a_rounded_body_has_one_normal_at_a_vertex():
    hill = HeightField.of(Grid(-8, -8, 0.5, 33, 33), lambda x, y: np.sqrt(200 - x**2 - y**2))
    solid = solid_below(hill, 0.0)
    places, normals, *_ = read(mesh_bytes(solid))
    top = (places[:, 2] > 1) & (np.abs(places[:, :2]).max(axis=1) < 7)
    assert top.sum() == 27**2
    out = places[top] / np.linalg.norm(places[top], axis=1, keepdims=True)
    told = normals[top, :3] / np.linalg.norm(normals[top, :3], axis=1, keepdims=True)
    assert (np.einsum("ij,ij->i", out, told) > 0.999).all()


def test_a_mesh_of_a_job_folder_is_shown_as_it_was_made(cube):
    made = read(made_buffer(stl_bytes(cube)))
    own = read(mesh_bytes(cube))
    assert len(made[3]) == len(own[3])

    def corners(buffer):
        places, normals, _, triangles, _, _ = buffer
        return sorted(
            map(tuple, np.hstack([places[triangles.ravel()], normals[triangles.ravel()]]))
        )

    assert corners(made) == corners(own)


def test_values_stay_with_their_vertices_and_none_is_told_as_nan(cube):
    values = np.where(cube.vertices[:, 2] > 5, cube.vertices[:, 0] / 10, np.nan)
    places, _, told, _, low, high = read(mesh_bytes(cube, values))
    assert (low, high) == (0.0, 1.0)
    above = places[:, 2] > 5
    assert np.allclose(told[above], places[above, 0] / 10)
    assert np.isnan(told[~above]).all()
    assert read(mesh_bytes(cube, np.full(len(values), np.nan)))[4:] == (0.0, 0.0)


def test_a_skin_cut_to_a_shape_has_its_volume():
    low = HeightField.flat(Grid(-5, -5, 1.0, 21, 11), 2.0)
    solid = cut_to(skin(low, low.with_z(low.z + 3.0)), shapely.box(0.3, 0, 10.3, 4))
    assert solid.volume == pytest.approx(120.0)
    with pytest.raises(ValueError, match="one above the other"):
        skin(low, low)
    with pytest.raises(ValueError, match="nothing of the solid"):
        cut_to(solid, shapely.box(50, 50, 60, 60))


def test_the_closed_sheath_is_as_much_sheet_as_its_pieces(sheaths):
    for sheath in sheaths:
        solid = solids.closed_sheath(sheath, None, "none").solid
        net = sum(
            piece.pattern.area - sum(np.pi * hole.diameter**2 / 4 for hole in piece.holes)
            for piece in sheath.pieces
        )
        # Walls stretch: there is somewhat more of it, as the sheet is drawn as thick as it was.
        assert 1.0 < solid.volume / (net * sheath.sheet.gauge.value) < 1.35
        # Both halves meet on the mid-plane and neither reaches through it.
        z = solid.vertices[:, 2]
        assert z.max() == pytest.approx(-z.min(), abs=0.5)
        if sheath.fold is not None:
            apex = sheath.fold.end.max() + sheath.fold.height.max() + sheath.sheet.gauge.value
            assert solid.vertices[:, 1].max() <= apex + 0.1


def test_clearance_is_told_alike_on_knife_and_sheath(sheaths):
    for sheath in sheaths:
        knife = solids.knife_by_clearance(sheath).values
        own = solids.closed_sheath(sheath, None, "clearance").values
        # Where either is nearest; a single corner of the coarse knife may stand out further.
        low = [float(np.nanquantile(values, 0.02)) for values in (knife, own)]
        assert low[0] == pytest.approx(low[1], abs=0.15)
        assert np.isnan(knife).any()


def test_a_block_shows_its_holes_and_keeps_to_its_number_of_triangles():
    waves = HeightField.of(Grid(0, 0, 0.5, 161, 161), lambda x, y: 5 + np.sin(x) * np.sin(y))
    hole = RoundHole(40.0, 40.0, 6.0, 10.0, -30.0, "vent")
    shaded = solids.block(solids.drilled(waves, [hole]), -20.0, 4000, waves)
    assert len(shaded.solid.triangles) <= 4000
    vertices = shaded.solid.vertices
    deep = np.hypot(vertices[:, 0] - 40, vertices[:, 1] - 40) < 2.5
    assert vertices[deep, 2].max() < -19.9
    assert np.isnan(shaded.values[vertices[:, 2] <= -20.0]).all()
    assert shaded.solid.volume < 80 * 80 * 25


def test_a_coarser_field_keeps_its_middle_row():
    field = HeightField.of(Grid(0, -7.0, 0.5, 40, 29), lambda x, y: x + y)
    for spacing in (0.5, 1.0, 1.5, 2.0):
        thinned = solids.coarser(field, spacing)
        assert 0.0 in thinned.grid.y
        assert np.allclose(thinned.z, thinned.grid.x + thinned.grid.y[:, None])
