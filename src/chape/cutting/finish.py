"""Finishing with a ball: contours where it is steep, parallel lines where it is shallow.

The ball goes only where it would take something off: where its tip would stand higher over what
is left than over what is wanted. Steep and shallow part at 45 degrees; at that slope both kinds
of line lie closest to their limit, so their spacing there sets the scallop everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.cutting.feet import foot_runs
from chape.cutting.left import left_over, standing_after, standing_under
from chape.cutting.levels import level_grounds
from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import FIRST_STEP, follow, lean_of, tip_heights, tip_map
from chape.cutting.rates import step_over
from chape.cutting.runs import contour_runs, line_runs
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.rates import Rates
    from chape.field.grid import Floats, Grid
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: Where steep ends and shallow begins, radians.
SPLIT = pi / 4

#: Steep and shallow reach this far into each other, mm.
OVERLAP = 0.4

#: The ball is sent where it would take off more than this, mm.
WORTH = 0.01

#: Where this much is left along the normal after all other lines, close ones follow, if somewhere
#: near it is the second figure: at least so many mm, and so many times the ridge that is wanted.
LEFT = 0.03, 1.5
MUCH_LEFT = 0.06, 3.0

#: Steep ground of fewer nodes is cut with the shallow around it, and the other way round.
SPECK = 12

#: Nodes of the map that zones and level lines are drawn from, mm: coarse, for paths are located
#: afresh on the surface itself.
MAP_SPACING = 0.4

#: Lines over what is left lie this many times closer.
CLOSE_LINES = 3

#: The tip is tried at so many places between two nodes of the map, each way.
TRIED = 4

#: Ends of lines nearer than this are joined along the surface, mm: quicker than to rise and sink.
JOIN = 8.0

#: First points along a join, mm: it crosses from one height to another.
JOIN_STEP = 0.3


@dataclass(frozen=True, slots=True)
class Ball:
    """The cutter that finishes: radius, mm, its rates, and the ridge it may leave, mm."""

    radius: float
    rates: Rates
    scallop: float

    @property
    def body(self) -> Body:
        """Its shape."""
        return Body.ball(self.radius)

    @property
    def step(self) -> float:
        """Distance of lines on the level, and of contours on an upright wall, mm."""
        return step_over(self.radius, self.scallop)


def finish(surface: HeightField, ground: Ground, cutter: Ball, safe: float) -> list[Track]:
    """Plan the finishing cuts: contours, feet, lines, then close lines where much is left.

    What is left lies along valleys of the tip's way that do not run on level ground: there the
    ball touches both sides at once, and two lines may straddle the one place it has to go.

    Args:
        surface: what is wanted, mm.
        ground: what stands there after roughing.
        cutter: a ball.
        safe: height at which nothing can be met, mm.

    Returns:
        The contours, the feet of walls, the lines, and the close lines; a track without moves
        where there is nothing to do.
    """
    reach = tip_map(surface, cutter.body, max(MAP_SPACING, surface.grid.spacing))
    worth = _worth(surface, reach, ground, cutter)
    steep, shallow = zones(reach, worth)
    way = _Way(surface, ground, lean_of(reach), cutter, safe)
    contours = _cut(way, contour_runs(reach, steep, cutter.step))
    feet = _cut(way, foot_runs(reach, worth, level_grounds(surface)))
    lines = _cut(way, line_runs(reach, shallow, cutter.step))
    paths = [track.moves().end for track in (contours, feet, lines)]
    standing = standing_after(surface, ground, paths, cutter.radius)
    again = _again(surface, standing, reach, cutter)
    close = _cut(way, line_runs(reach, again, cutter.step / CLOSE_LINES))
    return [contours, feet, lines, close]


def _worth(surface: HeightField, reach: HeightField, ground: Ground, cutter: Ball) -> Mask:
    """Return the nodes where the ball would take something off with the place it touches with.

    Beside a wall the ball takes something off from the level as well, with its side; but there
    the place it touches with, straight below it, is done.
    """
    left = tip_map(ground.field, cutter.body)
    x, y = reach.grid.mesh()
    nodes = np.column_stack([x.ravel(), y.ravel()])
    taken = left.at(nodes).reshape(reach.grid.shape) > reach.z + WORTH
    by_y, by_x = np.gradient(reach.z, reach.grid.spacing)
    uphill = np.column_stack([by_x.ravel(), by_y.ravel()])
    touch = nodes + cutter.radius * uphill / np.hypot(1, np.hypot(*uphill.T))[:, None]
    stands = (ground.field.at(touch) - surface.at(touch)).reshape(reach.grid.shape) > WORTH
    worth: Mask = taken & _widened(stands, 1)
    return worth


def zones(reach: HeightField, worth: Mask) -> tuple[Mask, Mask]:
    """Return where to contour and where to go in lines, each with its overlap."""
    slope = np.hypot(*np.gradient(reach.z, reach.grid.spacing))
    # Specks of either kind are not worth a cutter's way.
    steep = _without_specks(ndimage.binary_closing(slope > np.tan(SPLIT), border_value=0))
    shallow = _without_specks(~steep)
    widen = max(1, round(OVERLAP / reach.grid.spacing))
    return _widened(~shallow & worth, widen), _widened(shallow & worth, widen)


def _without_specks(mask: Mask) -> Mask:
    """Return a mask without its parts of fewer nodes than ``SPECK``."""
    labels, _ = ndimage.label(mask, structure=np.ones((3, 3)))
    large: Mask = (np.bincount(labels.ravel()) >= SPECK)[labels] & mask
    return large


def _again(surface: HeightField, standing: HeightField, reach: HeightField, cutter: Ball) -> Mask:
    """Return the nodes of the map around what is left that the ball can reach and is worth it."""
    grid, coarse = surface.grid, reach.grid
    left = left_over(standing, surface, surface)
    some, much_left = (max(least, share * cutter.scallop) for least, share in (LEFT, MUCH_LEFT))
    rows, columns = np.nonzero(_widened(_on_map(left > some, grid, coarse), 1))
    # The tip is tried on a lattice so close that it stands in every valley.
    offset = coarse.spacing * (np.arange(TRIED) / TRIED - 0.5)
    x = (coarse.x[columns, None, None] + offset[None, :, None] + 0 * offset).ravel()
    y = (coarse.y[rows, None, None] + offset[None, None, :] + 0 * offset[:, None]).ravel()
    places = np.column_stack([x, y])
    tips = np.column_stack([places, tip_heights(surface, cutter.body, places)])
    left = np.minimum(
        left, left_over(standing, standing_under(standing, tips, cutter.radius), surface)
    )
    much = _on_map(left > much_left, grid, coarse)
    around = _widened(_on_map(left > some, grid, coarse), 1)
    labels, count = ndimage.label(around, structure=np.ones((3, 3)))
    chosen = np.zeros(count + 1, dtype=np.bool_)
    chosen[labels[much]] = True
    chosen[0] = False
    again: Mask = chosen[labels]
    return again


def _on_map(mask: Mask, grid: Grid, coarse: Grid) -> Mask:
    """Return the nodes of a coarse grid nearest to any node of a mask."""
    rows, columns = np.nonzero(mask)
    found = np.zeros(coarse.shape, dtype=np.bool_)
    j = np.rint((grid.y[rows] - coarse.y0) / coarse.spacing).astype(np.int64)
    i = np.rint((grid.x[columns] - coarse.x0) / coarse.spacing).astype(np.int64)
    found[np.clip(j, 0, coarse.ny - 1), np.clip(i, 0, coarse.nx - 1)] = True
    return found


def _widened(mask: Mask, by: int) -> Mask:
    """Return a mask grown by a disc of ``by`` nodes."""
    wide: Mask = ndimage.distance_transform_edt(~mask) <= by if mask.any() else mask
    return wide


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """What every finishing cut of a surface shares."""

    surface: HeightField
    ground: Ground
    lean: HeightField
    cutter: Ball
    safe: float

    def follow(self, paths: list[Floats], first_step: float) -> list[Floats]:
        """Return the tip's way along paths in the plane."""
        body = self.cutter.body
        return follow(self.surface, body, paths, first_step=first_step, lean=self.lean)


def _cut(way: _Way, runs: list[Floats]) -> Track:
    """Follow the surface along the runs, joining neighbours along the surface."""
    track = Track(way.safe)
    if not runs:
        return track
    joins = [
        np.array([before[-1], after[0]]) if 0 < np.hypot(*(after[0] - before[-1])) <= JOIN else None
        for before, after in pairwise(runs)
    ]
    paths = way.follow(runs, FIRST_STEP)
    ways = iter(way.follow([join for join in joins if join is not None], JOIN_STEP))
    feed = way.cutter.rates.feed
    for n, path in enumerate(paths):
        if n and joins[n - 1] is not None:
            track.lines(next(ways)[1:], feed)
        elif not n or not np.array_equal(runs[n - 1][-1], runs[n][0]):
            _leave(track, way)
            _enter(track, way.ground, way.cutter, path[0])
        track.lines(path[1:], feed)
    _leave(track, way)
    track.lift()
    return track


def _leave(track: Track, way: _Way) -> None:
    """Rise past what stands beside the ball at the feed, for its rim may still graze it."""
    if track.position is None:
        return
    x, y, z = track.position
    top = float(way.ground.highest(np.array([[x, y]]), way.cutter.radius)[0])
    if top > z:
        track.lines(np.array([[x, y, top]]), way.cutter.rates.feed)


def _enter(track: Track, ground: Ground, cutter: Ball, start: Floats) -> None:
    """Travel to a start and sink to it, by rapid only as far as nothing stands there."""
    x, y, z = (float(value) for value in start)
    track.go(x, y, ground, cutter.radius)
    top = float(ground.highest(start[None, :2], cutter.radius)[0])
    track.down(max(top, z) + APPROACH)
    track.lines(start[None, :], cutter.rates.plunge)
