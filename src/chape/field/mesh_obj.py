"""Meshes in OBJ text: lines of vertices ("v x y z") and of faces ("f 1/2/3 4/5/6 7/8/9")."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.errors import InputError
from chape.field.mesh_file import check_count, fan, of_corners

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Text of more bytes than this would fill the memory with its lines.
LARGEST_TEXT = 250_000_000

#: Texture and normal of a face's corner stand behind slashes.
_BESIDE = re.compile(r"/\S*")


def looks_like_obj(content: bytes) -> bool:
    """Say whether a file begins as OBJ text does: with a comment, a name or a vertex."""
    head = content[:4096]
    if b"\0" in head:
        return False
    words = {b"v", b"vn", b"vt", b"o", b"g", b"mtllib", b"usemtl", b"s", b"f"}
    lines = [line.split(None, 1) for line in head.splitlines() if line.strip()]
    first = next((line[0] for line in lines if not line[0].startswith(b"#")), None)
    return first in words or (first is None and content.lstrip().startswith(b"#"))


def triangles_of_obj(content: bytes) -> Floats:
    """Return (n, 3, 3) corners of the triangles of an OBJ file; polygons are cut as a fan.

    Raises:
        InputError: far too large, or a line that cannot be read.
    """
    vertices: list[str] = []
    faces: list[str] = []
    seen: list[int] = []
    for line in _lines(content):
        if line.startswith(("v ", "v\t")):
            vertices.append(line[2:])
        elif line.startswith(("f ", "f\t")):
            faces.append(line[2:])
            seen.append(len(vertices))
    check_count(len(faces))
    if not vertices or not faces:
        return np.zeros((0, 3, 3))
    return of_corners(_points(vertices), _corners(faces, np.array(seen)))


def text_rows(rows: list[str], what: str) -> Floats:
    """Return the numbers of rows of text that all hold the same count, (n, k).

    Raises:
        InputError: a row that holds something else, or another count.
    """
    try:
        return np.loadtxt(rows, dtype=np.float64, ndmin=2, comments=None)
    except ValueError:
        raise InputError(
            f"the mesh file holds a {what} that is not made of numbers", mend="Save the scan again"
        ) from None


def _lines(content: bytes) -> list[str]:
    if len(content) > LARGEST_TEXT:
        raise InputError(
            f"the mesh file is text of more than {LARGEST_TEXT // 1_000_000} MB",
            mend="Save the scan as binary STL or PLY",
        )
    text = content.decode("latin-1").replace("\\\r\n", " ").replace("\\\n", " ")
    return [line.lstrip() for line in text.splitlines()]


def _points(rows: list[str]) -> Floats:
    """Return (n, 3): colours or a weight behind x, y and z are left out."""
    points = text_rows([" ".join(row.split()[:3]) for row in rows], "vertex")
    if points.shape[1] != 3:
        raise InputError(
            "the mesh file holds a vertex that is not three numbers", mend="Save the scan again"
        )
    return points


def _corners(faces: list[str], seen: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    words = [_BESIDE.sub("", face).split() for face in faces]
    counts = np.array([len(row) for row in words])
    parts = []
    for count in np.unique(counts[counts >= 3]):
        which = np.flatnonzero(counts == count)
        numbers = text_rows([" ".join(words[k]) for k in which], "face").astype(np.int64)
        # A number below 0 counts back from the last vertex that stands before the face.
        numbers = np.where(numbers < 0, numbers + seen[which][:, None], numbers - 1)
        parts.append(fan(numbers).reshape(-1, 3))
    return np.concatenate(parts) if parts else np.zeros((0, 3), np.int64)
