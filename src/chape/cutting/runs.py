"""Lines that cover a zone of the tip's map, in the order they are cut.

Their distance follows the slope across them. For a ridge of one height everywhere, lines whose
tip's way lies at an angle a across them come cos a times closer, and contours sin a times closer
in height. The zones see to it that this is never less than cos 45 degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from chape.cutting.ease import evenly
from chape.cutting.order import Stop, shortest_route
from chape.field.grid import Grid
from chape.field.heights import HeightField

if TYPE_CHECKING:
    from chape.field.grid import Floats

Mask = npt.NDArray[np.bool_]

#: Level lines are drawn with as few corners as this allows, mm; heights are located afresh.
LINE_FIT = 0.004

#: A closed line is left for the next one so far past its start, slantwise, mm: no stop, no mark.
SLIDE = 5.0

#: Two lines come this much closer at most: beyond 45 degrees the zones change over.
CLOSEST = sqrt(0.5)


@dataclass(frozen=True, slots=True)
class Patch:
    """One connected part of a zone, cut out of the map.

    Attributes:
        reach: the tip's map around it.
        zone: (ny, nx) nodes of the part.
        place: rows and columns of the map that it takes up.
    """

    reach: HeightField
    zone: Mask
    place: tuple[slice, slice]

    @property
    def turned(self) -> Patch:
        """The same with x and y exchanged."""
        grid = self.reach.grid
        turned = Grid(grid.y0, grid.x0, grid.spacing, grid.ny, grid.nx)
        place = self.place[::-1]
        return Patch(HeightField(turned, np.ascontiguousarray(self.reach.z.T)), self.zone.T, place)


def patches(reach: HeightField, zone: Mask) -> list[Patch]:
    """Return the connected parts of a zone, each with a frame of two nodes where there are any."""
    labels, _ = ndimage.label(zone, structure=np.ones((3, 3)))
    parts = []
    for n, place in enumerate(ndimage.find_objects(labels), start=1):
        rows, columns = (slice(max(side.start - 2, 0), side.stop + 2) for side in place)
        z = reach.z[rows, columns]
        if min(z.shape) < 2:
            continue
        grid = reach.grid
        x0 = grid.x0 + grid.spacing * columns.start
        y0 = grid.y0 + grid.spacing * rows.start
        own = Grid(x0, y0, grid.spacing, z.shape[1], z.shape[0])
        parts.append(Patch(HeightField(own, z), labels[rows, columns] == n, (rows, columns)))
    return parts


def without_specks(mask: Mask, fewest: int) -> Mask:
    """Return a mask without its parts of fewer than ``fewest`` nodes."""
    labels, _ = ndimage.label(mask, structure=np.ones((3, 3)))
    large: Mask = (np.bincount(labels.ravel()) >= fewest)[labels] & mask
    return large


def apart_everywhere(reach: HeightField, step: float) -> Floats:
    """Return how far apart (mm) a ball's lines may lie at every node, whichever way they run."""
    slope = np.hypot(*np.gradient(reach.z, reach.grid.spacing))
    apart: Floats = step * np.maximum(1 / np.hypot(1, slope), CLOSEST)
    return apart


def line_runs(reach: HeightField, zone: Mask, apart: Floats, *, along_y: bool) -> list[Floats]:
    """Return straight lines within a zone, each (2, 2), in the order and the way they are cut.

    A line is followed by one beside it on the next row, walked back, as long as there is one.

    Args:
        reach: the tip's map.
        zone: its nodes to be covered.
        apart: how far apart lines may lie at each of its nodes, mm.
        along_y: they run along y, else along x.
    """
    runs: list[Floats] = []
    for part in patches(reach, zone):
        wide = apart[part.place]
        if along_y:
            runs.extend(line[:, ::-1] for line in _lines(part.turned, wide.T))
        else:
            runs.extend(_lines(part, wide))
    return runs


def _lines(part: Patch, apart: Floats) -> list[Floats]:
    rows = _rows(part, apart)
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


def _rows(part: Patch, apart: Floats) -> list[list[tuple[float, float, float]]]:
    """Return, row by row, the (y, x start, x end) of the runs inside the part."""
    grid = part.reach.grid
    widest = float(apart.max())
    near = np.where(part.zone, apart, widest).min(axis=1)
    inside = np.flatnonzero(part.zone.any(axis=1))
    y, last = grid.y0 + grid.spacing * (inside[0] - 0.25), grid.y0 + grid.spacing * inside[-1]
    rows: list[list[tuple[float, float, float]]] = []
    while True:
        row = part.zone[min(max(round((y - grid.y0) / grid.spacing), 0), grid.ny - 1)]
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
        starts, ends = grid.x[edges[::2]], grid.x[edges[1::2] - 1]
        long = zip(starts.tolist(), ends.tolist(), strict=True)
        rows.append([(float(y), start, end) for start, end in long if end > start])
        if y >= last:
            return rows
        here = (y - grid.y0) / grid.spacing
        closest = near[max(int(here), 0) : int(here + widest / grid.spacing) + 2]
        y = min(y + float(closest.min(initial=widest)), last + 1e-9)


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


def stacked(tiers: list[list[Floats]], within: float) -> list[Floats]:
    """Return lines joined to as few as may be, each going through the tiers one after the other.

    Args:
        tiers: lines, each (n, 2), or (n, 3) with heights; those of the first tier cut first.
        within: a line goes on in one of the next tier that may be entered so near, mm.
    """
    joined: list[Floats] = []
    left = [list(tier) for tier in tiers]
    for first, tier in enumerate(left):
        while tier:
            spot = joined[-1][-1] if joined else tier[0][0]
            chain = [from_nearest(tier.pop(nearest_line(tier, spot, np.inf) or 0), spot)]
            for following in left[first + 1 :]:
                spot = _ahead(chain[-1])
                near = nearest_line(following, spot, within + SLIDE)
                if near is None:
                    break
                chain.append(from_nearest(following.pop(near), spot))
            joined.append(np.vstack(chain))
    return joined


def _ahead(line: Floats) -> Floats:
    """Return where to leave a line for: past its start once more if it is closed, else its end."""
    if not np.array_equal(line[0], line[-1]):
        end: Floats = line[-1]
        return end
    gone = np.cumsum(np.hypot(*np.diff(line[:, :2], axis=0).T))
    # A small ring is left before it has gone half round again.
    spot: Floats = line[int(np.searchsorted(gone, min(SLIDE, gone[-1] / 4))) + 1]
    return spot


def smoothed(line: Floats, over: float) -> Floats:
    """Return a line with its corners rounded: the mean of what lies about ``over`` mm either way.

    Closed lines stay closed, open ones keep their ends.
    """
    points, length = evenly(line), float(np.hypot(*np.diff(line, axis=0).T).sum())
    count = len(points) - 1
    # Short lines would shrink to nothing.
    sigma = min(over, length / 25) / (length / count)
    if np.array_equal(line[0], line[-1]):
        ring = ndimage.gaussian_filter1d(points[:-1], sigma, axis=0, mode="wrap")
        return np.vstack([ring, ring[:1]])
    # Mirrored through its ends an open line keeps them.
    back = 2 * points[0] - points[:0:-1], 2 * points[-1] - points[-2::-1]
    long = ndimage.gaussian_filter1d(np.vstack([back[0], points, back[1]]), sigma, axis=0)
    return long[count : 2 * count + 1]


def on_short_way(runs: list[Floats]) -> tuple[list[Floats], float]:
    """Return runs in an order with little way between them, and how much shorter that is, mm."""
    stops = [Stop(run[[0, -1], :2], through=True, forward=True) for run in runs]
    route = shortest_route(stops, (float(runs[0][0, 0]), float(runs[0][0, 1])))
    return [runs[n] for n, _ in route.visits], max(route.saved, 0.0)


def nearest_line(lines: list[Floats], spot: Floats, within: float) -> int | None:
    """Return which line may be entered nearest to a spot, if that is near enough."""
    best, found = within, None
    for n, line in enumerate(lines):
        places = line if np.array_equal(line[0], line[-1]) else line[[0, -1]]
        away = float(np.hypot(*(places - spot)[:, :2].T).min())
        if away < best - 1e-6:
            best, found = away, n
    return found


def _nodes(points: Floats, grid: Grid) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    i = np.rint((points[:, 0] - grid.x0) / grid.spacing).astype(np.int64)
    j = np.rint((points[:, 1] - grid.y0) / grid.spacing).astype(np.int64)
    return np.clip(j, 0, grid.ny - 1), np.clip(i, 0, grid.nx - 1)


def inside(line: Floats, grid: Grid, zone: Mask) -> list[Floats]:
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


def from_nearest(line: Floats, spot: Floats) -> Floats:
    """Return a closed line from its point nearest to ``spot``, an open one from its nearer end."""
    if not np.array_equal(line[0], line[-1]):
        near, far = np.hypot(*(line[[0, -1]] - spot)[:, :2].T)
        return line[::-1] if far < near - 1e-6 else line
    first = int(np.argmin(np.round(np.hypot(*(line[:-1] - spot)[:, :2].T), 6)))
    return np.vstack([line[first:-1], line[: first + 1]])
