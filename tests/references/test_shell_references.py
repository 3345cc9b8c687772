"""Plates and shells with known answers; nu = 0.3 unless said, D = E t^3 / 12 (1 - nu^2).

Thin-shell values are used where they differ from the customary ones: 0.3006 for the roof
(customary 0.3024), 0.09352 for the hemisphere with a hole (printed 0.0940).
"""

from __future__ import annotations

import numpy as np
import pytest

from shells import Patch, hemisphere, pinched_cylinder, quarter_disc, quarter_plate, roof

SIDE, RIGIDITY = 100.0, 1 / (12 * (1 - 0.3**2))


def middle_of_plate(count, *, clamped, point_load=False):
    plate = quarter_plate(count, clamped, SIDE)
    if point_load:
        plate.load[0, 2] = 0.25
        return plate.displacement(1.0)[0, 2] * RIGIDITY / SIDE**2
    plate.spread(2, 1.0)
    return plate.displacement(1.0)[0, 2] * RIGIDITY / SIDE**4


@pytest.mark.parametrize(
    ("clamped", "point_load", "wanted"),
    [
        # Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959:
        (False, False, 0.0040624),  # sec. 30, Table 8 (series, recomputed)
        (False, True, 0.0116008),  # sec. 34, Table 23 (series, recomputed)
        (True, False, 0.00126532),  # sec. 44, Table 35 (recomputed)
        (True, True, 0.00561),  # sec. 45 (Ritz, extrapolated)
    ],
)
def test_square_plates(clamped, point_load, wanted):
    found = middle_of_plate(24, clamped=clamped, point_load=point_load)
    assert found == pytest.approx(wanted, rel=0.005)


@pytest.mark.parametrize(
    ("clamped", "point_load", "wanted"),
    [
        # The same, secs. 16-19: q a^4 / 64 D, P a^2 / 16 pi D, and simply supported.
        (True, False, 1 / 64),
        (True, True, 1 / (16 * np.pi)),
        (False, False, 0.0637019),
        (False, True, 0.0505011),
    ],
)
def test_round_plates(clamped, point_load, wanted):
    radius = 50.0
    disc = quarter_disc(24, clamped, radius)
    if point_load:
        disc.load[0, 2] = 0.25
        found = disc.displacement(1.0)[0, 2] * RIGIDITY / radius**2
    else:
        disc.spread(2, 1.0)
        found = disc.displacement(1.0)[0, 2] * RIGIDITY / radius**4
    assert found == pytest.approx(wanted, rel=0.003)


def test_a_clamped_plate_in_figures():
    """A plate of 1 m, 20 mm thick, 200 GPa, under 100 kPa sinks by 0.863 mm."""
    plate = quarter_plate(24, clamped=True, side=1.0, thickness=0.02)
    plate.spread(2, 1e5)
    assert plate.displacement(200e9)[0, 2] == pytest.approx(0.863e-3, rel=0.005)


def test_plates_converge_with_the_square_of_the_element():
    exact = 0.0040623527
    errors = [abs(middle_of_plate(n, clamped=False) / exact - 1) for n in (6, 12, 24)]
    rates = np.log2(np.array(errors[:-1]) / errors[1:])
    assert (rates > 1.8).all()


def test_bent_meshes_give_the_same_plate():
    """Nodes moved by a tenth of an element cost less than a hundredth."""

    def place(s, r):
        return np.column_stack([s * SIDE / 2, r * SIDE / 2, 0 * s])

    plate = Patch(16, place, 1.0, 0.3, bend=0.1)
    plate.hold(plate.s == 0, "xb")
    plate.hold(plate.r == 0, "ya")
    plate.hold((plate.s == 1) | (plate.r == 1), "z")
    plate.spread(2, 1.0)
    found = plate.displacement(1.0)[0, 2] * RIGIDITY / SIDE**4
    assert found == pytest.approx(0.0040624, rel=0.01)


def edge_of_roof(count):
    shell = roof(count)
    edge = (shell.s == 1) & (shell.r == 0)
    return -float(shell.displacement(4.32e8)[edge, 2][0])


def test_the_scordelis_lo_roof():
    """Thin-shell series 0.30060; Scordelis and Lo, ACI J. 61 (1964) 539; MacNeal and Harder 1985.

    Mid-point of the free edge, load 90 per area, on rigid diaphragms.
    """
    coarse, fine = edge_of_roof(12), edge_of_roof(24)
    assert fine == pytest.approx(0.30060, rel=0.005)
    assert abs(fine - 0.30060) < 0.4 * abs(coarse - 0.30060)


def test_the_pinched_cylinder():
    """Double Fourier series 1.8277e-5; Lindberg, Olson and Cowper 1969 print 1.8248e-5."""
    shell = pinched_cylinder(32)
    load = (shell.s == 0) & (shell.r == 0)
    assert -shell.displacement(3e6)[load, 2][0] == pytest.approx(1.8277e-5, rel=0.005)


@pytest.mark.parametrize(
    ("hole", "count", "wanted", "near"),
    [
        # Fourier-Legendre Ritz; MacNeal and Harder 1985 print 0.0940.
        (18.0, 40, 0.09352, 0.005),
        # Morley and Morris 1978, Belytschko et al. 1985; a hole of 1 degree stands for none.
        (1.0, 40, 0.0924, 0.005),
    ],
)
def test_hemispheres(hole, count, wanted, near):
    shell = hemisphere(count, hole)
    load = (shell.s == 0) & (shell.r == 0)
    assert shell.displacement(6.825e7)[load, 0][0] == pytest.approx(wanted, rel=near)


def strip(length, width, thickness, poisson, count=24):
    """A strip clamped at x = 0; thickness from root to tip."""

    def place(s, r):
        return np.column_stack([s * length, r * width, 0 * s])

    shell = Patch(count, place, thickness[0], poisson)
    x = shell.mesh.nodes[shell.mesh.triangles].mean(axis=1)[:, 0] / length
    shell.mesh.thickness[:] = thickness[0] + (thickness[1] - thickness[0]) * x
    shell.hold(shell.s == 0, "xyzabc")
    rim = np.flatnonzero(shell.s == 1)
    share = np.full(len(rim), 1.0)
    share[[0, -1]] = 0.5
    shell.load[rim, 2] = share / share.sum()
    return shell


def test_a_cantilever_gives_way_as_a_beam():
    """L 20, b 10, h 2, E 2200, y 1: P = 3 E I y / L^3 = 5.500 N (beam theory)."""
    shell = strip(20.0, 10.0, (2.0, 2.0), 0.0)
    tip = shell.displacement(2200.0)[shell.s == 1, 2].mean()
    assert 1 / tip == pytest.approx(5.500, rel=0.002)


def test_a_very_wide_cantilever_gives_way_as_a_plate():
    """With E / (1 - nu^2) in place of E: 0.91 of the beam's sag for nu = 0.3."""
    shell = strip(1.0, 40.0, (0.05, 0.05), 0.3)
    middle = (shell.s == 1) & (np.abs(shell.r - 0.5) < 1e-9)
    sag = shell.displacement(1.0)[middle, 2][0] * 40.0 * 0.05**3 / 4
    assert sag == pytest.approx(0.91, rel=0.01)


@pytest.mark.parametrize(
    ("root", "tip", "wanted"),
    [
        # A polymer maker's snap-fit guide, calculation example 1 (inputs from memory): L 19,
        # b 9.5, undercut 2.4 mm, E 1815 MPa. Tapered to half, then of one thickness.
        (3.2791, 1.63955, 32.526),
        (2.0156, 2.0156, 12.289),
    ],
)
def test_snap_hooks_of_a_design_guide(root, tip, wanted):
    shell = strip(19.0, 9.5, (root, tip), 0.0, count=32)
    sag = shell.displacement(1815.0)[shell.s == 1, 2].mean()
    assert 2.4 / sag == pytest.approx(wanted, rel=0.01)
