"""Take away what the cutters sweep, move by move, and see what they strike.

Each node of the stock holds the height of the material there. The grid is cut into bands of rows;
every band runs through all moves in order, so that the outcome does not depend on how many cores
there are. Within a band, tiles of 16 by 16 nodes whose highest node lies below the body are
passed over. Before a move cuts, its holder, its shank, and the box its rapid may stray in are
held against the material as it then stands.

Node heights are exact. What happens between nodes is not seen: a groove narrower than the spacing,
and h²/(8R) of depth under a ball of radius R.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.cutting.bands import over_bands
from chape.cutting.remove_tile import TILE, visit_tile
from chape.cutting.sweep import course_of, disc, shape_of, width_at
from chape.field.heights import HeightField
from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Cutter
    from chape.cutting.remove_tile import Place
    from chape.cutting.segments import Segments
    from chape.cutting.sweep import Course, Segment, Shape
    from chape.field.grid import Floats

Depths = npt.NDArray[np.float32]

#: Rows in a band, whole tiles.
BAND = 4 * TILE
#: Segments between two gatherings of the bands' depths; it bounds memory only.
CHUNK = 32768
#: A shank as thick as its cutter slides along the walls the cutter left; this much is no strike.
SLIDE = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Removal:
    """What a run of segments took away, and struck before it cut.

    Attributes:
        stock: the material afterwards.
        cut: (n,) deepest cut of each segment, mm, 0 where it met nothing.
        holder, shank: (n,) how deep holder and shank would enter the material, mm.
        stray: (n,) how deep a rapid could enter it on a path that is not straight, mm.
        volume: (n,) what each segment took away, mm³.
    """

    stock: HeightField
    cut: Depths
    volume: Depths
    holder: Depths
    shank: Depths
    stray: Depths


def remove(stock: HeightField, segments: Segments, cutters: Sequence[Cutter]) -> Removal:
    """Return the stock after the segments have been cut in order.

    Args:
        stock: before.
        segments: straight pieces of cutter path, each with the index of its cutter.
        cutters: the rack the indices refer to.
    """
    grid = stock.grid
    z = stock.z.copy()
    tiles = _tile_tops(z)
    place = (grid.x0, grid.y0, grid.spacing)
    bodies = np.array([_bodies(cutter) for cutter in cutters]).reshape(-1, 3, 6)
    count = len(segments.cutter)
    depths = np.zeros((4, count), dtype=np.float32)
    volume = np.zeros(count, dtype=np.float32)
    for first in range(0, count, CHUNK):
        piece = slice(first, min(first + CHUNK, count))
        ends, cutter, rapid = segments.ends[piece], segments.cutter[piece], segments.rapid[piece]
        found = np.zeros((-(-grid.ny // BAND), 5, len(ends)), dtype=np.float32)

        def work(low: int, high: int) -> None:
            band = low // BAND
            rows = (low, high)
            _remove_band(z, tiles, place, rows, ends, cutter, rapid, bodies, found[band])  # noqa: B023 -- done before the next chunk

        over_bands(work, grid.ny, BAND)
        depths[:, piece] = found[:, :4].max(axis=0)
        volume[piece] = found[:, 4].sum(axis=0) * grid.spacing**2
    stock_after = HeightField(grid, z)
    return Removal(stock_after, depths[2], volume, depths[0], depths[1], depths[3])


def _bodies(cutter: Cutter) -> list[list[float]]:
    """Return holder, shank and cutter, each as five figures of a shape and its lift."""
    # A shank slides along the walls its own cutter left.
    shank = max(0.0, cutter.shank_diameter / 2 - SLIDE)
    return [
        [*disc(cutter.holder_diameter / 2), cutter.stick_out],
        [*disc(shank), cutter.flute_length],
        [*shape_of(cutter), 0.0],
    ]


@kernel
def _tile_tops(z: Floats) -> Floats:
    """Return the highest node of every tile."""
    rows, columns = z.shape
    tops = np.empty(((rows + TILE - 1) // TILE, (columns + TILE - 1) // TILE))
    for tj in range(tops.shape[0]):
        for ti in range(tops.shape[1]):
            tops[tj, ti] = _top_of(z, tj, ti)
    return tops


@inner_kernel
def _top_of(z: Floats, tj: int, ti: int) -> float:
    """Return the highest node of a tile."""
    top = -np.inf
    for j in range(tj * TILE, min(z.shape[0], tj * TILE + TILE)):
        for i in range(ti * TILE, min(z.shape[1], ti * TILE + TILE)):
            top = max(top, z[j, i])
    return top


@kernel
def _remove_band(  # noqa: PLR0913, PLR0917  # compiled functions take no records
    z: Floats,
    tiles: Floats,
    place: Place,
    rows: tuple[int, int],
    ends: Floats,
    cutter: npt.NDArray[np.int32],
    rapid: npt.NDArray[np.bool_],
    bodies: Floats,
    found: Depths,
) -> None:
    """Run all segments over a band of rows; ``found[kind, segment]`` takes depths.

    Kinds are holder, shank, cutter, and the cutter on a rapid that strays; a fifth row takes the
    sum of what the cutter took from all nodes.
    """
    top = _highest(tiles, rows[0] // TILE, (rows[1] - 1) // TILE + 1)
    front, back = place[1] + place[2] * rows[0], place[1] + place[2] * rows[1]
    for n in range(len(ends)):
        e = ends[n]
        segment = (e[0], e[1], e[2], e[3], e[4], e[5])
        low, widest = min(e[2], e[5]), _widest(bodies, cutter[n])
        if low >= top or max(e[1], e[4]) + widest < front or min(e[1], e[4]) - widest > back:
            continue
        body = bodies[cutter[n]]
        first, last = (0, 0)
        if rapid[n]:
            first, last = _lanes(segment, body[2, 4], front, back)
        # Strays first, then holder and shank, and the cutter last: all see the stock before it.
        for sweep in range(first, last + 3):
            kind = sweep - last if sweep >= last else 3
            b = body[min(kind, 2)]
            if low + b[5] >= top or b[4] <= 0:
                continue
            path = _lane(segment, sweep, b[4]) if kind == 3 else _lifted(segment, b[5])
            shape = (b[0], b[1], b[2], b[3], b[4])
            cuts = kind == 2
            goes_on = cuts and n > 0 and _goes_on(ends, cutter, n)
            depth, taken = _visit(z, tiles, place, rows, path, shape, (cuts, goes_on))
            found[kind, n] = max(found[kind, n], depth)
            if cuts:
                found[4, n] = taken


@inner_kernel
def _highest(tiles: Floats, first: int, end: int) -> float:
    """Return the highest node of some rows of tiles."""
    top = -np.inf
    for tj in range(first, end):
        for ti in range(tiles.shape[1]):
            top = max(top, tiles[tj, ti])
    return top


@inner_kernel
def _widest(bodies: Floats, cutter: int) -> float:
    """Return the radius of the widest of holder, shank and cutter."""
    return float(max(bodies[cutter, 0, 4], bodies[cutter, 1, 4], bodies[cutter, 2, 4]))


@inner_kernel
def _goes_on(ends: Floats, cutter: npt.NDArray[np.int32], n: int) -> bool:
    """Return whether a segment begins where the cutter stood after the one before it."""
    same = cutter[n - 1] == cutter[n]
    for axis in range(3):
        same = same and ends[n - 1, axis + 3] == ends[n, axis]
    return bool(same)


@inner_kernel
def _lifted(segment: Segment, lift: float) -> Segment:
    """Return a segment raised by ``lift``."""
    x, y, z, x_end, y_end, z_end = segment
    return x, y, z + lift, x_end, y_end, z_end + lift


@inner_kernel
def _lanes(segment: Segment, radius: float, front: float, back: float) -> tuple[int, int]:
    """Return the lanes, from the first to before the last, of the box a rapid may stray in.

    A machine that moves one axis before the other stays in the box between start and end, at the
    lower of the two heights. Only lanes between ``front`` and ``back`` are given.
    """
    moved = 0
    for axis in range(3):
        if abs(segment[axis + 3] - segment[axis]) > 1e-6:
            moved += 1
    if moved < 2:
        return 0, 0
    low, high = min(segment[1], segment[4]), max(segment[1], segment[4])
    last = np.ceil((high - low) / radius)
    reach = 2 * radius
    return (
        int(min(last, max(0.0, np.floor((front - reach - low) / radius)))),
        int(min(last, max(0.0, np.ceil((back + reach - low) / radius)))) + 1,
    )


@inner_kernel
def _lane(segment: Segment, number: int, radius: float) -> Segment:
    """Return one lane along x of the box between a rapid's start and end."""
    low = min(segment[2], segment[5])
    first, last = min(segment[1], segment[4]), max(segment[1], segment[4])
    y = min(first + number * radius, last)
    return segment[0], y, low, segment[3], y, low


@inner_kernel
def _visit(
    z: Floats,
    tiles: Floats,
    place: Place,
    band: tuple[int, int],
    segment: Segment,
    shape: Shape,
    does: tuple[bool, bool],
) -> tuple[float, float]:
    """Sweep one body over one band; ``does`` says whether it cuts, and whether it goes on.

    Returns how deep it enters, and the sum of how deep it enters each node.
    """
    spacing, radius = place[2], shape[4]
    i_first = int(np.ceil((min(segment[0], segment[3]) - radius - place[0]) / spacing - 1e-9))
    i_last = int(np.floor((max(segment[0], segment[3]) + radius - place[0]) / spacing + 1e-9))
    j_first = int(np.ceil((min(segment[1], segment[4]) - radius - place[1]) / spacing - 1e-9))
    j_last = int(np.floor((max(segment[1], segment[4]) + radius - place[1]) / spacing + 1e-9))
    i_first, i_last = max(i_first, 0), min(i_last, z.shape[1] - 1)
    j_first, j_last = max(j_first, band[0]), min(j_last, band[1] - 1)
    if i_first > i_last or j_first > j_last:
        return 0.0, 0.0
    low = min(segment[2], segment[5])
    course = course_of(segment)
    deepest, total = 0.0, 0.0
    for tj in range(j_first // TILE, j_last // TILE + 1):
        for ti in range(i_first // TILE, i_last // TILE + 1):
            if tiles[tj, ti] <= low:
                continue
            # Where the body is wider, it stands above all of the tile.
            wide = width_at(shape, tiles[tj, ti] - low)
            if _nearest(place, segment, course, tj, ti) > wide:
                continue
            depth, taken, topmost = visit_tile(
                z,
                place,
                segment,
                course,
                shape,
                (max(j_first, tj * TILE), min(j_last, tj * TILE + TILE - 1)),
                (max(i_first, ti * TILE), min(i_last, ti * TILE + TILE - 1)),
                wide,
                tiles[tj, ti],
                does,
            )
            deepest = max(deepest, depth)
            total += taken
            if topmost:
                tiles[tj, ti] = _top_of(z, tj, ti)
    return deepest, total


@inner_kernel
def _nearest(
    place: Place,
    segment: Segment,
    course: Course,
    tj: int,
    ti: int,
) -> float:
    """Return a distance in the plane that no node of a tile is nearer to a segment than."""
    half = (TILE - 1) / 2
    gx = place[0] + place[2] * (ti * TILE + half) - segment[0]
    gy = place[1] + place[2] * (tj * TILE + half) - segment[1]
    along = min(course[2], max(0.0, gx * course[0] + gy * course[1]))
    gx, gy = gx - along * course[0], gy - along * course[1]
    return max(0.0, float(np.sqrt(gx * gx + gy * gy)) - half * place[2] * 1.4142136)
