"""A mesh from a file of any kind that scanners write: STL, PLY, OBJ or 3MF.

The kind is told by what the file holds, not by its name alone. What comes back are loose
triangles: nothing here asks for a closed mesh.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError
from chape.field.triangles import FARTHEST, MOST_TRIANGLES, triangles_of_stl

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

    from chape.field.grid import Floats

#: The names such files end in.
KINDS = (".stl", ".ply", ".obj", ".3mf")

#: A larger file is not read, bytes.
LARGEST_MESH = 250_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Loose triangles, in the unit of their file.

    Attributes:
        triangles: (n, 3, 3) corners.
        in_mm: millimetres in one of the file's units, where the file states one.
    """

    triangles: Floats
    in_mm: float | None = None


def is_mesh(path: Path) -> bool:
    """Say whether a file is a mesh, by its name."""
    return path.suffix.lower() in KINDS


def mesh_of(content: bytes) -> Mesh:
    """Return the mesh that a file holds.

    Raises:
        InputError: it is none of ``KINDS``, damaged, empty, far too large, or a coordinate is no
            number.
    """
    if not content.strip(b"\0 \t\r\n"):
        raise InputError("the mesh file is empty", mend="Save the scan again")
    if content[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        from chape.field.mesh_package import mesh_of_package  # noqa: PLC0415 - seldom needed

        mesh = mesh_of_package(content)
        return Mesh(checked(mesh.triangles), mesh.in_mm)
    if content[:4] in (b"ply\n", b"ply\r"):
        from chape.field.mesh_ply import triangles_of_ply  # noqa: PLC0415 - seldom needed

        return Mesh(checked(triangles_of_ply(content)))
    from chape.field.mesh_obj import looks_like_obj, triangles_of_obj  # noqa: PLC0415 - as above

    if looks_like_obj(content):
        return Mesh(checked(triangles_of_obj(content)))
    try:
        return Mesh(checked(triangles_of_stl(content)))
    except InputError as error:
        if "no STL file" in error.problem:
            raise InputError(
                "this is no mesh: neither STL, PLY, OBJ nor 3MF",
                mend="Save the scan as STL, PLY, OBJ or 3MF",
            ) from None
        raise


def checked(triangles: Floats) -> Floats:
    """Return the triangles, or raise where there are none, too many, or corners that cannot be."""
    if len(triangles) == 0:
        raise InputError("the mesh holds no triangle", mend="Save the scan as a mesh, not points")
    check_count(len(triangles))
    if not (np.abs(triangles) <= FARTHEST).all():
        raise InputError(
            f"the mesh holds a coordinate that is no number, or lies beyond {FARTHEST:,.0f}",
            mend="Save the scan again, near its origin",
        )
    return triangles


def check_count(count: int) -> None:
    """Raise for more triangles than are read."""
    if count > MOST_TRIANGLES:
        raise InputError(
            f"the mesh has more than {MOST_TRIANGLES:,} triangles, and no more are read",
            mend="Save it more coarsely: half a million triangles are plenty for a knife",
        )


def of_corners(vertices: Floats, corners: npt.NDArray[np.int64]) -> Floats:
    """Return (n, 3, 3) triangles of (m, 3) vertices and (n, 3) numbers of their corners, from 0.

    Raises:
        InputError: a corner that is no vertex of the file.
    """
    check_count(len(corners))
    if len(corners) and (corners.min() < 0 or corners.max() >= len(vertices)):
        raise InputError(
            f"a triangle names a corner that is none of the mesh's {len(vertices)}",
            mend="Save the scan again",
        )
    triangles: Floats = vertices[corners]
    return triangles


def fan(polygon: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Return (n, k - 2, 3) corner numbers of the triangles of (n, k) polygons."""
    sides = polygon.shape[1] - 2
    first = np.broadcast_to(polygon[:, :1], (len(polygon), sides))
    return np.stack([first, polygon[:, 1:-1], polygon[:, 2:]], axis=2)
