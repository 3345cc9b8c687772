"""A careless machine for tests: it obeys a text word by word, and stamps its cutter as it goes.

It shares nothing with the reader and the simulation it stands against: no rules, no closed forms.
Whatever it does not understand it passes over.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numba
import numpy as np
import shapely
from scipy.spatial import cKDTree

from chape.catalog.model import CutterKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.cutting.model import Setup
    from chape.field.grid import Floats

#: Stations of the cutter along a path, mm apart.
STEP = 0.05
#: Less deep than this, straight down, is no gouge, mm.
SHALLOW = 0.02
WORD = re.compile(r"([A-Z])(-?\d*\.?\d+)")


def paths(text: str) -> Iterator[tuple[int, Floats]]:  # noqa: C901 -- one word after another
    """Yield the cutter's number and the stations of each move, (n, 3) mm."""
    here = np.array([np.nan, np.nan, np.nan])
    motion, scale, relative, cutter, chosen = 0, 1.0, False, 0, 0
    for line in text.splitlines():
        words = [(a, float(b)) for a, b in WORD.findall(re.sub(r"\([^)]*\)?", "", line))]
        centre, target, moved = np.zeros(2), here.copy(), False
        for letter, value in words:
            if letter == "G" and value in (0, 1, 2, 3):
                motion = int(value)
            elif letter == "G" and value in (20, 21):
                scale = 25.4 if value == 20 else 1.0
            elif letter == "G" and value in (90, 91):
                relative = value == 91
            elif letter == "T":
                chosen = int(value)
            elif letter == "M" and value in (0, 6):
                cutter = chosen
            elif letter in "IJ":
                centre["IJ".index(letter)] = value * scale
        for letter, value in words:
            if letter in "XYZ":
                axis, moved = "XYZ".index(letter), True
                target[axis] = value * scale + (here[axis] if relative else 0.0)
        if moved:
            start = np.where(np.isnan(here), target, here)
            if np.isfinite(target).all():
                yield cutter, _stations(motion, start, target, centre)
            here = target


def _stations(motion: int, start: Floats, end: Floats, offset: Floats) -> Floats:
    if motion < 2 or not offset.any():
        count = min(int(np.linalg.norm(end - start) / STEP) + 2, 20_000)
        return np.linspace(start, end, count)
    middle = start[:2] + offset
    radius = float(np.hypot(*offset))
    first = np.arctan2(*(start[:2] - middle)[::-1])
    turn = (np.arctan2(*(end[:2] - middle)[::-1]) - first) % (2 * np.pi) or 2 * np.pi
    if turn < 1e-9:
        turn = 2 * np.pi
    if motion == 2:
        turn = turn - 2 * np.pi if turn < 2 * np.pi else -turn
    share = np.linspace(0, 1, min(int(abs(turn) * radius / STEP) + 8, 20_000))
    around = middle + radius * np.column_stack(
        [np.cos(first + share * turn), np.sin(first + share * turn)]
    )
    return np.column_stack([around, start[2] + share * (end[2] - start[2])])


@numba.njit
def _stamp(z, place, points, radius, kind, slope):
    """Lower the stock under a body set down on each point; kinds: 0 flat, 1 ball, 2 cone."""
    x0, y0, spacing = place
    across = int(radius / spacing) + 2
    for n in range(len(points)):
        px, py, pz = points[n]
        column, row = int((px - x0) / spacing), int((py - y0) / spacing)
        for j in range(max(0, row - across), min(z.shape[0], row + across + 1)):
            y = y0 + j * spacing - py
            for i in range(max(0, column - across), min(z.shape[1], column + across + 1)):
                x = x0 + i * spacing - px
                r2 = x * x + y * y
                if r2 > radius * radius:
                    continue
                height = pz
                if kind == 1:
                    height += radius - np.sqrt(radius * radius - r2)
                elif kind == 2:
                    height += slope * np.sqrt(r2)
                z[j, i] = min(z[j, i], height)


def carve(text: str, setup: Setup) -> Floats:
    """Return (ny, nx) the stock after a text was obeyed, mm."""
    rack = {cutter.number: cutter for cutter in setup.cutters}
    z, grid = setup.stock.z.copy(), setup.stock.grid
    kinds = {CutterKind.BALL: 1, CutterKind.DRILL: 2}
    top = z.max()
    for number, points in paths(text):
        if number in rack and points[:, 2].min() < top:
            cutter = rack[number]
            slope = (
                1 / np.tan(np.radians(cutter.point_angle / 2)) if cutter.point_angle < 180 else 0.0
            )
            place = (grid.x0, grid.y0, grid.spacing)
            _stamp(z, place, points, cutter.radius, kinds.get(cutter.kind, 0), slope)
    return z


def gouge(z: Floats, setup: Setup) -> float:
    """Return how deep the stock was cut where nothing may be, along the normal, mm."""
    grid = setup.stock.grid
    x, y = grid.mesh()
    target = setup.target.at(np.column_stack([x.ravel(), y.ravel()])).reshape(grid.shape)
    free = np.zeros(grid.shape, dtype=bool)
    for hole in setup.holes:
        near = np.hypot(x - hole.x, y - hole.y) <= hole.diameter / 2 + 0.1
        free |= near & (z >= hole.z_bottom - 0.15)
    for groove in setup.grooves:
        line = shapely.LineString(groove.points).buffer(groove.width / 2 + 0.1)
        free |= shapely.contains_xy(line, x, y) & (z >= groove.z_floor - 0.15)
    below = ~free & (z < target - SHALLOW) & (z < setup.stock.z - SHALLOW)
    worst = _distance(z, target, below, setup) if below.any() else 0.0
    for part in setup.outlines:
        inner = part.polygon(0.001).buffer(-0.05)
        cut = shapely.contains_xy(inner, x, y) & ~free & (z < setup.stock.z - 0.05)
        if cut.any():
            ring = part.polygon(0.001).exterior
            into = shapely.distance(shapely.points(x[cut], y[cut]), ring)
            deep = (setup.stock.z - z)[cut]
            worst = max(worst, float(np.minimum(into, deep).max()))
    return worst


def _distance(z: Floats, target: Floats, below: Floats, setup: Setup) -> float:
    """Distance of the deepest nodes from fine samples of the target."""
    grid = setup.stock.grid
    fine = np.arange(0, grid.nx - 1 + 1e-9, 0.1), np.arange(0, grid.ny - 1 + 1e-9, 0.1)
    fx, fy = np.meshgrid(grid.x0 + fine[0] * grid.spacing, grid.y0 + fine[1] * grid.spacing)
    samples = np.column_stack([fx.ravel(), fy.ravel()])
    cloud = cKDTree(np.column_stack([samples, setup.target.at(samples)]))
    x, y = grid.mesh()
    points = np.column_stack([x[below], y[below], z[below]])
    away, _ = cloud.query(points)
    return float(np.minimum(away, (target - z)[below]).max())
