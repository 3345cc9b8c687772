"""STL and 3MF, read back by trimesh."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import numpy as np
import pytest
import trimesh
from lxml import etree

from chape.documents.to_mesh import stl_bytes, threemf_bytes
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.surface import Solid, solid_below, with_holes

SURFACE = HeightField.of(Grid.over(100, 200, 130, 225, 0.5), lambda x, y: np.sin(x) * np.cos(y / 2))
BLOCK = with_holes(solid_below(SURFACE, -10, 0.01), [(110.0, 210.0, 3.0, 2.0, -10.0)])


def reread(content: bytes, kind: str) -> trimesh.Trimesh:
    mesh = trimesh.load(BytesIO(content), file_type=kind, force="mesh")
    assert isinstance(mesh, trimesh.Trimesh)
    return mesh


@pytest.mark.parametrize("kind", ["stl", "3mf"])
def test_files_come_back_watertight_with_their_volume(kind: str) -> None:
    content = stl_bytes(BLOCK) if kind == "stl" else threemf_bytes(BLOCK, "block")
    mesh = reread(content, kind)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(BLOCK.volume, rel=1e-6)
    assert mesh.euler_number == 0
    assert mesh.bounds == pytest.approx(np.array(BLOCK.bounds), abs=1e-4)


def test_an_stl_is_binary_and_carries_true_normals() -> None:
    content = stl_bytes(BLOCK)
    assert not content.lower().startswith(b"solid")
    assert len(content) == 84 + 50 * len(BLOCK.triangles)
    facets = np.frombuffer(
        content, dtype=[("n", "<f4", 3), ("c", "<f4", (3, 3)), ("s", "<u2")], offset=84
    )
    assert np.linalg.norm(facets["n"], axis=1) == pytest.approx(1, abs=1e-5)


def test_a_3mf_is_a_package_in_millimetres() -> None:
    with ZipFile(BytesIO(threemf_bytes(BLOCK, 'dummy <"A" & \x07B>'))) as package:
        assert package.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
        parts = {name: etree.fromstring(package.read(name)) for name in package.namelist()}
    model = parts["3D/3dmodel.model"]
    core = {"m": "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"}
    assert model.get("unit") == "millimeter"
    assert model.xpath("string(m:resources/m:object/@name)", namespaces=core) == 'dummy <"A" & B>'
    item = model.xpath("string(m:build/m:item/@objectid)", namespaces=core)
    assert item == model.xpath("string(m:resources/m:object/@id)", namespaces=core)
    count = int(model.xpath("count(//m:vertex)", namespaces=core))
    corners = [int(v) for v in model.xpath("//m:triangle/@*", namespaces=core)]
    assert min(corners) >= 0
    assert max(corners) == count - 1


def test_corners_that_rounding_makes_one_leave_no_gap() -> None:
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1e-9, 0, 0]], dtype=float)
    triangles = np.array([[0, 2, 4], [4, 2, 1], [0, 4, 3], [4, 1, 3], [1, 2, 3], [2, 0, 3]])
    sliver = Solid(vertices, triangles.astype(np.int32))
    for content, kind in ((stl_bytes(sliver), "stl"), (threemf_bytes(sliver, "s"), "3mf")):
        mesh = reread(content, kind)
        assert mesh.is_watertight
        assert len(mesh.faces) == 4


def test_the_same_solid_gives_the_same_bytes() -> None:
    assert stl_bytes(BLOCK) == stl_bytes(BLOCK)
    assert threemf_bytes(BLOCK, "block") == threemf_bytes(BLOCK, "block")
