"""The shell element by itself."""

from __future__ import annotations

import numpy as np
import pytest

from chape.solve.shell import HeldShell, areas, stiffness, surface_strain
from chape.solve.shell_element import element_stiffness
from shells import Patch

CORNERS = np.array([[0.2, 0.1, 0.3], [1.4, 0.3, -0.2], [0.5, 1.2, 0.6]])


def test_an_element_moved_or_turned_as_a_whole_holds_no_force():
    matrix = element_stiffness(CORNERS, 0.1, 0.3)
    assert np.abs(matrix - matrix.T).max() < 1e-14
    for axis in np.eye(3):
        shift, turn = np.zeros((3, 6)), np.zeros((3, 6))
        shift[:, :3] = axis
        turn[:, :3] = np.cross(axis, CORNERS)
        turn[:, 3:] = axis
        assert np.abs(matrix @ shift.ravel()).max() < 1e-12
        assert np.abs(matrix @ turn.ravel()).max() < 1e-12
    stiff = np.linalg.eigvalsh(matrix)
    assert (stiff[6:] > 1e-9).all(), "nothing else is free"


def flat(s, r):
    return np.column_stack([3 * s, 2 * r, 0 * s])


@pytest.mark.parametrize("bend", [0.0, 0.2])
def test_a_patch_stretched_evenly_is_strained_evenly(bend):
    """Tension along x: ex = 1, ey = -nu everywhere, whatever the mesh."""
    nu = 0.3
    patch = Patch(4, flat, 0.1, nu, bend)
    x, y, _ = patch.mesh.nodes.T
    moved = np.zeros((len(x), 6))
    moved[:, 0], moved[:, 1] = x, -nu * y
    force = (stiffness(patch.mesh) @ moved.ravel()).reshape(-1, 6)
    inner = (patch.s > 0) & (patch.s < 1) & (patch.r > 0) & (patch.r < 1)
    assert np.abs(force[inner]).max() < 1e-12
    assert force[patch.s == 1, 0].sum() == pytest.approx(0.1 * 2.0)
    assert surface_strain(patch.mesh, moved.ravel(), patch_all(patch)) == pytest.approx(1.0)


@pytest.mark.parametrize("bend", [0.0, 0.2])
def test_a_patch_bent_evenly_is_curved_evenly(bend):
    """w = (x^2 - nu y^2) / 2: no force inside, and t / 2 of strain at the face."""
    nu, thickness = 0.3, 0.1
    patch = Patch(4, flat, thickness, nu, bend)
    x, y, _ = patch.mesh.nodes.T
    moved = np.zeros((len(x), 6))
    moved[:, 2] = (x**2 - nu * y**2) / 2
    moved[:, 3], moved[:, 4] = -nu * y, -x
    force = (stiffness(patch.mesh) @ moved.ravel()).reshape(-1, 6)
    inner = (patch.s > 0) & (patch.s < 1) & (patch.r > 0) & (patch.r < 1)
    assert np.abs(force[inner]).max() < 1e-12
    strain = surface_strain(patch.mesh, moved.ravel(), patch_all(patch))
    assert strain == pytest.approx(thickness / 2)


def patch_all(patch):
    return np.ones(len(patch.mesh.triangles), dtype=bool)


def test_areas_add_up():
    assert areas(Patch(4, flat, 0.1, 0.3, 0.2).mesh).sum() == pytest.approx(6.0)


def test_loads_and_answers_are_reciprocal():
    patch = Patch(6, lambda s, r: np.column_stack([s, r, 0.3 * s * s]), 0.05, 0.3)
    patch.hold(patch.s == 0, "xyzabc")
    held = HeldShell(patch.mesh, np.zeros(patch.fixed.size), patch.fixed.ravel())
    one, other = 6 * 20 + 2, 6 * 40 + 1
    loads = np.zeros((patch.fixed.size, 2))
    loads[one, 0] = loads[other, 1] = 1.0
    answers = held.displacement(loads)
    assert answers[other, 0] == pytest.approx(answers[one, 1], rel=1e-9)
    assert held.displacement(loads[:, 0]) == pytest.approx(answers[:, 0])
