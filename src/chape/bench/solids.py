"""What the page shows in three dimensions: knife, closed sheath, formed blank, blocks of material.

Grids are sampled no more finely than a screen shows. Values to colour by stand at the vertices.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage
from scipy.spatial import cKDTree

from chape.field.envelope import Body, dilate
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.skin import cut_to, skin
from chape.field.solid import Solid
from chape.field.surface import solid_below
from chape.sheath.cavity import near
from chape.sheath.closed import FAR, clearance, walls_of
from chape.sheath.halves import piece_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.field.solid import Indices
    from chape.knife.model import Knife
    from chape.sheath.model import Piece, Sheath
    from chape.tooling.model import RoundHole

#: Sheets and knives are shown on a grid no finer than this, mm.
SHOWN = 0.8

#: Blocks follow their height fields within this, mm; coarser where that takes too many triangles.
FAITHFUL = 0.02

#: The knife's edge is shown as thick as this, mm: a body of no thickness is none.
EDGE = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Shaded:
    """A solid with values to colour it by.

    Attributes:
        values: (n,) of its vertices, mm, NaN for none; None for a plain one.
    """

    solid: Solid
    values: Floats | None = None


def knife_body(knife: Knife) -> Solid:
    """Return a knife, its rim the true outline."""
    half = coarser(knife.half, SHOWN)
    # Carried on past the outline, so that the spine stands upright there; the edge stays sharp.
    nowhere = half.z <= 0
    nearest = ndimage.distance_transform_edt(nowhere, return_distances=False, return_indices=True)
    by_edge = near(knife.edge_band, half.grid, 1.5 * half.grid.spacing)
    # Handles are round there.
    round_off = nowhere & (by_edge | (half.grid.x > knife.blade_length)[None, :])
    thick = np.where(round_off, 0.0, half.z[tuple(nearest)]) + EDGE / 2
    return cut_to(skin(half.with_z(-thick), half.with_z(thick)), knife.outline)


def knife_by_clearance(sheath: Sheath) -> Shaded:
    """Return the knife, coloured by how far it is from the closed sheath it is home in."""
    solid = knife_body(sheath.knife)
    points = solid.vertices
    values = np.full(len(points), np.nan)
    for upper in (False, True):
        here = (points[:, 2] < 0) == upper
        here &= points[:, 0] < sheath.mouth_x
        on_knife = _over(points[here])
        on_knife[:, 2] = np.minimum(on_knife[:, 2], sheath.knife.half.at(on_knife[:, :2]))
        values[here] = clearance(walls_of(sheath, upper=upper), on_knife)
    values[values >= FAR] = np.nan
    return Shaded(solid, values)


def closed_sheath(sheath: Sheath, walls: tuple[HeightField, ...] | None, shade: str) -> Shaded:
    """Return the formed and trimmed sheath, folded or laid together.

    Args:
        sheath: as designed.
        walls: thickness of the formed sheet over each piece's flat frame, mm; None for a sheet
            that forming has not thinned.
        shade: "thickness", "clearance" from the knife, or "none".
    """
    gauge = float(sheath.sheet.gauge.value)
    vertices: list[Floats] = []
    triangles: list[Indices] = []
    values: list[Floats] = []
    count = 0
    for number, piece in enumerate(sheath.pieces):
        inside = coarser(piece.formed, SHOWN)
        wall = None if walls is None else walls[number]
        flat = cut_to(skin(inside, _outside(inside, gauge, wall)), _trimmed(piece))
        vertices.append(_closed(sheath, piece, flat.vertices))
        triangles.append(flat.triangles + np.int32(count))
        count += len(flat.vertices)
        under = flat.vertices[:, :2]
        if shade == "thickness":
            values.append(np.full(len(under), gauge) if wall is None else wall.at(under))
        elif shade == "clearance":
            points = np.column_stack([under, inside.at(under)])
            values.append(_from_knife(sheath.knife, _closed(sheath, piece, points)))
    told = np.concatenate(values) if values else None
    return Shaded(Solid(np.vstack(vertices), np.vstack(triangles)), told)


def formed_blank(
    formed: HeightField, gauge: float, kept: HeightField | None, *, shaded: bool
) -> Shaded:
    """Return the formed blank as it comes off the mould.

    Args:
        formed: its inside.
        gauge: of the sheet, mm.
        kept: share of it that is left over the blank's plan; None for all of it.
        shaded: coloured by its thickness.
    """
    inside = coarser(formed, 2 * SHOWN)
    wall = None if kept is None else kept.with_z(gauge * kept.z)
    solid = skin(inside, _outside(inside, gauge, wall))
    if not shaded:
        return Shaded(solid)
    under = solid.vertices[:, :2]
    return Shaded(solid, np.full(len(under), gauge) if wall is None else wall.at(under))


def block(
    surface: HeightField, z_bottom: float, most: int, values: HeightField | None = None
) -> Shaded:
    """Return the block of material under a surface.

    Args:
        surface: its top.
        z_bottom: its underside, mm.
        most: triangles about, or fewer.
        values: to colour its top by, mm.
    """
    surface = coarser(surface, 0.0, most=6 * most)
    surface = surface.with_z(np.maximum(surface.z, z_bottom + EDGE))
    tolerance = FAITHFUL
    solid = solid_below(surface, z_bottom, tolerance)
    while len(solid.triangles) > most and tolerance < 1.0:
        tolerance *= 2
        solid = solid_below(surface, z_bottom, tolerance)
    if values is None:
        return Shaded(solid)
    told = values.at(solid.vertices[:, :2])
    told[solid.vertices[:, 2] <= z_bottom] = np.nan
    return Shaded(solid, told)


def drilled(surface: HeightField, holes: Iterable[RoundHole]) -> HeightField:
    """Return a surface with round holes sunk into it, as far as its grid shows them."""
    z, grid = surface.z.copy(), surface.grid
    for hole in holes:
        radius = hole.diameter / 2
        columns = np.flatnonzero(np.abs(grid.x - hole.x) <= radius)
        rows = np.flatnonzero(np.abs(grid.y - hole.y) <= radius)
        away = np.hypot(grid.x[columns] - hole.x, (grid.y[rows] - hole.y)[:, None])
        part = z[np.ix_(rows, columns)]
        z[np.ix_(rows, columns)] = np.where(away <= radius, np.minimum(part, hole.z_bottom), part)
    return surface.with_z(z)


def coarser(field: HeightField, spacing: float, most: int | None = None) -> HeightField:
    """Return a field on every so manieth of its nodes, its middle row among them.

    Args:
        field: with more nodes than are shown.
        spacing: wanted, mm; a finer grid is thinned to about that.
        most: nodes about, or fewer.
    """
    grid = field.grid
    step = max(1, round(spacing / grid.spacing))
    while most is not None and (grid.nx // step) * (grid.ny // step) > most:
        step += 1
    first = ((grid.ny - 1) // 2) % step
    z = field.z[first::step, ::step]
    ny, nx = z.shape
    if min(ny, nx) < 2 or step == 1:
        return field
    thinned = Grid(grid.x0, grid.y0 + first * grid.spacing, step * grid.spacing, nx, ny)
    return HeightField(thinned, z)


def _outside(inside: HeightField, gauge: float, wall: HeightField | None) -> HeightField:
    """Return a sheet's outside: a ball of its gauge rolled over it, less what was drawn off."""
    outside = dilate(inside, replace(Body.ball(gauge), lift=gauge))
    if wall is None:
        return outside
    x, y = inside.grid.mesh()
    share = wall.at(np.column_stack([x.ravel(), y.ravel()])).reshape(x.shape) / gauge
    return inside.with_z(inside.z + np.maximum(0.05, share) * (outside.z - inside.z))


def _trimmed(piece: Piece) -> Polygon:
    """Return a piece's outline with its holes and slots open, flat frame."""
    open_ = [
        shapely.Point(hole.u, hole.v).buffer(hole.diameter / 2, quad_segs=8) for hole in piece.holes
    ]
    open_ += [slot.area(0.05) for slot in piece.slots]
    trimmed: Polygon = piece.pattern.polygon(0.02).difference(shapely.union_all(open_))
    return trimmed


def _closed(sheath: Sheath, piece: Piece, flat: Floats) -> Floats:
    """Return where points (n, 3) of a piece as it is formed come in the closed sheath."""
    u, v, z = flat.T
    fold = sheath.fold
    if fold is None:
        side = -1.0 if piece is piece_of(sheath, upper=True) else 1.0
        return np.column_stack([u, side * v, side * z])
    end = np.interp(u, fold.x, fold.end)
    strip, away = fold.line - end, np.abs(v)
    # The strip bends evenly through a quarter circle on either side of the fold line.
    turn = np.pi / 2 * np.clip(1 - away / strip, 0.0, 1.0)
    y = np.where(away < strip, end + z * np.sin(turn), fold.line - away)
    return np.column_stack([u, y, np.where(v > 0, -1.0, 1.0) * z * np.cos(turn)])


def _from_knife(knife: Knife, points: Floats) -> Floats:
    """Return how far points (n, 3) are from the knife, less than 0 in it, NaN beyond ``FAR``."""
    half = coarser(knife.half, SHOWN)
    spacing = half.grid.spacing
    rows, columns = np.nonzero(half.z > 0)
    by_y = np.gradient(half.z, spacing, axis=0)[rows, columns]
    by_x = np.gradient(half.z, spacing, axis=1)[rows, columns]
    normal = np.column_stack([-by_x, -by_y, np.ones_like(by_x)])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    surface = np.column_stack([half.grid.x[columns], half.grid.y[rows], half.z[rows, columns]])
    mirrored = _over(points)
    found = cKDTree(surface).query(mirrored, distance_upper_bound=FAR)
    far, nearest = np.asarray(found[0]), np.asarray(found[1])
    told = np.full(len(points), np.nan)
    seen = np.isfinite(far)
    nearest = nearest[seen]
    off = np.einsum("ij,ij->i", mirrored[seen] - surface[nearest], normal[nearest])
    beside = np.sqrt(np.maximum(far[seen] ** 2 - off**2, 0.0))
    # Between its nodes the surface goes on level with them; what lies under it is in the knife.
    beside = np.maximum(beside - 0.75 * spacing, 0.0)
    told[seen] = np.where(beside > 0, np.hypot(off, beside), off)
    return told


def _over(points: Floats) -> Floats:
    """Return points (n, 3), those under the mid-plane mirrored over it."""
    return np.column_stack([points[:, :2], np.abs(points[:, 2])])
