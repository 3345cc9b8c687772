"""Where the cutter's tip may go, and paths that follow the surface closely enough.

Points a fixed distance apart are not enough: between them the cutter moves straight, and at the
foot or the top of a wall a straight move gouges. Points are put in wherever the quarter points of
a move stray from where the tip may go, and dropped again where three lie on one line.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from chape import tolerances
from chape.field.envelope import locate
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.envelope import Body
    from chape.field.grid import Floats

#: Points are put in within this share of the chord tolerance and dropped within the rest.
INSERT_SHARE = 0.6

#: Moves are not divided below this, mm.
SHORTEST = 0.02

#: Known heights that differ by less are the same, mm.
LEVEL = 1e-3

#: Distance of the first points along a path, mm.
FIRST_STEP = 1.0

QUARTERS = np.array([0.25, 0.5, 0.75])


def tip_heights(surface: HeightField, body: Body, points: Floats) -> Floats:
    """Return how low the tip may go at points (n, 2), mm; off the surface, its lowest level."""
    heights = locate(surface, points, body)
    clear: Floats = np.where(np.isfinite(heights), heights, surface.z.min())
    return clear


def tip_map(
    surface: HeightField, body: Body, spacing: float | None = None, beyond: float = 0.0
) -> HeightField:
    """Return tip heights over a grid.

    Args:
        surface: what must not be cut.
        body: the cutter.
        spacing: of the map, mm; the surface's own if None.
        beyond: how far the map reaches past the surface's edges, mm.
    """
    x0, y0, x1, y1 = surface.grid.bounds
    step = surface.grid.spacing if spacing is None else spacing
    grid = Grid.over(x0 - beyond, y0 - beyond, x1 + beyond, y1 + beyond, step)
    x, y = grid.mesh()
    heights = tip_heights(surface, body, np.column_stack([x.ravel(), y.ravel()]))
    return HeightField(grid, heights.reshape(grid.shape))


def stepped(path: Floats, step: float) -> Floats:
    """Return a path (n, d) with its long pieces divided to ``step`` mm, its own points kept."""
    lengths = np.hypot(*np.diff(path[:, :2], axis=0).T)
    counts = np.maximum(np.ceil(lengths / step - 1e-9).astype(np.int64), 1)
    piece = np.repeat(np.arange(len(counts)), counts)
    first = np.concatenate([[0], np.cumsum(counts)[:-1]])
    share = (np.arange(len(piece)) - first[piece]) / counts[piece]
    inside = path[piece] + share[:, None] * (path[piece + 1] - path[piece])
    return np.vstack([inside, path[-1:]])


def follow(
    surface: HeightField,
    body: Body,
    paths: list[Floats],
    tolerance: float = tolerances.CHORD,
    first_step: float = FIRST_STEP,
    lean: HeightField | None = None,
) -> list[Floats]:
    """Return the tip's way over a surface along paths in the plane.

    Args:
        surface: what must not be cut.
        body: the cutter.
        paths: each (n, 2), or (n, 3) where the tip's heights are known; n >= 2, mm.
        tolerance: how far a move may stray from where the tip may go, mm, along the normal.
        first_step: distance of the first points, mm.
        lean: cosine of the slope of the tip's way, which turns a height into a distance along
            the normal; 1 everywhere if None.

    Returns:
        One (m, 3) array per path.
    """
    if not paths:
        return []
    coarse = [_started(path, first_step) for path in paths]
    owner = np.repeat(np.arange(len(coarse)), [len(path) for path in coarse])
    points = np.vstack(coarse)
    unknown = np.isnan(points[:, 2])
    points[unknown, 2] = tip_heights(surface, body, points[unknown, :2])
    # Between two places found on one height the way is level: to try it in between would only find
    # the steps of the wall that it runs along.
    level = ~(unknown[1:] | unknown[:-1]) & (np.abs(np.diff(points[:, 2])) < LEVEL)
    open_ = (owner[1:] == owner[:-1]) & ~level
    while open_.any():
        points, owner, open_ = _divided(surface, body, points, owner, open_, tolerance, lean)
    weights = np.ones(len(points)) if lean is None else lean.at(points[:, :2])
    ends = np.flatnonzero(np.diff(owner)) + 1
    spare = tolerance * (1 - INSERT_SHARE)
    return [
        thinned(path, spare, weight)
        for path, weight in zip(np.split(points, ends), np.split(weights, ends), strict=True)
    ]


def _started(path: Floats, step: float) -> Floats:
    """Return the first points (m, 3) along a path, their heights NaN where they are not known."""
    known = np.full(len(path), np.nan) if path.shape[1] == 2 else path[:, 2]
    numbered = stepped(np.column_stack([path[:, :2], np.arange(len(path))]), step)
    own = numbered[:, 2] == np.rint(numbered[:, 2])
    numbered[own, 2] = known[numbered[own, 2].astype(np.int64)]
    numbered[~own, 2] = np.nan
    return numbered


def _divided(
    surface: HeightField,
    body: Body,
    points: Floats,
    owner: np.ndarray[tuple[int], np.dtype[np.int64]],
    open_: np.ndarray[tuple[int], np.dtype[np.bool_]],
    tolerance: float,
    lean: HeightField | None,
) -> tuple[
    Floats,
    np.ndarray[tuple[int], np.dtype[np.int64]],
    np.ndarray[tuple[int], np.dtype[np.bool_]],
]:
    """Try the open moves at their quarter points; divide those that stray and keep them open."""
    tried = np.flatnonzero(open_)
    start, way = points[tried], points[tried + 1] - points[tried]
    chords = start[:, None, :] + QUARTERS[None, :, None] * way[:, None, :]
    heights = tip_heights(surface, body, chords[:, :, :2].reshape(-1, 2)).reshape(-1, 3)
    run = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)
    upright = run / np.hypot(run, way[:, 2])
    if lean is not None:
        upright = np.minimum(upright, lean.at(chords[:, 1, :2]))
    stray = np.abs(heights - chords[:, :, 2]).max(axis=1) * upright
    split = (stray > tolerance * INSERT_SHARE) & (run > SHORTEST)
    divided = tried[split]
    still_open = np.zeros(len(open_), dtype=bool)
    still_open[divided] = True
    chords[:, :, 2] = heights
    places = np.repeat(divided + 1, 3)
    points = np.insert(points, places, chords[split].reshape(-1, 3), axis=0)
    owner = np.insert(owner, places, np.repeat(owner[divided], 3))
    pieces = np.where(still_open, 4, 1)
    return points, owner, np.repeat(still_open, pieces)


def lean_of(reach: HeightField) -> HeightField:
    """Return the cosine of a tip map's slope, the largest within a node: a wall's foot is level."""
    slope = np.hypot(*np.gradient(reach.z, reach.grid.spacing))
    return reach.with_z(ndimage.maximum_filter(1 / np.hypot(1, slope), size=3))


def thinned(points: Floats, tolerance: float, lean: Floats | None = None) -> Floats:
    """Drop points (n, 3) that lie within ``tolerance`` mm of the line between kept neighbours.

    Args:
        points: of one path.
        tolerance: mm.
        lean: (n,) what a distance in height counts for; 1 if None.
    """
    if len(points) < 3:
        return points
    weights = np.ones(len(points)) if lean is None else lean
    return points[_kept(np.ascontiguousarray(points), weights, float(tolerance))]


@inner_kernel
def _squared_off(points: Floats, n: int, first: int, last: int, lean: float) -> float:
    """Return the square of a point's distance from the line between two others, mm²."""
    x, y, z = points[first, 0], points[first, 1], points[first, 2]
    way_x, way_y, way_z = points[last, 0] - x, points[last, 1] - y, points[last, 2] - z
    off_x, off_y, off_z = points[n, 0] - x, points[n, 1] - y, points[n, 2] - z
    length, share = way_x * way_x + way_y * way_y + way_z * way_z, 0.0
    if length > 0:
        along = off_x * way_x + off_y * way_y + off_z * way_z
        share = min(max(along / length, 0.0), 1.0)
    aside, beside = off_x - share * way_x, off_y - share * way_y
    rise = (off_z - share * way_z) * lean
    return float(aside * aside + beside * beside + rise * rise)


@kernel
def _kept(
    points: Floats, lean: Floats, tolerance: float
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Halve at the furthest point until every dropped one is near enough (Douglas-Peucker)."""
    count = points.shape[0]
    keep = np.zeros(count, dtype=np.bool_)
    keep[0] = keep[count - 1] = True
    stack = np.empty((count, 2), dtype=np.int64)
    stack[0, 0], stack[0, 1] = 0, count - 1
    top = 1
    while top > 0:
        top -= 1
        first, last = stack[top, 0], stack[top, 1]
        furthest, worst = -1, tolerance * tolerance
        for n in range(first + 1, last):
            distance = _squared_off(points, n, first, last, lean[n])
            if distance > worst:
                furthest, worst = n, distance
        if furthest > 0:
            keep[furthest] = True
            stack[top, 0], stack[top, 1] = first, furthest
            stack[top + 1, 0], stack[top + 1, 1] = furthest, last
            top += 2
    return keep
