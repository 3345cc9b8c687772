"""Meshes of shells with known answers, on a square of parameters, and their loads and supports."""

from __future__ import annotations

import numpy as np

from chape.solve.shell import HeldShell, ShellMesh, areas


class Patch:
    """A shell over the unit square (s, r), its supports and its load.

    Args:
        count: elements each way.
        place: (n,), (n,) -> (n, 3) positions.
        thickness, poisson: of the shell.
        bend: 0..1, how far inner nodes are moved off the regular grid.
    """

    def __init__(self, count, place, thickness, poisson, bend=0.0):
        share = np.linspace(0.0, 1.0, count + 1)
        s, r = (each.ravel() for each in np.meshgrid(share, share, indexing="ij"))
        self.s, self.r = s, r
        shift = bend / count * np.sin(2 * np.pi * s) * np.sin(2 * np.pi * r)
        i, j = (e.ravel() for e in np.meshgrid(range(count), range(count), indexing="ij"))
        a = i * (count + 1) + j
        b, c, d = a + count + 1, a + count + 2, a + 1
        even = ((i + j) % 2 == 0)[:, None]
        one = np.where(even, np.column_stack([a, b, c]), np.column_stack([a, b, d]))
        other = np.where(even, np.column_stack([a, c, d]), np.column_stack([b, c, d]))
        triangles = np.vstack([one, other]).astype(np.int64)
        nodes = place(s + shift, r + shift)
        self.mesh = ShellMesh(nodes, triangles, np.full(len(triangles), thickness), poisson)
        self.fixed = np.zeros((len(s), 6), dtype=bool)
        self.load = np.zeros((len(s), 6))

    def hold(self, where, freedoms):
        """Fix freedoms (letters of "xyzabc": displacements, then rotations) of some nodes."""
        self.fixed[np.ix_(where, ["xyzabc".index(letter) for letter in freedoms])] = True

    def spread(self, freedom, pressure):
        """Load every node along an axis by its share of the surface."""
        shares = np.zeros(len(self.s))
        np.add.at(shares, self.mesh.triangles.ravel(), np.repeat(areas(self.mesh) / 3, 3))
        self.load[:, freedom] += pressure * shares

    def displacement(self, modulus):
        """Return (n, 6) displacements and rotations."""
        held = HeldShell(self.mesh, np.zeros(self.fixed.size), self.fixed.ravel())
        return held.displacement(self.load.ravel()).reshape(-1, 6) / modulus


def quarter_plate(count, clamped, side=100.0, thickness=1.0, poisson=0.3):
    """A quarter of a square plate, its middle at s = r = 0."""

    def place(s, r):
        return np.column_stack([s * side / 2, r * side / 2, 0 * s])

    plate = Patch(count, place, thickness, poisson)
    plate.hold(plate.s == 0, "xb")
    plate.hold(plate.r == 0, "ya")
    rim = (plate.s == 1) | (plate.r == 1)
    plate.hold(rim, "zab" if clamped else "z")
    return plate


def quarter_disc(count, clamped, radius=50.0, thickness=1.0, poisson=0.3):
    """A quarter of a round plate: a square mapped on the disc, its middle at s = r = 0."""

    def place(s, r):
        return radius * np.column_stack(
            [s * np.sqrt(1 - r**2 / 2), r * np.sqrt(1 - s**2 / 2), 0 * s]
        )

    plate = Patch(count, place, thickness, poisson)
    plate.hold(plate.s == 0, "xb")
    plate.hold(plate.r == 0, "ya")
    rim = (plate.s == 1) | (plate.r == 1)
    plate.hold(rim, "zab" if clamped else "z")
    return plate


def roof(count):
    """A quarter of the Scordelis-Lo roof; the middle of its free edge is at s = 1, r = 0."""
    angle = np.radians(40)

    def place(s, r):
        return np.column_stack([25 * np.sin(s * angle), r * 25.0, 25 * np.cos(s * angle)])

    shell = Patch(count, place, 0.25, 0.0)
    shell.hold(shell.s == 0, "xbc")
    shell.hold(shell.r == 0, "yac")
    shell.hold(shell.r == 1, "xzb")
    shell.spread(2, -90.0)
    return shell


def pinched_cylinder(count):
    """An eighth of a cylinder with end diaphragms; loaded at s = r = 0."""

    def place(s, r):
        turn = s * np.pi / 2
        return np.column_stack([300 * np.sin(turn), 300.0 * r, 300 * np.cos(turn)])

    shell = Patch(count, place, 3.0, 0.3)
    shell.hold(shell.s == 0, "xbc")
    shell.hold(shell.s == 1, "zab")
    shell.hold(shell.r == 0, "yac")
    shell.hold(shell.r == 1, "xzb")
    shell.load[(shell.s == 0) & (shell.r == 0), 2] = -0.25
    return shell


def hemisphere(count, hole):
    """A quarter of a hemisphere from its equator to a hole (degrees); loaded at s = 0, 1; r = 0."""
    top = np.pi / 2 - np.radians(hole)

    def place(s, r):
        up, turn = r * top, s * np.pi / 2
        return 10 * np.column_stack(
            [np.cos(up) * np.cos(turn), np.cos(up) * np.sin(turn), np.sin(up)]
        )

    shell = Patch(count, place, 0.04, 0.3)
    shell.hold(shell.s == 0, "yac")
    shell.hold(shell.s == 1, "xbc")
    shell.fixed[0, 2] = True
    shell.load[(shell.s == 0) & (shell.r == 0), 0] = 1.0
    shell.load[(shell.s == 1) & (shell.r == 0), 1] = -1.0
    return shell
