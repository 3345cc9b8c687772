"""Meshes of every kind that is read: as another library writes them, damaged, and hostile."""

from __future__ import annotations

import io
import tracemalloc
import zipfile

import numpy as np
import pytest
import trimesh

from chape.errors import InputError
from chape.field import mesh_package
from chape.field.mesh_file import mesh_of

BALL = trimesh.creation.icosphere(subdivisions=2, radius=10.0)

#: Quads and a triangle by hand: a box of 2 x 1 x 1 whose top is a roof.
QUADS = b"""# a box
o box
v 0 0 0
v 2 0 0
v 2 1 0
v 0 1 0
v 0 0 1 0.5 0.5 0.5
v 2 0 1
vn 0 0 1
f 1/1/1 4/2/1 3/3/1 2/4/1
f -2//1 -1//1 2 1
f 5 1 4
"""

PLY_MIXED = b"""ply
format ascii 1.0
comment mixed polygons, another column, another element
element vertex 5
property float x
property float y
property float z
property uchar red
element face 3
property list uchar int vertex_indices
element note 1
property int code
end_header
0 0 0 9
2 0 0 9
2 1 0 9
0 1 0 9
1 1 3 9
4 0 1 2 3
3 0 1 4
3 1 2 4
7
"""


def written(**kind):
    content = BALL.export(**kind)
    return content.encode() if isinstance(content, str) else content


@pytest.mark.parametrize(
    "kind",
    [
        {"file_type": "stl"},
        {"file_type": "stl_ascii"},
        {"file_type": "ply"},
        {"file_type": "ply", "encoding": "ascii"},
        {"file_type": "obj"},
        {"file_type": "3mf"},
    ],
    ids=lambda kind: "-".join(kind.values()),
)
def test_what_another_library_writes_is_read(kind):
    mesh = mesh_of(written(**kind))
    assert np.allclose(mesh.triangles, BALL.triangles, atol=1e-5)
    assert mesh.in_mm == (1.0 if kind["file_type"] == "3mf" else None)


def test_big_endian_rows_are_read():
    little = written(file_type="ply")
    head, _, rows = little.partition(b"end_header\n")
    vertices = np.frombuffer(rows, "<f4", 3 * len(BALL.vertices))
    faces = np.zeros(len(BALL.faces), [("n", "u1"), ("at", ">i4", 3)])
    faces["n"], faces["at"] = 3, BALL.faces
    big = head.replace(b"little", b"big") + b"end_header\n"
    big += vertices.astype(">f4").tobytes() + faces.tobytes()
    assert np.array_equal(mesh_of(big).triangles, mesh_of(little).triangles)


def test_polygons_are_cut_into_triangles():
    mesh = mesh_of(QUADS)
    assert len(mesh.triangles) == 5
    assert np.allclose(mesh.triangles[-1], [[0, 0, 1], [0, 0, 0], [0, 1, 0]]) or np.allclose(
        mesh.triangles[0], [[0, 0, 1], [0, 0, 0], [0, 1, 0]]
    )
    mixed = mesh_of(PLY_MIXED)
    assert len(mixed.triangles) == 4
    assert trimesh.Trimesh(**trimesh.triangles.to_kwargs(mixed.triangles)).area == pytest.approx(
        2 + 0.5 * 2 * np.sqrt(10) + 0.5 * np.sqrt(10)
    )


def test_mixed_binary_rows_are_read():
    head = PLY_MIXED.split(b"end_header\n")[0].replace(b"ascii", b"binary_little_endian")
    vertices = np.zeros(5, [("at", "<f4", 3), ("red", "u1")])
    vertices["at"] = [[0, 0, 0], [2, 0, 0], [2, 1, 0], [0, 1, 0], [1, 1, 3]]
    rows = vertices.tobytes()
    for face in ((0, 1, 2, 3), (0, 1, 4), (1, 2, 4)):
        rows += bytes([len(face)]) + np.array(face, "<i4").tobytes()
    binary = mesh_of(head + b"end_header\n" + rows + np.int32(7).tobytes())
    text = mesh_of(PLY_MIXED)
    assert np.allclose(np.sort(binary.triangles, axis=0), np.sort(text.triangles, axis=0))


def package(model: str, **more: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", model)
        for name, content in more.items():
            archive.writestr(name, content)
    return stream.getvalue()


CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
TRIANGLE = (
    '<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/>'
    '<vertex x="0" y="1" z="0"/></vertices><triangles><triangle v1="0" v2="1" v3="2"/>'
    "</triangles></mesh>"
)


def model(objects: str, items: str, unit: str = "inch", head: str = "") -> str:
    return (
        f'<?xml version="1.0"?>{head}<model unit="{unit}" xmlns="{CORE}"><resources>{objects}'
        f"</resources><build>{items}</build></model>"
    )


def test_a_package_is_built_as_its_items_and_components_say():
    objects = (
        f'<object id="1">{TRIANGLE}</object><object id="2"><components>'
        '<component objectid="1" transform="0 1 0 -1 0 0 0 0 1 5 0 0"/></components></object>'
    )
    items = '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 7"/><item objectid="1"/>'
    mesh = mesh_of(package(model(objects, items)))
    assert mesh.in_mm == 25.4
    assert np.allclose(mesh.triangles[0], [[5, 0, 7], [5, 1, 7], [4, 0, 7]])
    assert np.allclose(mesh.triangles[1], [[0, 0, 0], [1, 0, 0], [0, 1, 0]])


LOOP = '<object id="1"><components><component objectid="1"/></components></object>'
BOMB = "".join(
    f'<object id="{k}"><components>{f"""<component objectid="{k + 1}"/>""" * 40}</components>'
    "</object>"
    for k in range(1, 12)
)
BOMB += '<object id="12"/>'
ONE = f'<object id="1">{TRIANGLE}</object>'
ITEM = '<item objectid="1"/>'
LAUGHS = '<!DOCTYPE a [<!ENTITY b "ha"><!ENTITY c "&b;&b;&b;">]>'


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\0" * 4000, "empty"),
        (b"a letter to a customer, saved as scan.stl", "no mesh"),
        (bytes(range(1, 256)) * 9, "no mesh|ends before"),
        (b"# nothing\n", "no triangle"),
        (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "names a corner"),
        (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "names a corner"),
        (b"v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "no number"),
        (b"v 0 0 1e9\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "no number, or lies beyond"),
        (b"v 0 0 x\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "not made of numbers"),
        (b"v 0 0\nv 1 0\nv 0 1\nf 1 2 3\n", "not three numbers"),
        (PLY_MIXED.replace(b"float z", b"quad z"), "its header holds"),
        (PLY_MIXED.replace(b"vertex 5", b"vertex -5"), "its header holds"),
        (PLY_MIXED.replace(b"vertex 5", b"vertex 99999999999"), "more than"),
        (PLY_MIXED[:-30], "do not hold what"),
        (PLY_MIXED.replace(b"end_header", b""), "does not end"),
        (written(file_type="ply")[:-5], "ends before"),
        (package("<model"), "no XML"),
        (package(model(ONE, "")), "no triangle"),
        (package(model(LOOP, ITEM)), "too many, or lie too deep"),
        (package(model(BOMB, ITEM)), "too many, or lie too deep"),
        (package(model(ONE, '<item objectid="7"/>')), "names object 7"),
        (package(model(ONE, '<item objectid="1" transform="1 0"/>')), "lacks or misspells"),
        (package(model(ONE, ITEM, unit="cubit")), "lacks or misspells"),
        (package(model(ONE.replace('y="0"', ""), ITEM)), "lacks or misspells"),
        (package(model(ONE, ITEM, head=LAUGHS)), "document type"),
        (package(model(ONE, ITEM))[:-40], "damaged"),
        (package(model(ONE, ITEM)).replace(b"3D/3dmodel.model", b"3D/3dmodel.other"), "no model"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(content, said):
    with pytest.raises(InputError, match=said) as caught:
        mesh_of(content)
    assert "\n" not in str(caught.value)
    assert caught.value.mend


def test_a_zip_bomb_is_not_unpacked(monkeypatch):
    # A tenth of the true limit, and of the time.
    monkeypatch.setattr(mesh_package, "LARGEST_MODELS", mesh_package.LARGEST_MODELS // 10)
    bomb = package(model(ONE, ITEM) + " " * 60_000_000)
    assert len(bomb) < 100_000
    tracemalloc.start()
    with pytest.raises(InputError, match="unpacks to more than"):
        mesh_of(bomb)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 10_000_000


def test_thousands_of_entries_are_refused():
    many = package(model(ONE, ITEM), **{f"note{k}": b"" for k in range(2100)})
    with pytest.raises(InputError, match="holds 2101 files"):
        mesh_of(many)
