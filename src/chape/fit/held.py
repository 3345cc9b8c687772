"""The half sheath on its supports, and the points of it that may touch the knife.

Held by: the folded edge, where the other half is its mirror image; the eyelets, of which a half by
itself has a row on either side, whose flanges clamp the sheet with the stiffness of the sheet
itself over their area, in z; and in the plane, so that the sheath does not slide off, by the two
outermost eyelets. Other eyelets hold nothing in the plane, where both halves move alike: held
there, a half by itself would pull twice as hard. It is not held across either but floats on its
knife; by its eyelets at one end of its rows it is kept from going along. All springs are in
proportion to the sheet's modulus, so that every displacement is too.

Left out: the flanges pressing on one another between the eyelets, the holes, the clip.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from chape.fit.shell_mesh import folded_at
from chape.solve.contact import Compliance, Points
from chape.solve.shell import HeldShell

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.fit.half import Half
    from chape.fit.shell_mesh import HalfMesh

    Booleans = npt.NDArray[np.bool_]
    Integers = npt.NDArray[np.int64]

#: A half by itself is kept from drifting across by this share of its eyelets' stiffness: a tenth
#: of it moves the demo's hold by less than 3 %, ten times as much by 5 %.
DRIFTS = 1e-4

#: Contact is looked for at points about this far apart, mm, however long the elements are.
APART = 0.5

#: A sheet pressed between a knife and nothing gives way by this many thicknesses per unit of
#: pressure over modulus, right under the pressure. An estimate: half the sheet's depth, pressed
#: by what falls from all to nothing, and as much again for the handle.
LAYER = 0.5

#: Every element is cut into this many parts each way where an eyelet's flange lies.
PARTS = 6


def held_shell(half: Half, mesh: HalfMesh, flange: float) -> HeldShell:
    """Return the half sheath on its supports.

    Args:
        half: where the eyelets are.
        mesh: the shell.
        flange: diameter of an eyelet's flange, mm.
    """
    return HeldShell(mesh.shell, *supports(half, mesh, flange))


def supports(half: Half, mesh: HalfMesh, flange: float) -> tuple[Floats, Booleans]:
    """Return (6 n,) springs to the ground, and (6 n,) freedoms that cannot move."""
    n, m = mesh.v.shape
    springs = np.zeros((n * m, 6))
    for eyelet, along, across in zip(half.eyelets, *_in_plane(half), strict=True):
        stiff = disc_areas(mesh, eyelet, flange / 2) / mesh.shell.thickness.mean()
        springs += stiff[:, None] * np.array([along, across, 1.0, 0.0, 0.0, 0.0])
    fixed = np.zeros((n, m, 6), dtype=np.bool_)
    fixed[folded_at(half, mesh.x), -1, 2:5] = True
    return springs.ravel(), fixed.ravel()


def _in_plane(half: Half) -> tuple[Floats, Floats]:
    """Return (n,) what share of its stiffness each eyelet holds the half with along and across."""
    x, v = half.eyelets.T
    if half.fold is not None:
        last = np.arange(len(x)) == len(x) - 1
        return last.astype(np.float64), (last | (np.arange(len(x)) == 0)).astype(np.float64)
    row = v > half.middle
    along = np.zeros(len(x))
    for each in (row, ~row):
        along[each] = x[each] == x[each].max(initial=-np.inf)
    return along, np.full(len(x), DRIFTS)


def disc_areas(mesh: HalfMesh, centre: Floats, radius: float) -> Floats:
    """Return (n m,) how much of a disc on the pattern each node carries, mm^2."""
    n, m = mesh.v.shape
    areas = np.zeros(n * m)
    x = np.repeat(mesh.x[:, None], m, axis=1)
    reach = np.hypot(x - centre[0], mesh.v - centre[1]) < radius + 8.0
    cells = np.argwhere(reach[:-1, :-1] | reach[1:, 1:])
    nodes, weights, where = parts_of(mesh, cells, PARTS)
    inside = np.hypot(where[:, 0] - centre[0], where[:, 1] - centre[1]) <= radius
    shares = weights[inside] * where[inside, 2:]
    np.add.at(areas, nodes[inside].ravel(), shares.ravel())
    # Whatever the mesh, an eyelet clamps the whole of its flange.
    total = areas.sum()
    return areas * (np.pi * radius**2 / total) if total else areas


def parts_of(mesh: HalfMesh, cells: Integers, parts: int) -> tuple[Integers, Floats, Floats]:
    """Cut cells into equal parts.

    Args:
        mesh: the half's mesh.
        cells: (k, 2) station and row of each cell's first node.
        parts: each way.

    Returns:
        (p, 4) nodes around each part, (p, 4) their weights at its middle, and (p, 3) x, v and
        flat area of each part.
    """
    m = mesh.v.shape[1]
    share = (np.arange(parts) + 0.5) / parts
    s, t = (each.ravel() for each in np.meshgrid(share, share, indexing="ij"))
    shape = np.stack([(1 - s) * (1 - t), s * (1 - t), s * t, (1 - s) * t], axis=-1)
    i, j = np.repeat(cells[:, 0], len(s)), np.repeat(cells[:, 1], len(s))
    weights = np.tile(shape, (len(cells), 1))
    nodes = np.stack([i * m + j, (i + 1) * m + j, (i + 1) * m + j + 1, i * m + j + 1], axis=-1)
    x = np.repeat(mesh.x[:, None], m, axis=1).ravel()[nodes]
    v = mesh.v.ravel()[nodes]
    width = 0.5 * (v[:, 3] - v[:, 0] + v[:, 2] - v[:, 1])
    area = (x[:, 1] - x[:, 0]) * width / parts**2
    middle = np.stack([(weights * x).sum(axis=1), (weights * v).sum(axis=1), area], axis=-1)
    return nodes.astype(np.int64), weights, middle


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Points of the inner surface that may touch the knife.

    Attributes:
        points: (p, 3) sheath frame, mm.
        area: (p,) of the surface each stands for, mm^2.
        nodes, weights: (p, 4) of the mesh around each.
        thickness: (p,) of the sheet, mm.
    """

    points: Floats
    area: Floats
    nodes: Integers
    weights: Floats
    thickness: Floats

    def only(self, kept: Booleans) -> Spots:
        """Return some of them."""
        return Spots(
            self.points[kept],
            self.area[kept],
            self.nodes[kept],
            self.weights[kept],
            self.thickness[kept],
        )


def spots_of(half: Half, mesh: HalfMesh, length: float) -> Spots:
    """Return points all over the inner surface but for the level flange.

    Args:
        half: the surface itself.
        mesh: its cells.
        length: of an element, mm: the longer, the more points each has.
    """
    raised = mesh.inner[..., 2] > 0.05
    cells = np.argwhere(raised[:-1, :-1] | raised[1:, :-1] | raised[:-1, 1:] | raised[1:, 1:])
    parts = max(1, ceil(length / APART - 0.01))
    nodes, weights, where = parts_of(mesh, cells, parts)
    corners = mesh.inner.reshape(-1, 3)[nodes[:: parts * parts]]
    normal = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    area = np.repeat(np.linalg.norm(normal, axis=1) / 2, parts * parts) / parts**2
    return Spots(
        points=half.inner(where[:, 0], where[:, 1]),
        area=area,
        nodes=nodes,
        weights=weights,
        thickness=half.gauge(where[:, 0], where[:, 1]),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Grip:
    """What of the half sheath may touch the knife, on its own small set of nodes.

    Attributes:
        spots: where contact is looked for; their nodes number the grip's own.
        nodes: (n,) the mesh's node of each.
        points: the same, with the compliance of the layer under each.
        compliance: between the grip's nodes.
    """

    spots: Spots
    nodes: Integers
    points: Points
    compliance: Compliance


def grip_of(shell: HeldShell, spots: Spots) -> Grip:
    """Return the grip of some spots, numbered by the mesh, on the shell's compliance."""
    nodes, own = np.unique(spots.nodes, return_inverse=True)
    own = own.reshape(spots.nodes.shape).astype(np.int64)
    freedoms = (6 * nodes[:, None] + np.arange(3)).ravel()

    def columns(wanted: Integers) -> Floats:
        loads = np.zeros((6 * len(shell.mesh.nodes), 3 * len(wanted)))
        loads[freedoms.reshape(-1, 3)[wanted].ravel(), np.arange(3 * len(wanted))] = 1.0
        return np.ascontiguousarray(shell.displacement(loads)[freedoms].T)

    layer = LAYER * spots.thickness / spots.area
    numbered = Spots(spots.points, spots.area, own, spots.weights, spots.thickness)
    return Grip(
        spots=numbered,
        nodes=nodes,
        points=Points(own, spots.weights, layer),
        compliance=Compliance(columns, len(nodes)),
    )
