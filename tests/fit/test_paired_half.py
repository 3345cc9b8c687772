"""A half that is a piece by itself, held by a row of eyelets on either side."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.fit.half import Half, half_sheath
from chape.fit.held import held_shell
from chape.fit.pull import draw_curve, pull_model
from chape.fit.shell_mesh import POISSON, mesh_half
from paired import PLAIN, paired_slender
from specimens import slender_knife

GAUGE, FLANGE, PITCH, SPAN, LENGTH = 2.0, 10.0, 10.0, 44.0, 160.0


def plate():
    """A level plate between two rows of eyelets whose flanges touch one another."""
    grid = Grid.over(-2.0, -SPAN / 2 - 10, LENGTH + 2.0, SPAN / 2 + 10, 1.0)
    x = np.arange(PITCH / 2, LENGTH, PITCH)
    return Half(
        formed=HeightField.flat(grid, 1.0),
        thickness=HeightField.flat(grid, GAUGE),
        axis=0.0,
        fold=None,
        outline=shapely.box(0.0, -SPAN / 2 - 6, LENGTH, SPAN / 2 + 6),
        eyelets=np.array([(at, side * SPAN / 2) for at in x for side in (-1, 1)]),
        mouth_x=LENGTH,
    )


def beam_on_its_flanges(load):
    """Deflection of a strip of the plate under a line load along its middle, for unit modulus.

    A beam whose ends lie on elastic foundations, the flanges (M. Hetenyi, Beams on Elastic
    Foundation): end deflection 2 P b / k + 2 M b^2 / k, end slope 2 P b^2 / k + 4 M b^3 / k, with
    k = 4 D b^4.
    """
    stiff = GAUGE**3 / 12 / (1 - POISSON**2)
    # Discs that touch cover pi / 4 of their strip.
    k = np.pi / 4 / GAUGE
    b = (k / 4 / stiff) ** 0.25
    free, shear = SPAN - FLANGE, load / 2
    moment = (load * free**2 / 16 / stiff - 2 * shear * b**2 / k) / (
        free / 2 / stiff + 4 * b**3 / k
    )
    ends = 2 * shear * b / k + 2 * moment * b**2 / k
    return ends + load * free**3 / 48 / stiff - moment * free**2 / 8 / stiff


def test_a_plate_between_two_rows_bends_as_a_beam_on_its_flanges():
    half = plate()
    x = np.linspace(0.2, LENGTH, 49)
    mesh = mesh_half(half, x, 28)
    shell = held_shell(half, mesh, FLANGE)
    count = mesh.v.shape[1]
    load = np.zeros((len(x), count, 6))
    middle = int(np.argmin(np.abs(mesh.v[0])))
    width = np.gradient(x)
    load[:, middle, 2] = width
    load[[0, -1], middle, 2] /= 2
    moved = shell.displacement(load.ravel()).reshape(len(x), count, 6)
    here = moved[len(x) // 2, middle, 2]
    assert here == pytest.approx(beam_on_its_flanges(1.0), rel=0.06)
    # Both rows carry alike, and the edges stay where they are.
    assert moved[..., 2] == pytest.approx(moved[:, ::-1, 2], abs=0.02 * here)
    assert np.abs(moved[len(x) // 2, [0, -1], 2]).max() < 0.05 * here


def test_the_mesh_runs_from_edge_to_edge():
    half = half_sheath(paired_slender())
    mesh = mesh_half(half, np.array([20.0, 60.0, 100.0]), 12)
    rim = half.outline.exterior
    for station, row in zip(mesh.x, mesh.v, strict=True):
        for v in (row[0], row[-1]):
            assert rim.distance(shapely.Point(station, v)) < 0.01
        assert (np.diff(row) > 0).all()


def test_a_knife_turned_upside_down_is_held_as_hard():
    sheath = paired_slender()
    knife = slender_knife(0.8)
    y_min, y_max = knife.outline.bounds[1], knife.outline.bounds[3]
    grid = knife.half.grid
    turned = replace(
        knife,
        half=HeightField(replace(grid, y0=-grid.bounds[3]), knife.half.z[::-1]),
        outline=affinity.scale(knife.outline, 1, -1, origin=(0, 0)),
        edge_band=affinity.scale(knife.edge_band, 1, -1, origin=(0, 0)),
    )
    assert turned.outline.bounds[1] == pytest.approx(-y_max)
    assert y_min < y_max
    other = paired_slender(turned)
    pulls = [draw_curve(pull_model(each, 4.0), PLAIN, 12).peak for each in (sheath, other)]
    assert pulls[0] > 1.0
    assert pulls[1] == pytest.approx(pulls[0], rel=0.05)
