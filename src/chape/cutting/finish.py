"""Finishing with a ball: contours where it is steep, parallel lines where it is shallow.

The ball goes only where it would take something off: where its tip would stand higher over what
is left than over what is wanted. Steep and shallow part at 45 degrees; at that slope both kinds
of line lie closest to their limit, so their spacing there sets the scallop everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from shapely import LineString

from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import FIRST_STEP, follow, lean_of, tip_map
from chape.cutting.rates import step_over
from chape.field.contour import level_lines
from chape.field.envelope import Body

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.rates import Rates
    from chape.field.grid import Floats, Grid
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: Ridge left between two lines, mm.
SCALLOP = 0.02

#: Where steep ends and shallow begins, radians.
SPLIT = pi / 4

#: Steep and shallow reach this far into each other, mm.
OVERLAP = 0.6

#: The ball is sent where it would take off more than this, mm.
WORTH = 0.01

#: Nodes of the map that zones and level lines are drawn from, mm: coarse, for paths are located
#: afresh on the surface itself.
MAP_SPACING = 0.4

#: Level lines are drawn with as few corners as this allows, mm; heights are located afresh.
LINE_FIT = 0.004

#: A valley of the tip's way is one whose slope changes by this from node to node.
CREASE_BEND = 0.3

#: Valleys beside anything steeper are left to contours.
CREASE_STEEPEST = 2.5

#: Lines along a crease lie this many times closer.
CREASE_LINES = 4

#: Ends of lines nearer than this many step-overs are joined along the surface.
JOIN = 4.0

#: First points along a join, mm: it crosses from one height to another.
JOIN_STEP = 0.3


@dataclass(frozen=True, slots=True)
class Ball:
    """The cutter that finishes: radius, mm, and its rates."""

    radius: float
    rates: Rates

    @property
    def body(self) -> Body:
        """Its shape."""
        return Body.ball(self.radius)

    @property
    def step(self) -> float:
        """Distance of lines on the level, and of contours in height, mm."""
        return step_over(self.radius, SCALLOP) * cos(SPLIT)


def finish(surface: HeightField, ground: Ground, cutter: Ball, safe: float) -> list[Track]:
    """Plan the finishing cuts: contours, then parallel lines.

    Args:
        surface: what is wanted, mm.
        ground: what stands there after roughing.
        cutter: a ball.
        safe: height at which nothing can be met, mm.

    Returns:
        The contours, the lines, and the lines along creases; a track without moves where there
        is nothing to do.
    """
    reach = tip_map(surface, cutter.body, max(MAP_SPACING, surface.grid.spacing))
    worth = _worth(reach, ground, cutter)
    steep, shallow = zones(reach, worth)
    way = _Way(surface, ground, lean_of(reach), cutter, safe)
    return [
        _cut(way, contour_runs(reach, steep, cutter.step)),
        _cut(way, line_runs(reach.grid, shallow, cutter.step)),
        _cut(way, line_runs(reach.grid, creases(reach, worth), cutter.step / CREASE_LINES)),
    ]


def _worth(reach: HeightField, ground: Ground, cutter: Ball) -> Mask:
    """Return the nodes where the ball would take something off."""
    left = tip_map(ground.field, cutter.body)
    x, y = reach.grid.mesh()
    over = left.at(np.column_stack([x.ravel(), y.ravel()])).reshape(reach.grid.shape)
    taken: Mask = over > reach.z + WORTH
    return taken


def zones(reach: HeightField, worth: Mask) -> tuple[Mask, Mask]:
    """Return where to contour and where to go in lines, each with its overlap."""
    slope = np.hypot(*np.gradient(reach.z, reach.grid.spacing))
    steep = slope > np.tan(SPLIT)
    # Specks of either kind are not worth a cutter's way.
    steep = ndimage.binary_closing(ndimage.binary_opening(steep), border_value=0)
    widen = max(1, round(OVERLAP / reach.grid.spacing))
    return _widened(steep & worth, widen), _widened(~steep & worth, widen)


def creases(reach: HeightField, worth: Mask) -> Mask:
    """Return where the tip's way has a valley along x, which two lines may straddle.

    The ball touches both sides at once there: at the foot of a wall, and in fillets of its own
    radius. Valleys across the lines are met by every line, and those of steep walls by contours.
    """
    spacing = reach.grid.spacing
    bend = np.zeros(reach.grid.shape)
    bend[1:-1] = (reach.z[2:] - 2 * reach.z[1:-1] + reach.z[:-2]) / spacing
    slope = np.hypot(*np.gradient(reach.z, spacing))
    return _widened((bend > CREASE_BEND) & (slope < CREASE_STEEPEST) & worth, 1)


def _widened(mask: Mask, by: int) -> Mask:
    """Return a mask grown by a disc of ``by`` nodes."""
    wide: Mask = ndimage.distance_transform_edt(~mask) <= by if mask.any() else mask
    return wide


def line_runs(grid: Grid, zone: Mask, step: float) -> list[Floats]:
    """Return lines along x within a zone, each (2, 2), in the order and the way they are cut.

    A line is followed by one beside it on the next row, walked back, as long as there is one.
    """
    rows = _rows(grid, zone, step)
    taken = [[False] * len(row) for row in rows]
    runs: list[Floats] = []
    for first in range(len(rows)):
        for n in range(len(rows[first])):
            row, place, forward = first, n, True
            while not taken[row][place]:
                taken[row][place] = True
                y, start, end = rows[row][place]
                ends = np.array([[start, y], [end, y]])
                runs.append(ends if forward else ends[::-1])
                forward = not forward
                after = _beside(rows, taken, row + 1, start, end)
                if after is None:
                    break
                row, place = row + 1, after
    return runs


def _rows(grid: Grid, zone: Mask, step: float) -> list[list[tuple[float, float, float]]]:
    """Return, row by row, the (y, x start, x end) of the runs inside the zone."""
    _, y_low, _, y_high = grid.bounds
    count = int((y_high - y_low) / step) + 1
    rows = []
    for y in (y_low + step * np.arange(count)).tolist():
        row = zone[min(round((y - grid.y0) / grid.spacing), grid.ny - 1)]
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
        starts, ends = grid.x[edges[::2]], grid.x[edges[1::2] - 1]
        long = zip(starts.tolist(), ends.tolist(), strict=True)
        rows.append([(y, start, end) for start, end in long if end > start])
    return rows


def _beside(
    rows: list[list[tuple[float, float, float]]],
    taken: list[list[bool]],
    row: int,
    start: float,
    end: float,
) -> int | None:
    """Return the first run of a row, not yet taken, that lies beside (start, end)."""
    if row == len(rows):
        return None
    for n, (_, low, high) in enumerate(rows[row]):
        if not taken[row][n] and low < end and high > start:
            return n
    return None


def contour_runs(reach: HeightField, zone: Mask, step: float) -> list[Floats]:
    """Return level lines of the tip's map within a zone, each (n, 2), in the order they are cut.

    Hill by hill, from the top down, with the material on the right (climb).
    """
    if not zone.any():
        return []
    hills, count = ndimage.label(zone, structure=np.ones((3, 3)))
    by_hill: list[list[Floats]] = [[] for _ in range(count + 1)]
    low, high = float(reach.z[zone].min()), float(reach.z[zone].max())
    levels = np.arange(high - step / 2, low, -step)
    # The foot is cut too: the last line runs just above the lowest ground.
    for level in [*levels.tolist(), low + 1e-3]:
        for line in level_lines(reach, level):
            for run in _inside(line[::-1], reach.grid, zone):
                # A level line has a corner on every grid line it crosses; few of them matter.
                plain = np.asarray(LineString(run).simplify(LINE_FIT).coords, np.float64)
                by_hill[_hill_of(run, reach.grid, hills)].append(plain)
    runs: list[Floats] = []
    for lines in by_hill:
        for line in lines:
            runs.append(_from_nearest(line, runs[-1][-1]) if runs else line)
    return runs


def _nodes(points: Floats, grid: Grid) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    i = np.rint((points[:, 0] - grid.x0) / grid.spacing).astype(np.int64)
    j = np.rint((points[:, 1] - grid.y0) / grid.spacing).astype(np.int64)
    return np.clip(j, 0, grid.ny - 1), np.clip(i, 0, grid.nx - 1)


def _inside(line: Floats, grid: Grid, zone: Mask) -> list[Floats]:
    """Return the parts of a line whose points lie in the zone; closed if all of them do."""
    inside = zone[_nodes(line, grid)]
    if inside.all():
        return [line]
    if not inside.any():
        return []
    if np.array_equal(line[0], line[-1]) and inside[0]:
        # Start a closed line outside the zone, so that no part is torn in two.
        first = int(np.argmin(inside))
        line = np.vstack([line[first:-1], line[: first + 1]])
        inside = zone[_nodes(line, grid)]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], inside.astype(np.int8), [0]])))
    parts = [line[a:b] for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return [part for part in parts if len(part) > 1]


def _hill_of(run: Floats, grid: Grid, hills: npt.NDArray[np.signedinteger]) -> int:
    return int(hills[_nodes(run[len(run) // 2][None, :], grid)][0])


def _from_nearest(line: Floats, spot: Floats) -> Floats:
    """Return a closed line from its point nearest to ``spot``; an open one as it is."""
    if not np.array_equal(line[0], line[-1]):
        return line
    first = int(np.argmin(np.round(np.hypot(*(line[:-1] - spot).T), 6)))
    return np.vstack([line[first:-1], line[: first + 1]])


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
    near = JOIN * way.cutter.step
    joins = [
        np.array([before[-1], after[0]]) if 0 < np.hypot(*(after[0] - before[-1])) <= near else None
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
