"""A mesh of one half of the closed sheath.

Lines across, at stations along the draw, each cut into the same number of equal lengths of the
sheet itself, from the trimmed edge to the folded one, or to the other trimmed one of a half that is
a piece by itself; so steep walls get as many nodes as level
sheet of the same length. Stations stand closer where the surface rises along the draw, and wider
apart away from where the knife is held.

Nodes lie on the middle surface, half the sheet's thickness outside the formed one: the normal is
taken over neighbouring nodes, so that a fillet never folds over. What touches the knife is the
inner surface itself, sampled between the nodes and never replaced by the facets.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.halves import is_relieved, strip_end_at
from chape.solve.shell import ShellMesh

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Bools, Floats
    from chape.fit.half import Half

    Integers = npt.NDArray[np.int64]

#: Poisson's number of rigid PVC and its alloys: 0.38, from memory. A wrong tenth moves a
#: plate's stiffness by about a tenth.
POISSON = 0.38

#: Away from where the knife is held, stations stand up to this many times further apart, the
#: more so the further away, by this share per mm.
WIDEST, WIDER = 2.5, 0.05

#: Stations stand up to this many times closer where the surface rises along the draw.
CLOSEST = 3.0

#: The level flange takes nodes this much further apart than the rest of a section.
FLANGE = 1.6

#: The middle surface lies this many thicknesses outside the formed one.
OUTSIDE = 0.5

#: Paths along the sheet are measured in steps of about this, mm.
PATH_STEP = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class HalfMesh:
    """One half of a sheath, cut into triangles.

    Attributes:
        x: (n,) stations, mm.
        v: (n, m) where each node lies on the pattern, from the edge to the fold line or to the
            other edge, mm.
        inner: (n, m, 3) inner surface under each node, mm.
        shell: middle surface; node (i, j) has the number i m + j.
    """

    x: Floats
    v: Floats
    inner: Floats
    shell: ShellMesh


def stations(half: Half, mesh: float, held: tuple[float, float]) -> Floats:
    """Return (n,) the x of the mesh's lines across, from the tip's end to the mouth.

    Args:
        half: the half sheath.
        mesh: wanted length of an element where the knife is held, mm.
        held: x from and to where it is held, mm.
    """
    first, last = half.outline.bounds[0] + 0.2, half.mouth_x
    x = np.linspace(first, last, int((last - first) / PATH_STEP) + 1)
    grid = half.formed.grid
    rises = np.abs(np.diff(half.formed.z, axis=1)) / grid.spacing
    covered = half.formed.z[:, 1:] > 0.2
    # The slope that most of a section has: a wall that crosses the draw, not one along it.
    slope = np.array([
        np.percentile(rises[covered[:, k], k], 60) if covered[:, k].any() else 0.0
        for k in range(grid.nx - 1)
    ])  # fmt: skip
    stretch = np.interp(x, grid.x[1:] - grid.spacing / 2, np.hypot(1.0, slope))
    away = np.maximum(np.maximum(held[0] - x, x - held[1]), 0.0)
    density = np.minimum(stretch, CLOSEST) / np.minimum(1 + WIDER * away, WIDEST)
    window = max(1, int(2 * mesh / PATH_STEP))
    density = np.convolve(np.pad(density, window, mode="edge"), np.ones(window) / window, "same")
    passed = np.concatenate([[0.0], np.cumsum(density[window:-window])[:-1]]) * (x[1] - x[0])
    count = int(np.ceil(passed[-1] / mesh))
    return np.interp(np.linspace(0.0, passed[-1], count + 1), passed, x)


def rows_wanted(half: Half, x: Floats, mesh: float) -> int:
    """Return how many elements the longest section takes."""
    return int(np.ceil(max(_path(half, station)[1][-1] for station in x) / mesh))


def mesh_half(half: Half, x: Floats, rows: int) -> HalfMesh:
    """Return the mesh with given stations and elements across.

    Args:
        half: the half sheath.
        x: (n,) stations, mm.
        rows: elements across.
    """
    shares = np.linspace(0.0, 1.0, rows + 1)
    v = np.empty((len(x), rows + 1))
    for i, station in enumerate(x):
        along, passed = _path(half, station)
        v[i] = np.interp(shares * passed[-1], passed, along)
    v[folded_at(half, x), -1] = 0.0
    across = np.repeat(x[:, None], rows + 1, axis=1)
    inner = half.inner(across, v)
    gauge = half.gauge(across, v)
    nodes = inner + OUTSIDE * gauge[..., None] * _normals(half, inner)
    triangles = _triangles(len(x), rows + 1)
    thickness = gauge.ravel()[triangles].mean(axis=1)
    return HalfMesh(x, v, inner, ShellMesh(nodes.reshape(-1, 3), triangles, thickness, POISSON))


def _path(half: Half, station: float) -> tuple[Floats, Floats]:
    """Return v along a section from edge to edge, and the weighted length passed there."""
    low, high = _edges(half, station)
    along = np.linspace(low, high, int((high - low) / PATH_STEP) + 2)
    points = half.inner(np.full(len(along), station), along)
    pieces = np.linalg.norm(np.diff(points, axis=0), axis=1)
    level = np.maximum(points[:-1, 2], points[1:, 2]) < 0.02
    passed = np.concatenate([[0.0], np.cumsum(np.where(level, pieces / FLANGE, pieces))])
    return along, passed


def _edges(half: Half, station: float) -> tuple[float, float]:
    """Return v of a section's trimmed edge, and of the fold line or the other edge."""
    _, v_min, _, v_max = half.outline.bounds
    line = shapely.LineString([(station, v_min - 1), (station, v_max + 1)])
    cut = shapely.get_parts(shapely.intersection(half.outline, line))
    if half.fold is None:
        _, low, _, high = max(cut, key=lambda part: float(part.length)).bounds
        return float(low), float(high)
    strip = float(strip_end_at(half.fold, np.array(station))) - half.axis
    if not folded_at(half, np.array([station]))[0]:
        _, low, _, high = max(cut, key=lambda part: float(part.length)).bounds
        return float(low), float(high)
    low = min((float(part.bounds[1]) for part in cut if part.bounds[3] > -1.0), default=strip)
    return low, 0.0


def folded_at(half: Half, x: Floats) -> Bools:
    """Say at which stations (n,) the half is folded into the other."""
    if half.fold is None:
        return np.zeros(len(x), dtype=np.bool_)
    return ~is_relieved(half.fold, x)


def _normals(half: Half, inner: Floats) -> Floats:
    """Return (n, m, 3) unit normals out of the sheath, over neighbouring nodes."""
    normal = np.cross(np.gradient(inner, axis=0), np.gradient(inner, axis=1))
    # The folded edge lies on the mid-plane, where the other half is its mirror image.
    normal[folded_at(half, inner[:, 0, 0]), -1, 2] = 0.0
    size = np.linalg.norm(normal, axis=2, keepdims=True)
    return np.asarray(normal / np.maximum(size, 1e-12))


def _triangles(n: int, m: int) -> Integers:
    """Return two triangles per cell, their diagonals turned from cell to cell."""
    i, j = np.meshgrid(np.arange(n - 1), np.arange(m - 1), indexing="ij")
    a, b = i * m + j, (i + 1) * m + j
    c, d = b + 1, a + 1
    even = ((i + j) % 2 == 0)[..., None, None]
    one = np.stack([np.stack([a, b, c], -1), np.stack([a, c, d], -1)], axis=-2)
    other = np.stack([np.stack([a, b, d], -1), np.stack([b, c, d], -1)], axis=-2)
    triangles: Integers = np.where(even, one, other).reshape(-1, 3).astype(np.int64)
    return triangles
