"""Contact with friction between a rigid body and an elastic one, on the elastic body's compliance.

    g_i      gap at point i before anything gives way; n_i the normal, out of the rigid body
    d_i      direction of the force on the elastic body: n_i + mu t_i, t_i the way it is dragged
    lam_i    normal force, >= 0
    N_i, D_i what a point's displacement and force are in terms of the nodes', by weights
    C        compliance between nodes: displacement of one under a unit force at another
    c_i      compliance of the layer right under the point

    w = g + N C D' lam + c lam,     0 <= lam  _|_  w >= 0

Solved by a primal-dual active set (Hintermueller, Ito and Kunisch, SIAM J. Optim. 13 (2002) 865):
points that would pull are let go, points that would run through are taken in, until none is left.
Full slip is assumed: right for a body that keeps moving one way. Columns of C are worked out only
for nodes under points that ever touch.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import kernel

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy.typing as npt

    from chape.field.grid import Floats

    Integers = npt.NDArray[np.int64]
    Booleans = npt.NDArray[np.bool_]

#: So many rounds are tried with many points changing at once; then one at a time.
MANY, MOST_ROUNDS = 25, 120

#: A point counts as run through from this depth, mm: far below what a surface is known to.
TOUCHING = 1e-9


class Compliance:
    """Displacement of nodes under unit forces at nodes, worked out when first asked for.

    Args:
        columns: takes (k,) node indices, returns (3 k, 3 n): row 3 a + c is the displacement of
            every node under a unit force along axis c at the a-th one asked for.
        count: number of nodes n.
    """

    def __init__(self, columns: Callable[[Integers], Floats] | None, count: int) -> None:
        self._columns = columns
        self.rows = np.zeros((3 * count, 3 * count))
        self.known = np.zeros(count, dtype=np.bool_)

    def want(self, nodes: Integers) -> None:
        """Have the columns of some nodes ready."""
        new = np.unique(nodes[~self.known[nodes]])
        if not len(new):
            return
        if self._columns is None:
            raise AssertionError("a node was left out when this compliance was packed")
        where = (3 * new[:, None] + np.arange(3)).ravel()
        self.rows[where] = self._columns(new)
        self.known[new] = True

    def packed(self) -> Compliance:
        """Return the same with every column known, and nothing that is left to be worked out."""
        self.want(np.arange(len(self.known)))
        whole = Compliance(None, 0)
        whole.rows, whole.known = self.rows, self.known
        return whole


@dataclass(frozen=True, slots=True, eq=False)
class Points:
    """Where contact is looked for.

    Attributes:
        nodes: (m, k) nodes around each point.
        weights: (m, k) share of each in the point's displacement.
        layer: (m,) c, compliance right under the point.
    """

    nodes: Integers
    weights: Floats
    layer: Floats


def touch(
    compliance: Compliance,
    points: Points,
    gaps: Floats,
    normals: Floats,
    directions: Floats,
    first: Booleans,
) -> tuple[Floats, Floats]:
    """Return the contact forces.

    Args:
        compliance: C, between nodes.
        points: m points.
        gaps: (m,) g.
        normals: (m, 3) n.
        directions: (m, 3) d.
        first: (m,) points thought to touch, from the position before.

    Returns:
        (m,) forces lam, and (3 n,) displacements of the nodes.

    Raises:
        ArithmeticError: no set of touching points fits: friction locks the bodies.
    """
    active = first & (gaps < 0)
    if not active.any():
        active = gaps < 0
    force = np.zeros(len(gaps))
    moved = np.zeros(len(compliance.rows))
    store = np.zeros((len(gaps), 0))
    filled = np.zeros(len(gaps), dtype=np.bool_)
    for round_ in range(MOST_ROUNDS):
        index = np.flatnonzero(active)
        force[:] = 0.0
        if len(index):
            if not store.shape[1]:
                store = np.empty((len(gaps), len(compliance.rows)))
            new = index[~filled[index]]
            compliance.want(points.nodes[new])
            _answers(compliance.rows, points.nodes, points.weights, directions, new, store)
            filled[new] = True
            matrix = _between(points.nodes, points.weights, normals, index, store)
            matrix[np.diag_indices(len(index))] += points.layer[index]
            try:
                force[index] = np.linalg.solve(matrix, -gaps[index])
            except np.linalg.LinAlgError:
                raise ArithmeticError("friction locks the bodies") from None
        moved = _summed(store, force, index)
        through = _opened(points.nodes, points.weights, normals, gaps, moved)
        drop, take = active & (force < 0), ~active & (through < -TOUCHING)
        if not drop.any() and not take.any():
            return force, moved
        if round_ < MANY:
            active = (active & ~drop) | take
        elif drop.any():
            active[int(np.argmin(np.where(drop, force, np.inf)))] = False
        else:
            active[int(np.argmin(np.where(take, through, np.inf)))] = True
    raise ArithmeticError("no set of touching points fits")


@kernel
def _answers(
    rows: Floats, nodes: Integers, weights: Floats, directions: Floats, new: Integers, store: Floats
) -> None:
    """Fill (m, 3 n) rows with the displacement of every node under a unit force at each point."""
    for i in new:
        store[i] = 0.0
        for a in range(nodes.shape[1]):
            for c in range(3):
                share = weights[i, a] * directions[i, c]
                row = rows[3 * nodes[i, a] + c]
                for k in range(row.shape[0]):
                    store[i, k] += share * row[k]


@kernel
def _between(
    nodes: Integers, weights: Floats, normals: Floats, index: Integers, store: Floats
) -> Floats:
    """Return (k, k) how far point i opens under a unit force at point j."""
    count = len(index)
    matrix = np.empty((count, count))
    for b in range(count):
        answer = store[index[b]]
        for a in range(count):
            i = index[a]
            opened = 0.0
            for k in range(nodes.shape[1]):
                at = 3 * nodes[i, k]
                opened += weights[i, k] * (
                    normals[i, 0] * answer[at]
                    + normals[i, 1] * answer[at + 1]
                    + normals[i, 2] * answer[at + 2]
                )
            matrix[a, b] = opened
    return matrix


@kernel
def _summed(store: Floats, force: Floats, index: Integers) -> Floats:
    """Return (3 n,) displacement of every node under all forces."""
    moved = np.zeros(store.shape[1])
    for i in index:
        for k in range(store.shape[1]):
            moved[k] += force[i] * store[i, k]
    return moved


@kernel
def _opened(
    nodes: Integers, weights: Floats, normals: Floats, gaps: Floats, moved: Floats
) -> Floats:
    """Return (m,) the gap at every point with the nodes moved."""
    opened = gaps.copy()
    if moved.shape[0] == 0:
        return opened
    for i in range(gaps.shape[0]):
        for a in range(nodes.shape[1]):
            at = 3 * nodes[i, a]
            for c in range(3):
                opened[i] += weights[i, a] * normals[i, c] * moved[at + c]
    return opened
