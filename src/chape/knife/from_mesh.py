"""A knife from a scanned mesh: its pieces, its unit, how it lies, outline, halves, edge band."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.catalog.files import read_bytes
from chape.errors import InputError
from chape.field.distance import distance_to_line
from chape.field.mesh_file import LARGEST_MESH, is_mesh, mesh_of
from chape.field.pieces import at_spikes, gap_between, pieces_of
from chape.field.silhouette import silhouette_of
from chape.knife.file_mesh import Keep, MeshUnit
from chape.knife.grinds import bevel_reach
from chape.knife.mesh_half import halves_of
from chape.knife.mesh_pose import lay, seen
from chape.knife.mesh_words import remarks_of, size_of, unit_of
from chape.knife.profile import bevel_width
from chape.knife.thickness import band_along, edge_lines

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.findings import Finding
    from chape.knife.file_mesh import Heading, MeshTable
    from chape.knife.mesh_pose import Laid
    from chape.knife.model import Edges

#: The outline is traced on a grid this fine, mm, whatever the design's.
FINE = 0.1

#: Corners of the traced outline that lie this near to a straight line are left out, mm.
STRAIGHTEN = 0.01

#: A thin thing that stands out of the outline further than the second number, mm, and is thinner
#: than twice the first, is a speck of the scan; a blade's tip is kept.
SPECK_WIDTH, SPECK_LENGTH, TIP_KEPT = 0.15, 0.5, 5.0

#: A closed piece is part of the knife where it is larger than this share of the largest piece and
#: this near to it, mm.
PART_SHARE, PART_GAP = 0.002, 1.0

#: The knife is looked for among so many pieces.
MOST_LOOKED_AT = 12

#: Where no bevel shows: full thickness behind it and its angle, as a knife file has them.
DEFAULT_BEVEL = bevel_reach(0.5, 20.0)


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredMesh:
    """A knife as its mesh tells it, in the knife frame, mm.

    Attributes:
        outline, half, edge_band, blade_length: as of a ``Knife``.
        bevel_width: how far the bevel reaches from the edge, seen from the side.
        tip, edge: where they point in the mesh's own file.
        unit: what the file was taken to be drawn in; None for one that no knife file names.
        apart: how far the two halves differ.
        remarks: what the person should know of how it was read.
    """

    outline: Polygon
    half: HeightField
    edge_band: MultiPolygon
    blade_length: float
    bevel_width: float
    tip: Heading
    edge: Heading
    unit: MeshUnit | None
    apart: float
    remarks: tuple[Finding, ...]


def measure_mesh(
    table: MeshTable, edges: Edges, spacing: float, folder: Path | None = None
) -> MeasuredMesh:
    """Measure the knife of a mesh file.

    Args:
        table: the ``[mesh]`` table, lengths in mm.
        edges: single or double.
        spacing: of the half-thickness grid, mm.
        folder: the mesh's name is taken from here.

    Raises:
        InputError: the file cannot be read, or what it holds is no knife, or not enough of one.
    """
    path = mesh_path(table, folder)
    try:
        mesh = mesh_of(read_bytes(path, LARGEST_MESH))
        triangles, left_out = knife_pieces(mesh.triangles, table.keep)
        factor, guessed = unit_of(triangles, mesh.in_mm, table.unit)
        laid = _laid(triangles * factor, table, edges)
        outline = _outline(laid.triangles)
        halves = halves_of(laid.triangles, outline, spacing)
    except InputError as error:
        raise (error.in_file(path) if error.file is None else error) from None
    lines = edge_lines(outline, edges, laid.blade_length)
    found = table.bevel_width
    if found is None:
        found = _bevel(laid, lines)
    bevel = DEFAULT_BEVEL if found is None else found
    band = band_along(lines, outline, laid.blade_length, bevel + table.edge_margin)
    remarks = remarks_of(laid, halves, bevel, left_out, guessed, bevel_shows=found is not None)
    return MeasuredMesh(
        *(outline, halves.half, band, laid.blade_length, bevel),
        *(laid.tip, laid.edge, _named(factor), halves.apart, remarks),
    )


def _named(factor: float) -> MeshUnit | None:
    """Return the unit that has so many mm."""
    return next((unit for unit in MeshUnit if unit.in_mm == factor), None)


def _laid(triangles: Floats, table: MeshTable, edges: Edges) -> Laid:
    """Lay a mesh, needles of the scan left out: holes, where they stood."""
    laid = lay(triangles, table, edges)
    reach = laid.triangles[:, :, 0]
    # The knife's own tip is a needle too.
    away = (reach.min(axis=1) > TIP_KEPT) & (reach.max(axis=1) < reach.max() - TIP_KEPT)
    needles = at_spikes(laid.triangles, SPECK_LENGTH) & away
    if not needles.any():
        return laid
    return lay(triangles[~needles], table, edges)


def mesh_path(table: MeshTable, folder: Path | None) -> Path:
    """Return where the mesh of a table lies.

    Raises:
        InputError: its name is none of a mesh.
    """
    path = (folder or Path()) / table.file
    if not is_mesh(path) or "\0" in table.file:
        raise InputError(
            f"{table.file!r} is no .stl, .ply, .obj or .3mf file",
            mend="Name the scan's mesh",
            field="mesh.file",
        )
    return path


def knife_pieces(triangles: Floats, keep: Keep) -> tuple[Floats, tuple[int, float]]:
    """Return the triangles of the knife; how many pieces were left out, and their share of it all.

    The knife is the piece that takes up most room, for a sheet of the table is flat, with the
    closed ones that lie at it, as blade and scales of a drawn knife do. Specks and the sheet of
    the table are left out.
    """
    if keep is Keep.ALL:
        return triangles, (0, 0.0)
    pieces = pieces_of(triangles)
    if len(pieces.area) == 1:
        return triangles, (0, 0.0)
    largest = np.argsort(-pieces.area, kind="stable")[:MOST_LOOKED_AT]
    rooms = [float(np.prod(size_of(triangles[pieces.number == k]))) for k in largest]
    main = int(largest[int(np.argmax(rooms))])
    kept = np.zeros(len(pieces.area), np.bool_)
    kept[main] = True
    parts = np.flatnonzero(pieces.closed & (pieces.area > PART_SHARE * pieces.area[main]) & ~kept)
    # A part may touch the knife only by way of another one: tried until none is added.
    waiting, changed = list(parts), True
    while waiting and changed:
        here = triangles[kept[pieces.number]]
        near = [k for k in waiting if _is_near(here, triangles[pieces.number == k])]
        kept[near] = True
        waiting, changed = [k for k in waiting if k not in near], bool(near)
    share = float(pieces.area[~kept].sum() / pieces.area.sum())
    return triangles[kept[pieces.number]], (int((~kept).sum()), share)


def _is_near(here: Floats, part: Floats) -> bool:
    # The unit is not known yet: PART_GAP is taken of a knife 250 mm long.
    size = float(np.ptp(here.reshape(-1, 3), axis=0).max())
    return gap_between(here, part) <= PART_GAP * size / 250


def _outline(triangles: Floats) -> Polygon:
    """Return the outline of a mesh in the knife frame, its tip sharp, specks cut off."""
    traced = silhouette_of(triangles, FINE)
    if traced is None or traced.area < 100:
        raise InputError(
            "the mesh holds no region as large as a knife", mend="Save the scan as a mesh again"
        )
    body = traced.buffer(-SPECK_WIDTH).buffer(SPECK_WIDTH * 1.01)
    body = max(shapely.get_parts(body), key=lambda part: part.area, default=traced)
    thin = shapely.get_parts(traced.difference(body))
    rim = shapely.get_coordinates(body.exterior)
    points, of_part = shapely.get_coordinates(thin, return_index=True)
    stands_out = np.zeros(len(thin))
    np.maximum.at(stands_out, of_part, distance_to_line(points, rim))
    kept = thin[
        (shapely.bounds(thin)[:, 0] < traced.bounds[0] + TIP_KEPT) | (stands_out <= SPECK_LENGTH)
    ]
    whole = shapely.union_all([traced.intersection(body), *kept])
    whole = max(shapely.get_parts(whole), key=lambda part: part.area)
    corners = triangles.reshape(-1, 3)
    tip = corners[np.argmin(corners[:, 0]), :2]
    rim = shapely.get_coordinates(whole.exterior)
    near = rim[rim[:, 0] < whole.bounds[0] + 2 * FINE]
    if np.hypot(*(near - tip).T).min() < TIP_KEPT:
        point = shapely.MultiPoint(np.vstack([near, tip])).convex_hull
        whole = shapely.union(whole, point)
    whole = max(shapely.get_parts(whole), key=lambda part: part.area)
    plain = shapely.Polygon(whole.exterior).simplify(STRAIGHTEN)
    return shapely.geometry.polygon.orient(plain)


def _bevel(laid: Laid, lines: tuple[Floats, ...]) -> float | None:
    """Return the bevel's reach as the thickness beside the edge tells it, mm."""
    on_blade = laid.triangles[:, :, 0].min(axis=1) < laid.blade_length
    view = seen(laid.triangles[on_blade], FINE)
    x, y = view.grid.mesh()
    there = view.solid
    there &= (x > 0.2 * laid.blade_length) & (x < 0.9 * laid.blade_length)
    # Every fourth column tells as much.
    there[:, np.arange(there.shape[1]) % 4 > 0] = False
    points = np.column_stack([x[there], y[there]])
    if len(points) == 0:
        return None
    distances = [distance_to_line(points, line) for line in lines]
    distance = np.minimum.reduce(distances)
    half = (view.top - view.bottom)[there] / 2
    width = float(np.ptp(points[:, 1])) / len(lines)
    return bevel_width(distance, half, width)
