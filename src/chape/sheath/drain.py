"""Where water stays in a sheath as it is carried, and the holes that let it out.

Seen from the side the closed sheath is a region with walls and openings. Water fills each hollow
of it up to the lowest place where it spills over, and what spills leaves by an opening. That is
worked out on a raster by flooding from the openings, always over the lowest rim first
(priority-flood; Barnes, Lehman and Mulla, Computers & Geosciences 62, 2014). The knife takes room
from the water, not its way: it leaves a gap all round.
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage
from shapely import Point, Polygon

from chape.kernels import kernel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Bools, Floats

#: Cells of the raster, mm.
STEP = 0.8

#: A film of water less deep than this clings anyway, mm. Common practice, no source.
FILM = 2.0

#: No sheath has more hollows than this that are worth a hole each.
HOLES_MOST = 6


@dataclass(frozen=True, slots=True)
class Pocket:
    """Standing water: its lowest point and how deep it stands, mm."""

    x: float
    y: float
    depth: float


def pockets(
    region: Polygon,
    openings: Sequence[BaseGeometry],
    down: tuple[float, float],
    film: float = FILM,
) -> tuple[Pocket, ...]:
    """Return where water stays, the deepest first.

    Args:
        region: the inside of the closed sheath seen from the side, mm.
        openings: what it can leave by, at or in the region.
        down: the way water runs, of length 1.
        film: less deep water does not count, mm.
    """
    inside, x, y = _raster(region)
    height = -(down[0] * x + down[1] * y)
    seeds = np.zeros(inside.shape, dtype=bool)
    for opening in openings:
        x_min, y_min, x_max, y_max = shapely.bounds(opening)
        # No cell further off than that can be within a step of it.
        near = inside & (x >= x_min - 2 * STEP) & (x <= x_max + 2 * STEP)
        near &= (y >= y_min - 2 * STEP) & (y <= y_max + 2 * STEP)
        seeds[near] |= shapely.dwithin(opening, shapely.points(x[near], y[near]), STEP)
    depth = _flooded(height, inside, seeds) - height
    depth[~inside] = 0.0
    # What a cell is wide, the raster may not see.
    labels, count = ndimage.label(depth > STEP, structure=np.ones((3, 3)))
    found = []
    for n in range(1, count + 1):
        part = labels == n
        deepest = float(depth[part].max())
        if deepest >= film:
            found.append(Pocket(*_lowest(region, x[part], y[part], down), deepest))
    return tuple(sorted(found, key=lambda pocket: (-pocket.depth, pocket.x, pocket.y)))


def drained(
    region: Polygon,
    openings: Sequence[BaseGeometry],
    down: tuple[float, float],
    radius: float,
    film: float = FILM,
) -> tuple[Pocket, ...]:
    """Return the hollows that want a hole each, so that nothing stays once all of them have one.

    A hole drains no hollow beyond it, so they are taken one by one, the deepest first.

    Args:
        region: as for ``pockets``.
        openings: without the holes.
        down: the way water runs, of length 1.
        radius: of the holes, mm.
        film: less deep water does not count, mm.
    """
    holes: list[Pocket] = []
    while len(holes) < HOLES_MOST:
        open_to = [*openings, *(Point(hole.x, hole.y).buffer(radius) for hole in holes)]
        left = pockets(region, open_to, down, film)
        if not left:
            break
        holes.append(left[0])
    return tuple(holes)


def clear_of(
    low: tuple[float, float],
    down: tuple[float, float],
    radius: float,
    rivets: Floats,
    overlap: float,
) -> tuple[float, float]:
    """Return the middle of a drain at a hollow's lowest point.

    It stands on the wall's foot, half in the fillet and half in the flange, where little wall is
    cut. Where a rivet's flange is in the way it goes inwards, as far as it still covers the
    lowest point.

    Args:
        low: the lowest point, mm.
        down: the way water runs, of length 1.
        radius: of the drain, mm.
        rivets: (n, 3) x, y and the radius each needs clear, mm.
        overlap: the lowest point is covered by this at least, mm.
    """
    best = low
    for inward in np.arange(0.0, radius - overlap + 1e-9, 0.1):
        best = low[0] - down[0] * float(inward), low[1] - down[1] * float(inward)
        if all(hypot(x - best[0], y - best[1]) >= clear + radius for x, y, clear in rivets):
            return best
    return best


def _raster(region: Polygon) -> tuple[Bools, Floats, Floats]:
    """Return which cells lie in a region, and the middles of all, with a rim of walls."""
    x_min, y_min, x_max, y_max = region.bounds
    across = np.arange(x_min - STEP / 2, x_max + 2 * STEP, STEP)
    along = np.arange(y_min - STEP / 2, y_max + 2 * STEP, STEP)
    x, y = np.meshgrid(across, along)
    shapely.prepare(region)
    return shapely.contains_xy(region, x, y), x, y


@kernel
def _flooded(height: Floats, inside: Bools, seeds: Bools) -> Floats:
    """Return the level that water stands at in every cell; the highest where it is shut in."""
    level = np.empty(height.shape)
    heap = [(0.0, 0, 0) for _ in range(0)]
    done = ~inside
    highest = -np.inf
    for j in range(height.shape[0]):
        for i in range(height.shape[1]):
            if inside[j, i]:
                highest = max(highest, height[j, i])
            if seeds[j, i]:
                heap.append((height[j, i], j, i))
                done[j, i] = True
    level[:] = highest
    heapify(heap)
    while len(heap) > 0:
        rim, j, i = heappop(heap)
        level[j, i] = rim
        for a, b in ((j - 1, i), (j + 1, i), (j, i - 1), (j, i + 1)):
            if not done[a, b]:
                done[a, b] = True
                heappush(heap, (max(rim, height[a, b]), a, b))
    return level


def _lowest(
    region: Polygon, x: Floats, y: Floats, down: tuple[float, float]
) -> tuple[float, float]:
    """Return the lowest point of a region's rim beside some of its cells."""
    corners = shapely.get_coordinates(region.exterior)
    cells = shapely.box(x.min() - STEP, y.min() - STEP, x.max() + STEP, y.max() + STEP)
    near = corners[shapely.contains_xy(cells, corners[:, 0], corners[:, 1])]
    if len(near) == 0:
        near = np.column_stack([x, y])
    fall = near @ np.asarray(down)
    lowest = near[fall > fall.max() - 1e-6]
    middle = lowest.mean(axis=0)
    return float(middle[0]), float(middle[1])
