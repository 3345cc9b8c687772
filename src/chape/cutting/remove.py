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

import numba
import numpy as np
import numpy.typing as npt

from chape.cutting.sweep import course_of, disc, height_over, profile, shape_of, surely_clear
from chape.field.heights import HeightField
from chape.kernels import kernel, parallel_kernel

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
#: Whether a sweep cuts or only looks.
LOOK, CUT = False, True
#: Rows of tiles in a band.
BAND = 4
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
    bodies = np.vstack([_bodies(cutter) for cutter in cutters]) if cutters else np.empty((0, 17))
    count = len(segments.cutter)
    depths = np.zeros((4, count), dtype=np.float32)
    place = (grid.x0, grid.y0, grid.spacing)
    bands = -(-tiles.shape[0] // BAND)
    for first in range(0, count, CHUNK):
        last = min(first + CHUNK, count)
        found = np.zeros((bands, 4, last - first), dtype=np.float32)
        _remove(
            z,
            tiles,
            place,
            np.ascontiguousarray(segments.ends[first:last]),
            segments.cutter[first:last],
            segments.rapid[first:last],
            bodies,
            found,
        )
        depths[:, first:last] = found.max(axis=0)
    return Removal(HeightField(grid, z), depths[0], depths[1], depths[2], depths[3])


def _bodies(cutter: Cutter) -> Floats:
    """Return (17,) cutter shape, shank shape and lift, holder shape and lift."""
    # Where the flutes end the shank begins; one thinner than the cutter still is a body there.
    shank = max(0.0, cutter.shank_diameter / 2 - SLIDE)
    return np.concatenate(
        [
            shape_of(cutter),
            disc(shank),
            [cutter.flute_length],
            disc(cutter.holder_diameter / 2),
            [cutter.stick_out],
        ]
    )


@kernel
def _tile_tops(z: Floats) -> Floats:
    """Return the highest node of every tile."""
    rows, columns = z.shape
    tops = np.full(((rows + TILE - 1) // TILE, (columns + TILE - 1) // TILE), -np.inf)
    for j in range(rows):
        for i in range(columns):
            tops[j // TILE, i // TILE] = max(tops[j // TILE, i // TILE], z[j, i])
    return tops


@parallel_kernel
def _remove(
    z: Floats,
    tiles: Floats,
    place: Place,
    ends: Floats,
    cutter: npt.NDArray[np.int32],
    rapid: npt.NDArray[np.bool_],
    bodies: Floats,
    found: Depths,
) -> None:
    """Run all segments over every band of rows; ``found[band, kind, segment]`` takes depths."""
    for band in numba.prange(found.shape[0]):
        top = -np.inf
        for tj in range(band * BAND, min((band + 1) * BAND, tiles.shape[0])):
            top = max(top, tiles[tj].max())
        front = place[1] + place[2] * band * BAND * TILE
        back = front + place[2] * BAND * TILE
        for n in range(len(ends)):
            low = min(ends[n, 2], ends[n, 5])
            widest = max(bodies[cutter[n], 4], bodies[cutter[n], 9], bodies[cutter[n], 15])
            if (
                low >= top
                or max(ends[n, 1], ends[n, 4]) + widest < front
                or min(ends[n, 1], ends[n, 4]) - widest > back
            ):
                continue
            e = ends[n]
            segment = (e[0], e[1], e[2], e[3], e[4], e[5])
            body = bodies[cutter[n]]
            shape = _shape(body, 0)
            if low + body[16] < top:
                lifted = _lifted(segment, body[16])
                found[band, 1, n] = _visit(z, tiles, place, band, lifted, _shape(body, 11), LOOK)
            if low + body[10] < top and body[9] > 0:
                lifted = _lifted(segment, body[10])
                found[band, 2, n] = _visit(z, tiles, place, band, lifted, _shape(body, 5), LOOK)
            if rapid[n]:
                found[band, 3, n] = _stray(z, tiles, place, band, segment, shape)
            found[band, 0, n] = _visit(z, tiles, place, band, segment, shape, CUT)


@kernel
def _shape(body: Floats, first: int) -> Shape:
    """Return five figures of a row of ``_bodies`` as a shape."""
    return body[first], body[first + 1], body[first + 2], body[first + 3], body[first + 4]


@kernel
def _lifted(segment: Segment, lift: float) -> Segment:
    """Return a segment raised by ``lift``."""
    x, y, z, x_end, y_end, z_end = segment
    return x, y, z + lift, x_end, y_end, z_end + lift


@kernel
def _stray(
    z: Floats, tiles: Floats, place: Place, band: int, segment: Segment, shape: Shape
) -> float:
    """Return how deep a rapid may cut if the machine moves one axis before the other.

    Every such path stays in the box between start and end, at the lower of the two heights.
    """
    moved = 0
    for axis in range(3):
        if abs(segment[axis + 3] - segment[axis]) > 1e-6:
            moved += 1
    if moved < 2:
        return 0.0
    low = min(segment[2], segment[5])
    y, y_end = min(segment[1], segment[4]), max(segment[1], segment[4])
    line = (segment[0], y, low, segment[3], y, low)
    deepest = _visit(z, tiles, place, band, line, shape, LOOK)
    while y < y_end:
        y = min(y + shape[4], y_end)
        line = (segment[0], y, low, segment[3], y, low)
        deepest = max(deepest, _visit(z, tiles, place, band, line, shape, LOOK))
    return deepest


@kernel
def _visit(
    z: Floats,
    tiles: Floats,
    place: Place,
    band: int,
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
    j_first = max(j_first, band * BAND * TILE)
    j_last = min(j_last, rows - 1, (band + 1) * BAND * TILE - 1)
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
