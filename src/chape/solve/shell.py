"""Thin shells of flat triangles: stiffness, supports, strains.

Six freedoms per node: displacement (x, y, z), then rotation about the same axes. All for unit
modulus: displacements scale with 1/E.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from chape.kernels import kernel
from chape.solve.shell_element import (
    IN_PLANE,
    OUT,
    curvature_rows,
    element_stiffness,
    flat_corners,
    frame_of,
    slope_nodes,
    stretch_rows,
)

if TYPE_CHECKING:
    import numpy.typing as npt
    from scipy.sparse.linalg import SuperLU

    from chape.field.grid import Floats

    Integers = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class ShellMesh:
    """The middle surface of a shell.

    Attributes:
        nodes: (n, 3) positions, mm.
        triangles: (m, 3) corners, all turning the same way seen from outside.
        thickness: (m,) of each triangle, mm.
        poisson: Poisson's number.
    """

    nodes: Floats
    triangles: Integers
    thickness: Floats
    poisson: float


def stiffness(mesh: ShellMesh) -> sparse.csc_matrix[np.float64]:
    """Return the (6 n, 6 n) stiffness without supports, for unit modulus."""
    entries = _entries(mesh.nodes, mesh.triangles, mesh.thickness, mesh.poisson)
    freedoms = (6 * mesh.triangles[:, :, None] + np.arange(6)).reshape(-1, 18)
    rows = np.repeat(freedoms, 18, axis=1).astype(np.int32)
    columns = np.tile(freedoms, (1, 18)).astype(np.int32)
    size = 6 * len(mesh.nodes)
    matrix = sparse.coo_matrix((entries.ravel(), (rows.ravel(), columns.ravel())), (size, size))
    return matrix.tocsc()


class HeldShell:
    """A shell on its supports, factored once, answering any number of loads.

    Args:
        mesh: the shell.
        springs: (6 n,) spring from each freedom to the ground, for unit modulus.
        fixed: (6 n,) freedoms that cannot move.
        extra: (6 n, 6 n) further stiffness for unit modulus; None for none.
    """

    def __init__(
        self,
        mesh: ShellMesh,
        springs: Floats,
        fixed: npt.NDArray[np.bool_],
        extra: sparse.csc_matrix[np.float64] | None = None,
    ) -> None:
        self.mesh = mesh
        self.free = np.flatnonzero(~fixed)
        whole = stiffness(mesh) + sparse.diags_array(springs, format="csc")
        if extra is not None:
            whole = whole + extra
        self._matrix = whole.tocsc()[self.free][:, self.free]
        self._factor: SuperLU = splu(
            self._matrix.tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )

    def displacement(self, load: Floats) -> Floats:
        """Return displacements under loads (6 n,) or (6 n, k), the same shape, for unit modulus."""
        moved = np.zeros_like(load)
        moved[self.free] = self._factor.solve(np.ascontiguousarray(load[self.free]))
        return moved


def surface_strain(mesh: ShellMesh, displacement: Floats, wanted: npt.NDArray[np.bool_]) -> Floats:
    """Return (m,) the greatest principal strain, by size, on either face at each middle.

    Args:
        mesh: the shell.
        displacement: (6 n,) of its nodes, mm and radians.
        wanted: (m,) triangles asked for; the others get 0.
    """
    return _surface_strain(
        mesh.nodes, mesh.triangles, mesh.thickness, displacement.reshape(-1, 6), wanted
    )


def areas(mesh: ShellMesh) -> Floats:
    """Return (m,) the area of each triangle, mm^2."""
    a, b, c = (mesh.nodes[mesh.triangles[:, k]] for k in range(3))
    twice: Floats = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    return twice / 2


@kernel
def _corners(nodes: Floats, triangles: Integers, k: int) -> Floats:
    """Return (3, 3) the corners of one triangle."""
    corners = np.empty((3, 3))
    for i in range(3):
        for axis in range(3):
            corners[i, axis] = nodes[triangles[k, i], axis]
    return corners


@kernel
def _entries(nodes: Floats, triangles: Integers, thickness: Floats, poisson: float) -> Floats:
    entries = np.empty((triangles.shape[0], 18, 18))
    for k in range(triangles.shape[0]):
        one = element_stiffness(_corners(nodes, triangles, k), thickness[k], poisson)
        for i in range(18):
            for j in range(18):
                entries[k, i, j] = one[i, j]
    return entries


@kernel
def _surface_strain(
    nodes: Floats,
    triangles: Integers,
    thickness: Floats,
    displacement: Floats,
    wanted: npt.NDArray[np.bool_],
) -> Floats:
    result = np.zeros(triangles.shape[0])
    for k in range(triangles.shape[0]):
        if not wanted[k]:
            continue
        corners = _corners(nodes, triangles, k)
        axes = frame_of(corners)
        flat = flat_corners(corners, axes)
        moved = np.zeros((3, 6))
        for i in range(3):
            for axis in range(3):
                for c in range(3):
                    moved[i, axis] += axes[axis, c] * displacement[triangles[k, i], c]
                    moved[i, axis + 3] += axes[axis, c] * displacement[triangles[k, i], c + 3]
        stretching, bending = (
            stretch_rows(flat),
            curvature_rows(flat, slope_nodes(flat), 1 / 3, 1 / 3),
        )
        stretch, bend = np.zeros(3), np.zeros(3)
        for row in range(3):
            for i in range(3):
                for c in range(3):
                    stretch[row] += stretching[row, 3 * i + c] * moved[i, IN_PLANE[c]]
                    bend[row] += bending[row, 3 * i + c] * moved[i, OUT[c]]
        for face in (-0.5, 0.5):
            away = face * thickness[k]
            ex, ey = stretch[0] + away * bend[0], stretch[1] + away * bend[1]
            g = stretch[2] + away * bend[2]
            mean, radius = 0.5 * (ex + ey), np.sqrt(0.25 * (ex - ey) ** 2 + 0.25 * g * g)
            result[k] = max(result[k], abs(mean) + radius)
    return result
