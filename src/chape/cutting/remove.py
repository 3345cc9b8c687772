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
from chape.cutting.sweep import course_of, disc, height_over, profile, shape_of, surely_clear
from chape.field.heights import HeightField
from chape.kernels import kernel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Cutter
    from chape.cutting.segments import Segments
    from chape.cutting.sweep import Course, Segment, Shape
    from chape.field.grid import Floats

Depths = npt.NDArray[np.float32]

#: First node and spacing of a grid, mm.
Place = tuple[float, float, float]

TILE = 16
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
    """

    stock: HeightField
    cut: Depths
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
    for first in range(0, count, CHUNK):
        piece = slice(first, min(first + CHUNK, count))
        ends, cutter, rapid = segments.ends[piece], segments.cutter[piece], segments.rapid[piece]
        found = np.zeros((-(-grid.ny // BAND), 4, len(ends)), dtype=np.float32)

        def work(low: int, high: int) -> None:
            band = low // BAND
            rows = (low, high)
            _remove_band(z, tiles, place, rows, ends, cutter, rapid, bodies, found[band])  # noqa: B023 -- done before the next chunk

        over_bands(work, grid.ny, BAND)
        depths[:, piece] = found.max(axis=0)
    return Removal(HeightField(grid, z), depths[2], depths[0], depths[1], depths[3])


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
    tops = np.full(((rows + TILE - 1) // TILE, (columns + TILE - 1) // TILE), -np.inf)
    for j in range(rows):
        for i in range(columns):
            tops[j // TILE, i // TILE] = max(tops[j // TILE, i // TILE], z[j, i])
    return tops


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

    Kinds are holder, shank, cutter, and the cutter on a rapid that strays.
    """
    top = tiles[rows[0] // TILE : (rows[1] - 1) // TILE + 1].max()
    front, back = place[1] + place[2] * rows[0], place[1] + place[2] * rows[1]
    for n in range(len(ends)):
        e = ends[n]
        segment = (e[0], e[1], e[2], e[3], e[4], e[5])
        body = bodies[cutter[n]]
        low, widest = min(e[2], e[5]), body[:, 4].max()
        if low >= top or max(e[1], e[4]) + widest < front or min(e[1], e[4]) - widest > back:
            continue
        lanes = _lanes(segment, body[2, 4]) if rapid[n] else 0
        # Strays first, then holder and shank, and the cutter last: all see the stock before it.
        for sweep in range(lanes + 3):
            kind = max(sweep - lanes, 0) if sweep >= lanes else 3
            b = body[min(kind, 2)]
            if low + b[5] >= top or b[4] <= 0:
                continue
            path = _lane(segment, sweep, b[4]) if kind == 3 else _lifted(segment, b[5])
            shape = (b[0], b[1], b[2], b[3], b[4])
            depth = _visit(z, tiles, place, rows, path, shape, kind == 2)
            found[kind, n] = max(found[kind, n], depth)


@kernel
def _lifted(segment: Segment, lift: float) -> Segment:
    """Return a segment raised by ``lift``."""
    x, y, z, x_end, y_end, z_end = segment
    return x, y, z + lift, x_end, y_end, z_end + lift


@kernel
def _lanes(segment: Segment, radius: float) -> int:
    """Return how many lanes cover the box a rapid may stray in, 0 where it cannot.

    A machine that moves one axis before the other stays in the box between start and end, at the
    lower of the two heights.
    """
    moved = 0
    for axis in range(3):
        if abs(segment[axis + 3] - segment[axis]) > 1e-6:
            moved += 1
    if moved < 2:
        return 0
    return int(np.ceil(abs(segment[4] - segment[1]) / radius)) + 1


@kernel
def _lane(segment: Segment, number: int, radius: float) -> Segment:
    """Return one lane along x of the box between a rapid's start and end."""
    low = min(segment[2], segment[5])
    first, last = min(segment[1], segment[4]), max(segment[1], segment[4])
    y = min(first + number * radius, last)
    return segment[0], y, low, segment[3], y, low


@kernel
def _visit(
    z: Floats,
    tiles: Floats,
    place: Place,
    band: tuple[int, int],
    segment: Segment,
    shape: Shape,
    cuts: bool,  # noqa: FBT001  # compiled functions take no keywords
) -> float:
    """Sweep one body over one band; return how deep it enters, and cut when told to."""
    spacing, radius = place[2], shape[4]
    rows, columns = z.shape
    i_first = int(np.ceil((min(segment[0], segment[3]) - radius - place[0]) / spacing - 1e-9))
    i_last = int(np.floor((max(segment[0], segment[3]) + radius - place[0]) / spacing + 1e-9))
    j_first = int(np.ceil((min(segment[1], segment[4]) - radius - place[1]) / spacing - 1e-9))
    j_last = int(np.floor((max(segment[1], segment[4]) + radius - place[1]) / spacing + 1e-9))
    i_first, i_last = max(i_first, 0), min(i_last, columns - 1)
    j_first, j_last = max(j_first, band[0]), min(j_last, band[1] - 1)
    if i_first > i_last or j_first > j_last:
        return 0.0
    low = min(segment[2], segment[5])
    course = course_of(segment)
    deepest = 0.0
    for tj in range(j_first // TILE, j_last // TILE + 1):
        for ti in range(i_first // TILE, i_last // TILE + 1):
            if tiles[tj, ti] <= low:
                continue
            near = _nearest(place, segment, course, tj, ti)
            if near > radius or tiles[tj, ti] <= low + profile(shape, near):
                continue
            depth, topmost = _visit_tile(
                z,
                place,
                segment,
                course,
                shape,
                (max(j_first, tj * TILE), min(j_last, tj * TILE + TILE - 1)),
                (max(i_first, ti * TILE), min(i_last, ti * TILE + TILE - 1)),
                tiles[tj, ti],
                cuts,
            )
            deepest = max(deepest, depth)
            if topmost:
                tiles[tj, ti] = z[
                    tj * TILE : min(rows, tj * TILE + TILE),
                    ti * TILE : min(columns, ti * TILE + TILE),
                ].max()
    return deepest


@kernel
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


@kernel
def _visit_tile(  # noqa: PLR0913, PLR0917  # compiled functions take no records
    z: Floats,
    place: Place,
    segment: Segment,
    course: Course,
    shape: Shape,
    rows: tuple[int, int],
    columns: tuple[int, int],
    top: float,
    cuts: bool,  # noqa: FBT001  # compiled functions take no keywords
) -> tuple[float, bool]:
    """Sweep one body over part of a tile: how deep it enters, whether the top node was cut."""
    deepest, topmost = 0.0, False
    ux, uy = course[0], course[1]
    radius, low = shape[4], min(segment[2], segment[5])
    for j in range(rows[0], rows[1] + 1):
        y = place[1] + place[2] * j
        first, last = columns
        if abs(uy) > 1e-3:
            # Only nodes within a radius of the line can be met; along a row that is one span.
            middle = segment[0] + (y - segment[1]) * ux / uy
            wide = radius / abs(uy)
            first = max(first, int(np.ceil((middle - wide - place[0]) / place[2] - 1e-6)))
            last = min(last, int(np.floor((middle + wide - place[0]) / place[2] + 1e-6)))
        for i in range(first, last + 1):
            rise = z[j, i] - low
            if rise <= 0:
                continue
            x = place[0] + place[2] * i
            gx, gy = x - segment[0], y - segment[1]
            along = min(course[2], max(0.0, gx * ux + gy * uy))
            gx, gy = gx - along * ux, gy - along * uy
            if surely_clear(shape, rise, gx * gx + gy * gy):
                continue
            height = height_over(shape, segment, course, x, y)
            depth = z[j, i] - height
            if depth > 0:
                deepest = max(deepest, depth)
                if cuts:
                    topmost = topmost or z[j, i] >= top
                    z[j, i] = height
    return deepest, topmost
