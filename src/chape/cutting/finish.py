"""Finishing with a ball: along creases, in contours where it is steep, in rings where shallow.

The ball goes only where more stands than the ridge it may leave. Steep and shallow part at 45
degrees; at that slope contours and rings lie closest to their limit, so their spacing there sets
the ridge everywhere. Neighbouring lines run on into each other, for at every end the machine stops.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.cutting.contours import contour_runs
from chape.cutting.creases import crease_runs, kinks
from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import FIRST_STEP, follow, lean_of, tip_heights, tip_map
from chape.cutting.rates import step_over
from chape.cutting.rings import ring_runs
from chape.cutting.runs import apart_everywhere, on_short_way, without_specks
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.left import Standing
    from chape.cutting.rates import Rates
    from chape.field.grid import Floats, Grid
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]
Indices = npt.NDArray[np.intp]

#: Where steep ends and shallow begins, radians.
SPLIT = pi / 4

#: Steep and shallow reach this far into each other, mm.
OVERLAP = 0.4

#: The ball is sent where more stands than so many times the ridge that may stay.
DONE = 1.5

#: Where this much is left along the normal after all other lines, close ones follow, if somewhere
#: near it is enough: at least so many mm, and so many times the ridge that is wanted.
LEFT = 0.03, 1.5
ENOUGH = (0.075, 3.5), (0.08, 4.0)

#: And the largest of the other places, until no more than this share of the sloping ground is
#: thought to have so much left; not where it is more than the second figure: there the grid is too
#: coarse for the ball to come to that.
MOST_LEFT, IN_SIGHT = 0.01, 0.045

#: Ground is level that rises by less than this, mm per mm.
LEVEL = 1e-3

#: Steep ground of fewer nodes is cut with the shallow around it, and the other way round.
SPECK = 12

#: Nodes of the map that zones and level lines are drawn from, as a share of the ball's radius, but
#: no finer than the surface: coarse, for paths are located afresh on the surface itself.
MAP_SHARE = 0.4 / 3

#: Rings over what is left lie this many times closer, first and then once more.
CLOSE_LINES = 2, 4

#: Of a place where enough is left for close rings, only what lies so near to that is covered, mm.
BESIDE = 0.8

#: A crease is cut once more as near to such a place as this share of the ball's radius.
CREASE_BESIDE = 0.8

#: Places of no more nodes than this are covered with a margin of one more.
SMALL = 24

#: The tip is tried at so many places between two nodes of the map, each way.
TRIED = 4

#: Ends of lines nearer than this are joined along the surface, mm: quicker than to rise and sink.
JOIN = 30.0

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


def finish(standing: Standing, ground: Ground, cutter: Ball, safe: float) -> list[Track]:
    """Plan the finishing cuts: creases, contours, rings, then close rings where much is left.

    Creases come first: there the ball touches both sides at once, and cuts the fillet that the
    others would leave.

    Args:
        standing: what stands over the wanted surface; changed.
        ground: the same for ways across.
        cutter: a ball.
        safe: height at which nothing can be met, mm.

    Returns:
        One track each; without moves where there is nothing to do.
    """
    surface = standing.surface
    reach = tip_map(surface, cutter.body, max(MAP_SHARE * cutter.radius, surface.grid.spacing))
    way = Way(surface, ground, lean_of(reach), cutter, safe)
    worth = _widened(_worth(standing, reach, cutter), 1)
    creases = cut_runs(way, crease_runs(surface, cutter.body, reach, worth))
    standing.cut([creases.moves().end], cutter.body)
    worth = _widened(_worth(standing, reach, cutter), 1)
    steep, shallow = zones(reach, worth)
    contours = cut_runs(way, contour_runs(surface, cutter.body, reach, steep, cutter.step))
    rings = cut_runs(way, ring_runs(reach, shallow, apart_everywhere(reach, cutter.step)))
    standing.cut([track.moves().end for track in (contours, rings)], cutter.body)
    tracks = [creases, contours, rings]
    for times, enough in zip(CLOSE_LINES, ENOUGH, strict=True):
        again = _again(standing, reach, cutter, enough)
        apart = apart_everywhere(reach, cutter.step / times)
        close = cut_runs(way, ring_runs(reach, again, apart))
        standing.cut([close.moves().end], cutter.body)
        tracks.append(close)
    return tracks


def _worth(standing: Standing, reach: HeightField, cutter: Ball) -> Mask:
    """Return the nodes where the ball would take something off with the place it touches with.

    Beside a wall the ball takes something off from the level as well, with its side; but there
    the place it touches with, straight below it, is done.
    """
    open_ = _on_map(standing.left() > DONE * cutter.scallop, standing.surface.grid, reach.grid)
    return _touching(open_, reach, cutter)


def _touching(mask: Mask, reach: HeightField, cutter: Ball) -> Mask:
    """Return where the ball's middle is while the place it touches with lies in a mask."""
    by_y, by_x = np.gradient(reach.z, reach.grid.spacing)
    share = cutter.radius / np.hypot(1, np.hypot(by_x, by_y)) / reach.grid.spacing
    rows, columns = np.indices(reach.grid.shape)
    j = np.clip(np.rint(rows + share * by_y).astype(np.int64), 0, reach.grid.ny - 1)
    i = np.clip(np.rint(columns + share * by_x).astype(np.int64), 0, reach.grid.nx - 1)
    middles: Mask = mask[j, i]
    return middles


def _over(mask: Mask, reach: HeightField, cutter: Ball) -> Mask:
    """Return where the ball's middle may be while it takes something off in a mask.

    In a crease it touches beside a fillet, and takes off what stands in it.
    """
    creases = ndimage.binary_dilation(kinks(reach))
    around = round(CREASE_BESIDE * cutter.radius / reach.grid.spacing)
    near = creases & _widened(mask, around)
    over: Mask = _touching(mask, reach, cutter) | near
    return over


def zones(reach: HeightField, worth: Mask) -> tuple[Mask, Mask]:
    """Return where to contour and where to go in lines, each with its overlap."""
    slope = np.hypot(*np.gradient(reach.z, reach.grid.spacing))
    # Specks of either kind are not worth a cutter's way.
    steep = without_specks(ndimage.binary_closing(slope > np.tan(SPLIT), border_value=0), SPECK)
    shallow = without_specks(~steep, SPECK)
    widen = max(1, round(OVERLAP / reach.grid.spacing))
    return _widened(~shallow & worth, widen), shallow & worth


def _again(
    standing: Standing, reach: HeightField, cutter: Ball, enough: tuple[float, float]
) -> Mask:
    """Return the nodes of the map around what is left that the ball can reach and is worth it."""
    grid, coarse = standing.surface.grid, reach.grid
    left = standing.left()
    some, much_left = (max(least, share * cutter.scallop) for least, share in (LEFT, enough))
    # What the ball can reach of a place is no more than is left there: where that is too little
    # nothing need be tried.
    around = _widened(_on_map(left > some, grid, coarse), 1)
    around = _holding(around, _on_map(left > much_left, grid, coarse)) | _largest(
        standing, left > some, left > some, around, coarse
    )
    rows, columns = np.nonzero(_over(around, reach, cutter))
    # The tip is tried on a lattice so close that it stands in every valley.
    offset = coarse.spacing * (np.arange(TRIED) / TRIED - 0.5)
    x = (coarse.x[columns, None, None] + offset[None, :, None] + 0 * offset).ravel()
    y = (coarse.y[rows, None, None] + offset[None, None, :] + 0 * offset[:, None]).ravel()
    places = np.column_stack([x, y])
    tips = np.column_stack([places, tip_heights(standing.surface, cutter.body, places)])
    tried = standing.tried(tips, cutter.body)
    comes_off = np.minimum(left, standing.left(standing.surface.z + standing.z - tried))
    much = _on_map(comes_off > much_left, grid, coarse)
    around = _widened(_on_map(comes_off > some, grid, coarse), 1)
    # A thin rest runs on for long: only so much of it as lies near to what is worth the way.
    chosen = _holding(around & _widened(much, round(BESIDE / coarse.spacing)), much)
    helped = (left > some) & (standing.left(tried) <= some)
    near = _widened(_on_map(helped, grid, coarse), 1)
    chosen |= _largest(standing, left > some, helped, near, coarse)
    # Rings smooth the edges of their zones: small ones would be lost.
    large = without_specks(chosen, SMALL + 1)
    return _over(chosen | _widened(chosen & ~large, 1), reach, cutter)


def _largest(standing: Standing, much: Mask, helped: Mask, around: Mask, coarse: Grid) -> Mask:
    """Return the largest connected parts of a map's mask, as many as are needed for the goal.

    Args:
        standing: what stands.
        much: nodes of the surface with too much left.
        helped: those of them that a part of the mask takes away.
        around: nodes of the map.
        coarse: the map's.
    """
    surface = standing.surface
    slope = np.hypot(*np.gradient(surface.z, surface.grid.spacing))
    area = np.where(slope > LEVEL, np.hypot(1, slope), 0.0)
    needed = area[much].sum() - MOST_LEFT * area.sum()
    if needed > (IN_SIGHT - MOST_LEFT) * area.sum():
        return np.zeros_like(around)
    labels, count = ndimage.label(around, structure=np.ones((3, 3)))
    rows, columns = np.nonzero(helped)
    parts = labels[_nearest(rows, columns, surface.grid, coarse)]
    held = np.bincount(parts, area[rows, columns], minlength=count + 1)
    order = np.argsort(-held[1:], kind="stable") + 1
    before = np.cumsum(held[order]) - held[order]
    chosen = np.zeros(count + 1, dtype=np.bool_)
    chosen[order[before < needed]] = True
    found: Mask = chosen[labels]
    return found


def _holding(mask: Mask, spots: Mask) -> Mask:
    """Return the connected parts of a mask in which there is any of some spots."""
    labels, count = ndimage.label(mask, structure=np.ones((3, 3)))
    chosen = np.zeros(count + 1, dtype=np.bool_)
    chosen[labels[spots]] = True
    chosen[0] = False
    held: Mask = chosen[labels]
    return held


def _on_map(mask: Mask, grid: Grid, coarse: Grid) -> Mask:
    """Return the nodes of a coarse grid nearest to any node of a mask."""
    found = np.zeros(coarse.shape, dtype=np.bool_)
    rows, columns = np.nonzero(mask)
    found[_nearest(rows, columns, grid, coarse)] = True
    return found


def _nearest(rows: Indices, columns: Indices, grid: Grid, coarse: Grid) -> tuple[Indices, Indices]:
    """Return the rows and columns of a coarse grid nearest to those of another."""
    j = np.rint((grid.y[rows] - coarse.y0) / coarse.spacing).astype(np.int64)
    i = np.rint((grid.x[columns] - coarse.x0) / coarse.spacing).astype(np.int64)
    return np.clip(j, 0, coarse.ny - 1), np.clip(i, 0, coarse.nx - 1)


def _widened(mask: Mask, by: int) -> Mask:
    """Return a mask grown by a disc of ``by`` nodes."""
    wide: Mask = ndimage.distance_transform_edt(~mask) <= by if mask.any() else mask
    return wide


@dataclass(frozen=True, slots=True, eq=False)
class Way:
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


def cut_runs(way: Way, runs: list[Floats]) -> Track:
    """Follow the surface along the runs, joining neighbours along the surface."""
    track = Track(way.safe)
    if not runs:
        return track
    runs, track.saved = on_short_way(runs)
    joins = [
        np.array([before, after]) if 0 < np.hypot(*(after - before)) <= JOIN else None
        for before, after in ((a[-1, :2], b[0, :2]) for a, b in pairwise(runs))
    ]
    paths = way.follow(runs, FIRST_STEP)
    ways = iter(way.follow([join for join in joins if join is not None], JOIN_STEP))
    feed = way.cutter.rates.feed
    for n, path in enumerate(paths):
        if n and joins[n - 1] is not None:
            track.lines(next(ways)[1:], feed)
        elif not n or not np.array_equal(runs[n - 1][-1], runs[n][0]):
            track.leave(way.ground, way.cutter.radius, feed)
            _enter(track, way.ground, way.cutter, path[0])
        track.lines(path[1:], feed)
    track.leave(way.ground, way.cutter.radius, feed)
    track.lift()
    return track


def _enter(track: Track, ground: Ground, cutter: Ball, start: Floats) -> None:
    """Travel to a start and sink to it, by rapid only as far as nothing stands there."""
    x, y, z = (float(value) for value in start)
    track.go(x, y, ground, cutter.radius)
    top = float(ground.highest(start[None, :2], cutter.radius)[0])
    track.down(max(top, z) + APPROACH)
    track.lines(start[None, :], cutter.rates.plunge)
