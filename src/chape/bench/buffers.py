"""Meshes as the page loads them: one buffer that typed arrays lie over as it is.

All numbers are little-endian; the arrays follow one another without a gap.

    offset  what
    0       "CHPM"
    4       uint16 version, 1
    6       uint16 flags: 1 it carries values
    8       uint32 vertices n
    12      uint32 triangles m
    16      float32 least value, float32 greatest value; 0 without values
    24      8 bytes of 0
    32      float32[n][3] places, mm
            int8[n][4] normals x, y, z in 127ths, and a 0
            float32[n] values, mm; NaN for none; only with the flag
            uint32[m][3] triangles, counter-clockwise seen from outside

Where faces meet at more than ``CREASE`` each has vertices of its own, so that edges look sharp and
rounded places smooth.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.field.solid import Solid

MAGIC, VERSION, HAS_VALUES = b"CHPM", 1, 1
_HEAD = struct.Struct("<4sHHIIff8x")

#: A face that leans away from its vertex's mean normal by more than this is apart there, degrees.
CREASE = 35.0


def mesh_bytes(solid: Solid, values: Floats | None = None) -> bytes:
    """Return a solid as a buffer.

    Args:
        solid: a closed body.
        values: (n,) of its vertices, mm; NaN for none.
    """
    places = solid.vertices
    source, normals, triangles = _creased(places, solid.triangles)
    flags, low, high = 0, 0.0, 0.0
    shown = b""
    if values is not None:
        flags = HAS_VALUES
        known = values[np.isfinite(values)]
        low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 0.0)
        shown = values[source].astype("<f4").tobytes()
    packed = np.zeros((len(source), 4), dtype=np.int8)
    packed[:, :3] = normals
    head = _HEAD.pack(MAGIC, VERSION, flags, len(source), len(triangles), low, high)
    return b"".join(
        (
            head,
            places[source].astype("<f4").tobytes(),
            packed.tobytes(),
            shown,
            triangles.astype("<u4").tobytes(),
        )
    )


def _creased(
    places: Floats, triangles: npt.NDArray[np.int32]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int8], npt.NDArray[np.int64]]:
    """Return vertices that are apart at creases.

    Returns:
        (k,) the vertex each was, (k, 3) its normal in 127ths, and (m, 3) the triangles of them.
    """
    corners = places[triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    count = len(places)
    flat = triangles.ravel()
    # Larger faces count more.
    weighted = np.repeat(across, 3, axis=0)
    own = _unit(weighted)
    mean = _means(flat, weighted, count)
    apart = np.einsum("ij,ij->i", own, mean[flat]) < np.cos(np.radians(CREASE))
    # What is apart must not bend the normal of those that stay: a wall would darken a flat's edge.
    mean = _means(flat[~apart], weighted[~apart], count)
    shared = np.round(127 * mean).astype(np.int8)
    sharp = np.round(127 * own[apart]).astype(np.int8)
    # One more vertex for each place and direction that has one apart.
    parts = sharp.astype(np.int64) + 128
    keys = ((flat[apart].astype(np.int64) * 256 + parts[:, 0]) * 256 + parts[:, 1]) * 256
    _, first, number = np.unique(keys + parts[:, 2], return_index=True, return_inverse=True)
    numbers = flat.astype(np.int64)
    numbers[apart] = count + number
    source = np.concatenate([np.arange(count), flat[apart][first]])
    return source, np.vstack([shared, sharp[first]]), numbers.reshape(-1, 3)


def _means(vertices: npt.NDArray[np.int32], faces: Floats, count: int) -> Floats:
    """Return (count, 3) the mean direction of the faces at each vertex; 0 where there is none."""
    sums = [np.bincount(vertices, faces[:, axis], count) for axis in range(3)]
    return _unit(np.column_stack(sums))


def _unit(vectors: Floats) -> Floats:
    length = np.linalg.norm(vectors, axis=1, keepdims=True)
    unit: Floats = vectors / np.where(length > 0, length, 1.0)
    return unit
