"""The half-thickness field of a knife, and the band along its edges.

Blade, guard and handle are each worked out over the nodes they cover; where they meet, the
thickest counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.interpolate import PchipInterpolator

from chape.errors import InputError
from chape.field.distance import distance_to_line
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.knife.grinds import bevel_reach, grind_radius, half_section
from chape.knife.landmarks import cut_at, reach_at, sides_of
from chape.knife.model import Edges

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

    from chape.field.grid import Floats
    from chape.knife.file import GuardTable, HandleTable, KnifeFile

#: The grid reaches this far past the outline on every side, mm.
MARGIN = 2.0

#: A thickness table may stop this short of the part it describes, mm; its end row counts on.
SHORT = 1.0


def half_thickness(outline: Polygon, file: KnifeFile, spacing: float) -> HeightField:
    """Return h(x, y), the half-thickness of a knife.

    Args:
        outline: in the knife frame, mm.
        file: the knife file, in mm.
        spacing: of the grid, mm.

    Returns:
        The field over the outline and ``MARGIN`` around it: 0 outside the outline.

    Raises:
        InputError: a thickness table does not cover its part, the blade is longer than the
            knife, or the grind cannot be.
    """
    _check_lengths(outline, file)
    x_min, y_min, x_max, y_max = outline.bounds
    grid = Grid.over(x_min - MARGIN, y_min - MARGIN, x_max + MARGIN, y_max + MARGIN, spacing)
    x, y = grid.mesh()
    shapely.prepare(outline)
    inside = shapely.intersects_xy(outline, x, y)
    points = np.column_stack([x[inside], y[inside]])
    half = np.zeros(len(points))

    on_blade = points[:, 0] <= file.blade.length
    half[on_blade] = _blade(outline, file, points[on_blade])
    on_handle = points[:, 0] >= file.blade.length
    grip = _handle(outline, file.handle, points[on_handle])
    half[on_handle] = np.maximum(half[on_handle], grip)
    if file.guard is not None:
        on_guard = _within_guard(file.guard, points)
        block = _guard(outline, file.guard, points[on_guard])
        half[on_guard] = np.maximum(half[on_guard], block)

    z = np.zeros(grid.shape)
    z[inside] = half
    return HeightField(grid, z)


def edge_band(outline: Polygon, file: KnifeFile) -> MultiPolygon:
    """Return the part of the outline that nothing may touch.

    It reaches from each edge over its bevel, ``bevel_reach``, and the margin past it.
    """
    reach = bevel_reach(file.blade.behind_edge, file.blade.bevel_angle) + file.blade.edge_margin
    end = edge_end(file)
    return band_along(edge_lines(outline, file.knife.edges, end), outline, end, reach)


def band_along(
    lines: tuple[Floats, ...], outline: Polygon, end: float, reach: float
) -> MultiPolygon:
    """Return what of an outline lies within a reach of its edges, up to where they end, mm."""
    x_min, y_min, _, y_max = outline.bounds
    blade = shapely.box(x_min - 1, y_min - 1, end, y_max + 1)
    edges = shapely.union_all([shapely.LineString(line) for line in lines])
    band = shapely.buffer(edges, reach, quad_segs=32)
    band = shapely.intersection(shapely.intersection(band, outline), blade)
    parts = [part for part in shapely.get_parts(band) if part.geom_type == "Polygon"]
    return shapely.MultiPolygon(parts)


def edge_end(file: KnifeFile) -> float:
    """Return the x where the edge ends: at the guard, or at the blade's end."""
    return file.blade.length if file.guard is None else min(file.guard.start, file.blade.length)


def edge_lines(outline: Polygon, edges: Edges, end: float) -> tuple[Floats, ...]:
    """Return each edge from the tip to x = ``end``, (n, 2) mm: the lower, then the upper if any."""
    sides = sides_of(outline)
    lower = cut_at(sides.lower, end)
    if edges is Edges.SINGLE:
        return (lower,)
    return lower, cut_at(sides.upper, end)


def thickness_at(rows: tuple[tuple[float, float], ...], x: Floats) -> Floats:
    """Return the full thickness at each x, (n,) mm: smooth through the rows, never beyond them."""
    table = np.asarray(rows)
    if len(table) == 1:
        return np.full_like(x, table[0, 1])
    curve = PchipInterpolator(table[:, 0], table[:, 1])
    thickness: Floats = curve(np.clip(x, table[0, 0], table[-1, 0]))
    return thickness


def _blade(outline: Polygon, file: KnifeFile, points: Floats) -> Floats:
    lower = cut_at(sides_of(outline).lower, edge_end(file))
    upper = cut_at(sides_of(outline).upper, edge_end(file))
    below, above = distance_to_line(points, lower), distance_to_line(points, upper)
    distance, width = below, below + above
    if file.knife.edges is Edges.DOUBLE:
        distance, width = np.minimum(below, above), (below + above) / 2
    spine = thickness_at(file.blade.spine_thickness, points[:, 0])
    radius = grind_radius(file.blade, float(width.max()))
    return half_section(distance, width, spine, file.blade, radius)


def _handle(outline: Polygon, handle: HandleTable, points: Floats) -> Floats:
    """Superellipse sections: |2(y - middle)/height|^n + |2z/thickness|^n = 1."""
    columns, which = np.unique(points[:, 0], return_inverse=True)
    lowest, highest = reach_at(outline, columns)
    height = np.maximum(highest - lowest, 1e-9)[which]
    middle = ((lowest + highest) / 2)[which]
    off = np.minimum(np.abs(2 * (points[:, 1] - middle) / height), 1.0)
    section = (1 - off**handle.roundness) ** (1 / handle.roundness)
    half: Floats = thickness_at(handle.thickness, points[:, 0]) / 2 * section
    return half


def _within_guard(guard: GuardTable, points: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    along = (points[:, 0] >= guard.start) & (points[:, 0] <= guard.to)
    if guard.reach is None:
        return along
    return along & (points[:, 1] >= guard.reach[0]) & (points[:, 1] <= guard.reach[1])


def _guard(outline: Polygon, guard: GuardTable, points: Floats) -> Floats:
    """Return a level block whose edges are rounded by a quarter circle."""
    _, y_min, _, y_max = outline.bounds
    low, high = guard.reach or (y_min, y_max)
    block = shapely.intersection(outline, shapely.box(guard.start, low, guard.to, high))
    rounding = min(guard.rounding, guard.thickness / 2, (guard.to - guard.start) / 2)
    inset = np.full(len(points), np.inf)
    for part in shapely.get_parts(block):
        if part.geom_type == "Polygon":
            rim = shapely.get_coordinates(part.exterior)
            inset = np.minimum(inset, distance_to_line(points, rim))
    short = np.maximum(rounding - inset, 0.0)
    drop = rounding - np.sqrt(np.maximum(rounding * rounding - short * short, 0.0))
    half: Floats = guard.thickness / 2 - drop
    return half


def _check_lengths(outline: Polygon, file: KnifeFile) -> None:
    length = outline.bounds[2] - outline.bounds[0]
    blade = file.blade
    if blade.length >= length:
        raise InputError(
            f"the blade is {blade.length:.1f} mm long, but the whole knife only {length:.1f} mm",
            mend="Measure the blade from its tip to the front of guard or handle",
            field="blade.length",
        )
    if file.guard is not None and not blade.length - 40 <= file.guard.start <= length:
        raise InputError(
            f"the guard starts at x = {file.guard.start:.1f} mm, away from the blade's end at "
            f"{blade.length:.1f} mm",
            mend="Measure the guard from the blade's tip too",
            field="guard.from",
        )
    handle_start = blade.length if file.guard is None else max(blade.length, file.guard.to)
    _check_cover(blade.spine_thickness, 0.0, blade.length, "blade.spine_thickness")
    _check_cover(file.handle.thickness, handle_start, length, "handle.thickness")


def _check_cover(rows: tuple[tuple[float, float], ...], start: float, end: float, key: str) -> None:
    first, last = rows[0][0], rows[-1][0]
    if first > start + SHORT:
        raise InputError(
            f"the first row stands at x = {first:.1f} mm, but this part starts at {start:.1f} mm",
            mend=f"Add a row at {start:.1f} mm",
            field=key,
        )
    if last < end - SHORT:
        raise InputError(
            f"the last row stands at x = {last:.1f} mm, but this part ends at {end:.1f} mm",
            mend=f"Add a row at {end:.1f} mm",
            field=key,
        )
