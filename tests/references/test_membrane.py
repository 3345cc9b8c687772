"""The stretched sheet against closed forms and tables."""

from itertools import pairwise

import numpy as np
import pytest
from scipy.spatial import Delaunay

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.forming.draping import blank_sheet
from chape.solve.membrane import Drawn, Membrane, press, stretches

DEEP = HeightField.flat(Grid(-100.0, -100.0, 200.0, 2, 2), -1000.0)


def disc(rings, radius=10.0):
    """Return a flat round sheet of triangles, and which of its nodes lie on the rim."""
    points = [(0.0, 0.0)]
    for ring in range(1, rings + 1):
        angles = 2 * np.pi * np.arange(6 * ring) / (6 * ring)
        points += list(np.column_stack([np.cos(angles), np.sin(angles)]) * ring / rings)
    flat = np.array(points) * radius
    triangles = Delaunay(flat).simplices
    a, b, c = (flat[triangles[:, n]] for n in range(3))
    turn = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    triangles = np.where(turn[:, None] > 0, triangles, triangles[:, ::-1])[np.abs(turn) > 1e-9]
    rest = np.column_stack([flat, np.zeros(len(flat))])
    return Membrane.of(rest, triangles.astype(np.int32)), np.hypot(*flat.T) > radius - 1e-6


def inflated_disc(rings, pressure):
    """Return height and thickness at the pole of a disc of radius 10, blown downwards."""
    sheet, rim = disc(rings)
    drawn = Drawn.at_rest(sheet, rim)
    rises = np.linspace(0.0, pressure / 10.0, 21)
    for rise in pairwise(rises):
        press(sheet, drawn, DEEP, rise, 300)
    press(sheet, drawn, DEEP, (rises[-1], rises[-1]), 2000)
    nodes = drawn.nodes
    larger, smaller = stretches(sheet, nodes)
    middles = sheet.rest[sheet.triangles][:, :, :2].mean(axis=1)
    pole = np.hypot(*middles.T) < 10.0 / rings
    return -nodes[:, 2].min() / 10.0, float((1 / (larger * smaller))[pole].mean())


@pytest.mark.parametrize(
    ("pressure", "height", "kept"),
    [(0.23494, 0.27409, 0.90703), (0.99925, 0.53098, 0.69444), (1.30987, 0.63796, 0.59172)],
)
def test_neo_hookean_disc_blown_up(pressure, height, kept):
    """Adkins & Rivlin, Phil. Trans. R. Soc. A 244 (1952) 505; table by shooting, recomputed.

    A uniform cap of the same height would keep 0.930, 0.780, 0.711: the sheet is no uniform cap.
    """
    found = inflated_disc(20, pressure)
    assert found[0] == pytest.approx(height, rel=0.006)
    assert found[1] == pytest.approx(kept, rel=0.012)


def wedge_trough(angle, spacing, slowness):
    """Return rms deviation from the closed form on the walls of a trough of half-width 20 mm."""
    slope = np.radians(angle)
    depth = 20.0 * np.tan(slope)
    grid = Grid.over(-26.0, 0.0, 26.0, 4.0, 0.1)
    trough = HeightField.of(grid, lambda x, _: -np.maximum(0.0, 20.0 - np.abs(x)) * np.tan(slope))
    sheet, _ = blank_sheet(grid, 0.0, spacing)
    fixed = np.abs(sheet.rest[:, 0]) >= 20.0 - 1e-9
    drawn = Drawn.at_rest(sheet, fixed)
    for rise in pairwise(10.0 * np.linspace(0.0, 1.0, 61) ** 2):
        press(sheet, drawn, trough, rise, 100 * slowness, plane=True)
    nodes, held = drawn.nodes, drawn.held
    larger, smaller = stretches(sheet, nodes)
    share = -nodes[sheet.triangles].mean(axis=1)[:, 2] / depth
    down = held[sheet.triangles].all(axis=1) & (share > 0.02) & (share < 0.85)
    exact = np.sin(slope) / slope * (1 - share[down]) ** (np.tan(slope) / slope - 1)
    return float(np.sqrt(np.mean((1 / (larger * smaller)[down] / exact - 1) ** 2)))


@pytest.mark.parametrize("angle", [45, 60])
def test_wedge_trough_that_the_sheet_sticks_to(angle):
    """h/h0 = (sin a/a) (1 - x)^(tan a/a - 1): the plane case of J. G. Williams, J. Strain Analysis
    5 (1970) 49; derivation recomputed. The wanted accuracy is 1 % at nodes of 1 mm.
    """
    assert wedge_trough(angle, 1.0, 20) < 0.01


def test_finer_nodes_and_a_slower_press_come_closer():
    coarse = wedge_trough(60, 2.0, 10)
    assert wedge_trough(60, 1.0, 10) < coarse
    assert wedge_trough(60, 1.0, 10) < wedge_trough(60, 1.0, 2)


@pytest.mark.parametrize("angle", [30, 45])
def test_cone_that_the_sheet_sticks_to(angle):
    """h/h0 = (1 + cos a)/2 (1 - x)^(sec a - 1): J. G. Williams, J. Strain Analysis 5 (1970) 49.

    The free part is taken as a uniform cap there; a rubber sheet is thinner at its pole than at
    its rim (see the disc above), so that the two agree within some per cent only.
    """
    slope = np.radians(angle)
    depth = 20.0 * np.tan(slope)
    grid = Grid.over(-22.0, -22.0, 22.0, 22.0, 0.2)
    cone = HeightField.of(
        grid, lambda x, y: -np.maximum(0.0, 20.0 - np.hypot(x, y)) * np.tan(slope)
    )
    sheet, rim = disc(24, 20.0)
    drawn = Drawn.at_rest(sheet, rim)
    for rise in pairwise(6.0 * np.linspace(0.0, 1.0, 61) ** 2):
        press(sheet, drawn, cone, rise, 300)
    larger, smaller = stretches(sheet, drawn.nodes)
    kept = 1 / (larger * smaller)
    share = -drawn.nodes[sheet.triangles].mean(axis=1)[:, 2] / depth
    down = drawn.held[sheet.triangles].all(axis=1) & (share > 0.05) & (share < 0.7)
    exact = (1 + np.cos(slope)) / 2 * (1 - share[down]) ** (1 / np.cos(slope) - 1)
    assert np.sqrt(np.mean((kept[down] / exact - 1) ** 2)) < 0.06
    # No material is lost: area as it lies now times what is kept of the gauge.
    a, b, c = (drawn.nodes[sheet.triangles[:, n]] for n in range(3))
    area = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    assert (area * kept).sum() == pytest.approx(sheet.area.sum(), rel=1e-9)
