"""The pieces a mesh falls into: triangles that hang together by their corners."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse, spatial
from scipy.sparse import csgraph

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats

#: Corners are told apart on a lattice of this many steps along the longest side of the mesh, so
#: that the number of a lattice point fits one word of 63 bits.
STEPS = 2**20

#: A needle's point lies so many times further from its neighbours' middle than they do.
NEEDLE = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """How a mesh falls into pieces.

    Attributes:
        number: (n,) the piece of each triangle, from 0.
        area: (k,) of each piece.
        closed: (k,) whether each of its edges has two triangles, as a solid's have.
    """

    number: npt.NDArray[np.int64]
    area: Floats
    closed: npt.NDArray[np.bool_]


def pieces_of(triangles: Floats) -> Pieces:
    """Return the pieces of loose triangles (n, 3, 3); corners at one place are joined."""
    corners = joined_corners(triangles)
    count = int(corners.max()) + 1
    start, end = corners.ravel(), np.roll(corners, -1, axis=1).ravel()
    links = sparse.coo_array((np.ones(len(start), np.int8), (start, end)), shape=(count, count))
    _, of_corner = csgraph.connected_components(links, directed=False)
    number = of_corner[corners[:, 0]].astype(np.int64)
    number = np.unique(number, return_inverse=True)[1]
    area = np.bincount(number, weights=areas(triangles)).astype(np.float64)
    low, high = np.minimum(start, end), np.maximum(start, end)
    edges, which, uses = np.unique(
        low.astype(np.int64) * count + high, return_index=True, return_counts=True
    )
    true_edge = edges // count != edges % count
    open_at = number[which[(uses != 2) & true_edge] // 3]
    closed = np.bincount(open_at, minlength=len(area)) == 0
    return Pieces(number, area, closed)


def joined_corners(triangles: Floats) -> npt.NDArray[np.int64]:
    """Return (n, 3) numbers of the corners of loose triangles, the same where they lie together."""
    points = triangles.reshape(-1, 3)
    low = points.min(axis=0)
    size = max(float((points - low).max()), 1e-30)
    steps = np.rint((points - low) * ((STEPS - 1) / size)).astype(np.int64)
    keys = (steps[:, 0] * STEPS + steps[:, 1]) * STEPS + steps[:, 2]
    return np.unique(keys, return_inverse=True)[1].reshape(-1, 3)


def at_spikes(triangles: Floats, least: float) -> npt.NDArray[np.bool_]:
    """Mark the triangles (n,) that meet in a corner which stands out like a needle.

    Such a corner lies further from the middle of its neighbours than they themselves do, by
    ``NEEDLE`` times, and further than ``least``: no ridge and no corner of a solid does.
    """
    corners = joined_corners(triangles)
    return _at_needles(triangles, corners, int(corners.max()) + 1, least)


@kernel
def _at_needles(
    triangles: Floats, corners: npt.NDArray[np.int64], count: int, least: float
) -> npt.NDArray[np.bool_]:
    """Mark triangles at needles; each neighbour counts once for every triangle that it shares."""
    place, middle = np.zeros((count, 3)), np.zeros((count, 3))
    uses, squares = np.zeros(count), np.zeros(count)
    for n in range(len(triangles)):
        for k in range(3):
            place[corners[n, k]] = triangles[n, k]
            middle[corners[n, k]] += triangles[n, (k + 1) % 3] + triangles[n, (k + 2) % 3]
            uses[corners[n, k]] += 2
    for n in range(len(triangles)):
        for k in range(3):
            c = corners[n, k]
            for beside in range(1, 3):
                squares[c] += _squared(triangles[n, (k + beside) % 3], middle[c] / uses[c])
    needle = np.zeros(count, np.bool_)
    for c in range(count):
        off = _squared(place[c], middle[c] / uses[c])
        needle[c] = off > least * least and off > NEEDLE * NEEDLE * squares[c] / uses[c]
    marked = np.zeros(len(triangles), np.bool_)
    for n in range(len(triangles)):
        marked[n] = needle[corners[n, 0]] or needle[corners[n, 1]] or needle[corners[n, 2]]
    return marked


@inner_kernel
def _squared(one: Floats, other: Floats) -> float:
    """Return the square of the distance between two points (3,)."""
    x, y, z = one[0] - other[0], one[1] - other[1], one[2] - other[2]
    return float(x * x + y * y + z * z)


def areas(triangles: Floats) -> Floats:
    """Return (n,) areas of triangles (n, 3, 3)."""
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size: Floats = np.sqrt(np.einsum("ij,ij->i", across, across)) / 2
    return size


def gap_between(some: Floats, others: Floats) -> float:
    """Return the least distance between the corners of two sets of triangles."""
    gaps, _ = spatial.KDTree(some.reshape(-1, 3)).query(others.reshape(-1, 3))
    return float(np.min(gaps))
