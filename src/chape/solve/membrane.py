"""A rubber-like sheet of triangles, stretched by pressure over a height field it sticks to.

Symbols: μ shear modulus, t0 gauge, F deformation gradient of a triangle, C = FᵀF, λ1 ≥ λ2
stretches.

The sheet is an incompressible neo-Hookean membrane in plane stress: S = μ (I − C⁻¹/det C), so that
its thickness is t0/(λ1 λ2) and no material is lost (Ogden, Non-linear Elastic Deformations; Adkins
& Rivlin 1952). Forces are given per μ t0, pressures too (1/mm), so that only their ratio counts.
Nodes move under damped explicit steps; the mass is chosen so that a step of one unit is stable.
Where a node meets the field it stays, at the point where its step crosses the field: hot sheet on a
cold mould does not slide.

Not modelled: bending, sag, cooling while it is drawn, sliding, flow.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

Indices = npt.NDArray[np.int32]
Flags = npt.NDArray[np.bool_]

#: Node mass that makes a unit step stable: the stiffest mode of a right-angled grid of triangles is
#: below 32 μ t0, and a central-difference step is stable while m >= k/4.
MASS = 8.0

#: Share of its speed a node keeps from step to step, and how far it may go in one, in mm.
KEPT, LONGEST_STEP = 0.94, 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Membrane:
    """A sheet at rest.

    Attributes:
        rest: (n, 3) nodes, flat in z, mm.
        triangles: (m, 3) int32, counter-clockwise from above.
        inverse: (m, 4) inverse of each triangle's edges at rest, row by row.
        area: (m,) at rest, mm².
    """

    rest: Floats
    triangles: Indices
    inverse: Floats
    area: Floats

    @classmethod
    def of(cls, rest: Floats, triangles: Indices) -> Membrane:
        """Return the membrane of flat nodes (n, 3) and their triangles (m, 3)."""
        a, b, c = (rest[triangles[:, n], :2] for n in range(3))
        d1, d2 = b - a, c - a
        twice = d1[:, 0] * d2[:, 1] - d1[:, 1] * d2[:, 0]
        inverse = np.column_stack([d2[:, 1], -d2[:, 0], -d1[:, 1], d1[:, 0]]) / twice[:, None]
        return cls(rest, triangles, inverse, twice / 2)


def stretches(membrane: Membrane, nodes: Floats) -> tuple[Floats, Floats]:
    """Return the larger and the smaller stretch (m,) of every triangle."""
    a, b, c = (nodes[membrane.triangles[:, n]] for n in range(3))
    e1, e2, inv = b - a, c - a, membrane.inverse
    f1 = e1 * inv[:, 0:1] + e2 * inv[:, 2:3]
    f2 = e1 * inv[:, 1:2] + e2 * inv[:, 3:4]
    c11, c12, c22 = (f1 * f1).sum(1), (f1 * f2).sum(1), (f2 * f2).sum(1)
    half, root = (c11 + c22) / 2, np.sqrt(((c11 - c22) / 2) ** 2 + c12**2)
    return np.sqrt(half + root), np.sqrt(np.maximum(half - root, 0.0))


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """A sheet while it is drawn; its arrays change.

    Attributes:
        nodes: (n, 3) where they are, mm.
        speed: (n, 3) mm a step.
        held: (n,) whether the frame or the field holds them.
    """

    nodes: Floats
    speed: Floats
    held: Flags

    @classmethod
    def at_rest(cls, membrane: Membrane, fixed: Flags, height: float = 0.0) -> Drawn:
        """Return the sheet before anything pulls, ``height`` mm up, held where it is ``fixed``."""
        nodes = membrane.rest + np.array([0.0, 0.0, height])
        return cls(nodes, np.zeros_like(nodes), fixed.copy())


def press(
    membrane: Membrane,
    drawn: Drawn,
    field: HeightField,
    pressure: tuple[float, float],
    steps: int,
    *,
    plane: bool = False,
) -> None:
    """Move the nodes that are not held for some steps; hold those that meet the field.

    The pressure rises step by step: a jump would let nodes meet the field before the sheet's
    pull has evened out, and stick there.

    Args:
        membrane: at rest.
        drawn: where it is; changed.
        field: what it may meet.
        pressure: from above before and after, over μ t0, 1/mm.
        steps: how many.
        plane: nodes keep their y, as in a long trough.
    """
    grid = field.grid
    _settle(
        (drawn.nodes, drawn.speed, drawn.held),
        (membrane.triangles, membrane.inverse, membrane.area),
        (field.z, (grid.x0, grid.y0, grid.spacing)),
        pressure,
        steps,
        0.0 if plane else 1.0,
    )


@kernel
def _settle(
    drawn: tuple[Floats, Floats, Flags],
    sheet: tuple[Indices, Floats, Floats],
    surface: tuple[Floats, tuple[float, float, float]],
    pressure: tuple[float, float],
    steps: int,
    sideways: float,
) -> None:
    nodes, speed, held = drawn
    triangles, inverse, area = sheet
    field, corner = surface
    live = np.empty(len(triangles), np.int32)
    count = 0
    for m in range(len(triangles)):
        if not (held[triangles[m, 0]] and held[triangles[m, 1]] and held[triangles[m, 2]]):
            live[count] = m
            count += 1
    force = np.zeros_like(nodes)
    for step in range(steps):
        pressing = pressure[0] + (pressure[1] - pressure[0]) * (step + 1) / steps
        force[:] = 0.0
        for index in range(count):
            m = live[index]
            _pull(nodes, force, m, triangles, inverse, area, pressing)
        for n in range(len(nodes)):
            if not held[n]:
                speed[n, 1] *= sideways
                force[n, 1] *= sideways
                _move(nodes[n], speed[n], force[n])
                held[n] = _meets(nodes[n], speed[n], field, corner)


@inner_kernel
def _pull(
    nodes: Floats,
    force: Floats,
    m: int,
    triangles: Indices,
    inverse: Floats,
    area: Floats,
    pressure: float,
) -> None:
    """Add a triangle's forces on its corners: of its stretch, and of the pressure on it."""
    a, b, c = triangles[m, 0], triangles[m, 1], triangles[m, 2]
    e1x, e1y, e1z = (
        nodes[b, 0] - nodes[a, 0],
        nodes[b, 1] - nodes[a, 1],
        nodes[b, 2] - nodes[a, 2],
    )
    e2x, e2y, e2z = (
        nodes[c, 0] - nodes[a, 0],
        nodes[c, 1] - nodes[a, 1],
        nodes[c, 2] - nodes[a, 2],
    )
    i11, i12, i21, i22 = inverse[m, 0], inverse[m, 1], inverse[m, 2], inverse[m, 3]
    f11, f12 = e1x * i11 + e2x * i21, e1x * i12 + e2x * i22
    f21, f22 = e1y * i11 + e2y * i21, e1y * i12 + e2y * i22
    f31, f32 = e1z * i11 + e2z * i21, e1z * i12 + e2z * i22
    c11 = f11 * f11 + f21 * f21 + f31 * f31
    c12 = f11 * f12 + f21 * f22 + f31 * f32
    c22 = f12 * f12 + f22 * f22 + f32 * f32
    det = max(c11 * c22 - c12 * c12, 1e-9)
    squared = det * det
    s11, s12, s22 = 1 - c22 / squared, c12 / squared, 1 - c11 / squared
    # First Piola stress P = F S; the corners b and c take the columns of -area P inv^T.
    t11, t12 = s11 * i11 + s12 * i12, s11 * i21 + s12 * i22
    t21, t22 = s12 * i11 + s22 * i12, s12 * i21 + s22 * i22
    bx, cx = -area[m] * (f11 * t11 + f12 * t21), -area[m] * (f11 * t12 + f12 * t22)
    by, cy = -area[m] * (f21 * t11 + f22 * t21), -area[m] * (f21 * t12 + f22 * t22)
    bz, cz = -area[m] * (f31 * t11 + f32 * t21), -area[m] * (f31 * t12 + f32 * t22)
    third = -pressure / 6
    px = third * (e1y * e2z - e1z * e2y)
    py = third * (e1z * e2x - e1x * e2z)
    pz = third * (e1x * e2y - e1y * e2x)
    force[a, 0] += px - bx - cx
    force[a, 1] += py - by - cy
    force[a, 2] += pz - bz - cz
    force[b, 0] += px + bx
    force[b, 1] += py + by
    force[b, 2] += pz + bz
    force[c, 0] += px + cx
    force[c, 1] += py + cy
    force[c, 2] += pz + cz


@inner_kernel
def _move(node: Floats, speed: Floats, force: Floats) -> None:
    """Step one node."""
    for axis in range(3):
        speed[axis] = KEPT * (speed[axis] + force[axis] / MASS)
    size = np.sqrt(speed[0] ** 2 + speed[1] ** 2 + speed[2] ** 2)
    if size > LONGEST_STEP:
        for axis in range(3):
            speed[axis] *= LONGEST_STEP / size
    for axis in range(3):
        node[axis] += speed[axis]


@inner_kernel
def _meets(node: Floats, speed: Floats, field: Floats, corner: tuple[float, float, float]) -> bool:
    """Stop a node where its last step crossed the field; say whether it did."""
    after = node[2] - _height(field, corner, node[0], node[1])
    if after > 0:
        return False
    x, y, z = node[0] - speed[0], node[1] - speed[1], node[2] - speed[2]
    before = max(z - _height(field, corner, x, y), 0.0)
    share = before / (before - after) if before > after else 0.0
    node[0] = x + share * speed[0]
    node[1] = y + share * speed[1]
    node[2] = _height(field, corner, node[0], node[1])
    speed[:] = 0.0
    return True


@inner_kernel
def _height(field: Floats, corner: tuple[float, float, float], x: float, y: float) -> float:
    """Return the field's two-triangle surface at a point; its rim goes on outside."""
    ny, nx = field.shape
    u = min(max((x - corner[0]) / corner[2], 0.0), nx - 1.0)
    v = min(max((y - corner[1]) / corner[2], 0.0), ny - 1.0)
    i, j = min(int(u), nx - 2), min(int(v), ny - 2)
    p, q = u - i, v - j
    z00, z11 = field[j, i], field[j + 1, i + 1]
    if p >= q:
        return float(z00 + p * (field[j, i + 1] - z00) + q * (z11 - field[j, i + 1]))
    return float(z00 + q * (field[j + 1, i] - z00) + p * (z11 - field[j + 1, i]))
