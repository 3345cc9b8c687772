"""The half-cavity around a knife, before it is folded.

    H0  the knife's half field, raised by the clearance, and a clearance body slid over it: a disc
        as wide as the clearance beside, whose walls fall at the draft
    H1  H0 after the draw: ``hold.snapped``
    tip pads come down from H1 to touch the flats behind the edge

All of it is worked out on nodes of the sheath's own grid, whose last row lies on the fold line;
locating is exact between the knife's nodes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, radians, sqrt, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.field.distance import distance_to_line
from chape.field.envelope import Body, locate
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.hold import draw_envelope, snapped
from chape.sheath.model import Style

if TYPE_CHECKING:
    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats
    from chape.knife.model import Knife
    from chape.sheath.model import SheathChoices

#: The clearance above changes from blade to handle over this length, mm.
BLEND = 6.0

#: What lies outside the knife is this far down, mm: steeper than any draft within one cell.
NOTHING = -60.0

#: Outside corners of the mould are rounded by this, mm: sharper ones thin the sheet. Common
#: practice asks for half the gauge at least; no source.
ROUNDING = 1.0

#: The flare fades out over this distance from the strip, mm: the fold keeps its radius.
FLARE_FADE = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Cavity:
    """The half-cavity and what it came from, all over one grid of the sheath frame.

    Attributes:
        home: H0, around the knife at home.
        envelope: E, its draw envelope.
        shape: H1 with tip pads, what is asked of the mould.
    """

    home: HeightField
    envelope: HeightField
    shape: HeightField


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """What of a half-cavity does not depend on its snap depth, all over one grid.

    Attributes:
        home: H0, around the knife at home.
        envelope: E, its draw envelope.
        edge_envelope: that of the edge band alone, or of the whole blade in a paired sheath: no
            snap depth lowers it.
        touch: as low as a tip pad may come.
        pads: (ny, nx) how far each node comes down to it, 0 to 1.
    """

    home: HeightField
    envelope: HeightField
    edge_envelope: HeightField
    touch: HeightField
    pads: Floats


def smooth_step(t: Floats) -> Floats:
    """Return 0 below 0, 1 above 1, and half a cosine wave between."""
    step: Floats = (1 - np.cos(np.pi * np.clip(t, 0.0, 1.0))) / 2
    return step


def above_of(x: Floats, knife: Knife, choices: SheathChoices) -> Floats:
    """Return the clearance asked for above the knife, mm: blade, then handle, blended between.

    The blend lies where the larger of the two is kept for the whole of its own region. The
    knife's uncertainty is added.
    """
    clearance = choices.clearance
    start = knife.blade_length - (BLEND if clearance.handle > clearance.blade else 0.0)
    share = smooth_step((x - start) / BLEND)
    return clearance.blade + (clearance.handle - clearance.blade) * share + knife.uncertainty


def near(region: BaseGeometry, grid: Grid, distance: float) -> npt.NDArray[np.bool_]:
    """Mark the nodes (ny, nx) of a grid within a distance of a region."""
    grown = region.buffer(distance) if distance else region
    shapely.prepare(grown)
    marked: npt.NDArray[np.bool_] = shapely.contains_xy(grown, *grid.mesh())
    return marked


@lru_cache(maxsize=4)
def widened(knife: Knife) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return half-thickness and region of the knife, grown to every node that shares a cell.

    An outline runs between nodes; a surface that ended at the last node inside would fall short
    of it. So nodes just outside take the thickness of their neighbours, which is never less than
    the knife. Kept for the next time, so they cannot be changed.
    """
    half = knife.half
    mask = near(knife.outline, half.grid, sqrt(2) * half.grid.spacing)
    inside = near(knife.outline, half.grid, 0.0)
    beside = ndimage.maximum_filter(half.z, size=3)
    grown = np.where(inside, half.z, np.where(mask, beside, 0.0))
    for kept in (grown, mask):
        kept.setflags(write=False)
    return grown, mask


@lru_cache(maxsize=4)
def edge_nodes(knife: Knife) -> npt.NDArray[np.bool_]:
    """Mark the nodes of the knife's grid that share a cell with its edge band; as ``widened``."""
    grid = knife.half.grid
    marked = near(knife.edge_band, grid, sqrt(2) * grid.spacing)
    marked.setflags(write=False)
    return marked


def make_cavity(knife: Knife, choices: SheathChoices, grid: Grid, strip_end: Floats) -> Cavity:
    """Return the half-cavity of a sheath.

    Args:
        knife: what goes in.
        choices: clearances, snap depth, tip pads and mouth.
        grid: nodes of the sheath frame.
        strip_end: (nx,) y where the fold's strip begins, mm; the flare keeps away from it.
    """
    return shaped(surroundings_of(knife, choices, grid), knife, choices, strip_end)


def surroundings_of(knife: Knife, choices: SheathChoices, grid: Grid) -> Surroundings:
    """Return what of a half-cavity does not depend on its snap depth; as ``make_cavity``."""
    source = knife.half.grid
    half, mask = widened(knife)
    x, _ = source.mesh()
    asked = np.where(mask, half + above_of(x, knife, choices), NOTHING)
    edge = edge_nodes(knife)
    blade, handle = _around(knife, choices, asked, grid)
    home = HeightField(grid, np.maximum(blade, handle))
    band = np.where(edge, asked, NOTHING)
    draft, side = radians(choices.clearance.draft), choices.clearance.side + knife.uncertainty
    edge_home = _drafted(HeightField(source, band), knife.edge_band, side, draft, grid)
    if choices.style is Style.PAIRED:
        home = home.with_z(np.maximum(home.z, edge_home.z))
    # Both are upper bounds, and the edge's true cavity lies inside the whole knife's.
    edge_home = home.with_z(np.minimum(edge_home.z, home.z))
    envelope, edge_envelope = draw_envelope(home), draw_envelope(edge_home)
    # As high as the knife is anywhere within a cell, so that a pad touches and never presses.
    cell = Body.flat(grid.spacing / sqrt(2))
    bare = np.maximum(locate(HeightField(source, half), points_of(grid), cell), 0.0)
    passing = draw_envelope(HeightField(grid, bare.reshape(grid.shape)))
    touch = home.with_z(np.maximum(passing.z, edge_envelope.z))
    if choices.style is Style.PAIRED:
        # The spine's wall would rub along the whole blade, where a fold gives it its own room.
        along = draw_envelope(HeightField(grid, blade))
        edge_envelope = home.with_z(np.maximum(edge_envelope.z, along.z))
    return Surroundings(home, envelope, edge_envelope, touch, pad_weights(knife, choices, grid))


def shaped(around: Surroundings, knife: Knife, choices: SheathChoices, strip_end: Floats) -> Cavity:
    """Return the half-cavity that reaches as deep as the choices say; as ``make_cavity``."""
    shape = snapped(around.home, around.envelope, around.edge_envelope, choices.snap_depth)
    lowered = shape.z + around.pads * np.minimum(0.0, around.touch.z - shape.z)
    opened = _flared(shape.with_z(lowered), knife, choices, strip_end)
    return Cavity(around.home, around.envelope, opened)


def pad_weights(knife: Knife, choices: SheathChoices, grid: Grid) -> Floats:
    """Return (ny, nx) how far each node comes down to touch the knife: 1 on a pad, 0 away from it.

    Pads lie on the knife, from ``start`` to ``end`` behind the tip, and keep the side clearance
    from the edge band; on a double-edged blade that leaves the middle ridge. They ramp down from
    every side, so that the sheet can follow.
    """
    weights = np.zeros(grid.shape)
    wanted = choices.tip_pads
    if wanted is None:
        return weights
    side = choices.clearance.side + knife.uncertainty
    flats = knife.outline.difference(knife.edge_band.buffer(side))
    x, y = grid.mesh()
    along = np.minimum(x - wanted.start, wanted.end - x) / wanted.ramp
    columns = along[0] > 0
    if flats.is_empty or not columns.any():
        return weights
    x, y = x[:, columns], y[:, columns]
    shapely.prepare(flats)
    inside = shapely.contains_xy(flats, x, y)
    across = np.zeros(x.shape)
    across[inside] = rim_distance(flats, np.column_stack([x[inside], y[inside]]))
    # Across the blade there is less room than along it: a ramp of a third is still gentle.
    weights[:, columns] = smooth_step(along[:, columns]) * smooth_step(3 * across / wanted.ramp)
    return weights


def sheath_grid(x_min: float, y_min: float, x_max: float, fold_line: float, spacing: float) -> Grid:
    """Return a grid over the half-sheath whose last row lies on the fold line."""
    i = floor(x_min / spacing)
    nx = ceil(x_max / spacing) - i + 1
    ny = ceil((fold_line - y_min) / spacing) + 1
    return Grid(i * spacing, fold_line - (ny - 1) * spacing, spacing, nx, ny)


def points_of(grid: Grid) -> Floats:
    """Return the nodes of a grid row by row, (ny * nx, 2)."""
    x, y = grid.mesh()
    return np.column_stack([x.ravel(), y.ravel()])


def _flared(
    shape: HeightField, knife: Knife, choices: SheathChoices, strip_end: Floats
) -> HeightField:
    """Open the cavity towards its mouth; walls stay drafted and move out a little."""
    mouth, grid = choices.mouth, shape.grid
    start = knife.blade_length + mouth.wrap - mouth.flare_length
    first = int(np.searchsorted(grid.x, start - mouth.flare_length))
    if mouth.flare == 0 or first >= grid.nx - 1:
        return shape
    part = Grid(float(grid.x[first]), grid.y0, grid.spacing, grid.nx - first, grid.ny)
    x, y = part.mesh()
    along = smooth_step((x - start) / mouth.flare_length)
    opened = mouth.flare * along * smooth_step((strip_end[first:] - y) / FLARE_FADE)
    window = shape.z[:, first:]
    raised = HeightField(part, np.where(window > 0, window + opened, NOTHING))
    draft = radians(choices.clearance.draft)
    reach = mouth.flare * tan(draft) + 2 * grid.spacing
    drafted = locate(raised, points_of(part), Body.cone(draft, reach)).reshape(part.shape)
    z = shape.z.copy()
    z[:, first:] = np.maximum(window, drafted)
    return shape.with_z(z)


def beside_blade(knife: Knife, choices: SheathChoices) -> float:
    """Return the room beside the blade away from its edge, mm, the uncertainty added.

    Round a spine there is the fold. In a paired sheath the wall keeps the spine's clearance m, and
    a square spine keeps it from the cavity's corner too, which is rounded by R: with the clearance
    a above, the wall stands back by R - sqrt((R - m)^2 - (R - a)^2).
    """
    clearance = choices.clearance
    if choices.style is not Style.PAIRED:
        return clearance.side + knife.uncertainty
    beside = clearance.spine + knife.uncertainty
    above = clearance.blade + knife.uncertainty
    least = min(beside, above)
    if above >= ROUNDING or least >= ROUNDING:
        return beside
    away = (ROUNDING - least) ** 2 - (ROUNDING - above) ** 2
    return max(beside, ROUNDING - sqrt(max(away, 0.0)))


def _around(
    knife: Knife, choices: SheathChoices, asked: Floats, grid: Grid
) -> tuple[Floats, Floats]:
    """Return the half-cavity (ny, nx) round the blade, and that round guard and handle."""
    source, clearance = knife.half.grid, choices.clearance
    x_min, y_min, x_max, y_max = knife.outline.bounds
    end = knife.blade_length
    x, _ = source.mesh()
    parts = (
        (x <= end, (x_min, end), beside_blade(knife, choices)),
        # The node before the end too, so that no cell between the two is left out.
        (x >= end - source.spacing, (end, x_max), clearance.handle_side + knife.uncertainty),
    )
    heights = []
    for here, (start, stop), beside in parts:
        region = knife.outline.intersection(shapely.box(start, y_min - 1, stop, y_max + 1))
        if region.is_empty:
            heights.append(np.zeros(grid.shape))
            continue
        wanted = HeightField(source, np.where(here, asked, NOTHING))
        draft = radians(clearance.draft)
        heights.append(_drafted(wanted, region, beside, draft, grid).z)
    return heights[0], heights[1]


def _drafted(
    asked: HeightField, region: BaseGeometry, beside: float, draft: float, grid: Grid
) -> HeightField:
    """Slide the clearance body over what is asked for within a region; 0 where it stays below.

    The body's walls fall from the region's true outline, not from the last node inside it, so
    that they are smooth. With d the distance from the region, that is the lesser of the body slid
    over the surface carried on outside, and of the highest near by less the wall's fall over d;
    neither is below what the body slid over the region alone would give.

    Args:
        asked: heights wanted; ``NOTHING`` outside the region.
        region: in the plane.
        beside: room beside it, mm.
        draft: of the walls, radians from upright.
        grid: of the result.
    """
    source = asked.grid
    reach = beside + max(float(asked.z.max()), 0.0) * tan(draft) + source.spacing
    nowhere = asked.z <= NOTHING
    nearest = ndimage.distance_transform_edt(nowhere, return_distances=False, return_indices=True)
    carried_on = HeightField(source, asked.z[tuple(nearest)])
    points = points_of(grid)
    over = locate(carried_on, points, Body.clearance(0.0, beside, draft, reach))
    highest = locate(asked, points, Body.flat(reach))
    fall = np.maximum(outside_distance(region, points, highest > 0.0) - beside, 0.0) / tan(draft)
    heights = np.minimum(over, highest - fall)
    return HeightField(grid, np.maximum(heights, 0.0).reshape(grid.shape))


def outside_distance(region: BaseGeometry, points: Floats, wanted: npt.NDArray[np.bool_]) -> Floats:
    """Return the distance of each point (n, 2) from a region, 0 inside and where not wanted, mm."""
    shapely.prepare(region)
    outside = wanted & ~shapely.contains_xy(region, points[:, 0], points[:, 1])
    distances = np.zeros(len(points))
    distances[outside] = rim_distance(region, points[outside])
    return distances


def rim_distance(region: BaseGeometry, points: Floats) -> Floats:
    """Return the distance of each point (n, 2) from a region's rim, mm."""
    distances = np.full(len(points), np.inf)
    for part in shapely.get_parts(region):
        for ring in (part.exterior, *part.interiors):
            rim = shapely.get_coordinates(ring)
            distances = np.minimum(distances, distance_to_line(points, rim))
    return distances
