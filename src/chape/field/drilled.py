"""Holes and grooves in solids, and fewer triangles for the same body (through manifold3d)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import manifold3d
import numpy as np
import shapely

from chape.field.outline import quarter_chords
from chape.field.solid import Solid

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Chords of holes and groove ends stay within this of true arcs, mm.
ROUND = 0.01

#: A hole or groove that ends at a face is cut on past it by this, mm, so that no skin is left.
PAST = 0.02

#: (x, y, diameter, z_top, z_bottom), mm.
RoundCut = tuple[float, float, float, float, float]

#: ((n, 2) points, width, z of the floor), mm.
GrooveCut = tuple["Floats", float, float]


def with_holes(solid: Solid, holes: Sequence[RoundCut], grooves: Sequence[GrooveCut] = ()) -> Solid:
    """Take round holes, and grooves on the underside, out of a solid.

    Decimate the solid before, not after: there is less to cut, and the holes stay round.

    Args:
        solid: the body.
        holes: (x, y, diameter, z_top, z_bottom) of each; where it is to be open at the top, z_top
            stands at or above the surface everywhere over the hole (``open_above``).
        grooves: ((n, 2) points, width, z of the floor) of each, open to the underside, with round
            ends.

    Raises:
        ValueError: the solid is not closed.
    """
    if not holes and not grooves:
        return solid
    lowest = float(solid.vertices[:, 2].min())
    tools = [_drill(hole, lowest) for hole in holes]
    for floor in sorted({groove[2] for groove in grooves}):
        same = [groove for groove in grooves if groove[2] == floor]
        tools += _channels(same, lowest - 1.0, floor)
    cut = manifold3d.Manifold.batch_boolean(
        [manifold_of(solid), *tools], manifold3d.OpType.Subtract
    )
    return solid_of(cut)


def simplified(solid: Solid, tolerance: float) -> Solid:
    """Return the same body with fewer triangles, its surface moved by less than ``tolerance`` mm.

    Keeps a subset of the vertices. For a block from a height field ``solid_below`` with a
    tolerance is many times faster.
    """
    return solid_of(manifold_of(solid).simplify(tolerance))


def genus(solid: Solid) -> int:
    """Return the number of holes that go right through a solid in one piece."""
    return int(manifold_of(solid).genus())


def open_above(
    surface: HeightField, holes: Sequence[RoundCut], reach: float = 3.0
) -> list[RoundCut]:
    """Raise the tops of holes to the surface, as a drill from above would open them.

    Args:
        surface: the top of the body.
        holes: to be drilled from above.
        reach: tops deeper below the surface than this, mm, are left: such a hole is closed above.
    """
    grid, raised = surface.grid, []
    for x, y, diameter, z_top, z_bottom in holes:
        radius = diameter / 2 + grid.spacing
        i = np.flatnonzero(np.abs(grid.x - x) <= radius)
        j = np.flatnonzero(np.abs(grid.y - y) <= radius)
        highest = z_top
        if len(i) and len(j):
            highest = float(surface.z[j[0] : j[-1] + 1, i[0] : i[-1] + 1].max())
        top = max(z_top, highest) if highest - z_top <= reach else z_top
        raised.append((x, y, diameter, top, z_bottom))
    return raised


def _drill(hole: RoundCut, lowest: float) -> manifold3d.Manifold:
    """Return the body of one hole; through the underside where it reaches down to it."""
    x, y, diameter, z_top, z_bottom = hole
    if not (diameter > 0 and z_top > z_bottom):
        raise ValueError(f"a hole needs a diameter and a depth, not {hole}")
    bottom = lowest - 1.0 if z_bottom <= lowest + PAST else z_bottom
    height = z_top + PAST - bottom
    chords = 4 * quarter_chords(diameter / 2, ROUND)
    drill = manifold3d.Manifold.cylinder(height, diameter / 2, circular_segments=chords)
    return drill.translate((x, y, bottom))


def _channels(
    grooves: Sequence[GrooveCut], z_bottom: float, z_floor: float
) -> list[manifold3d.Manifold]:
    """Return the bodies of grooves with one floor; those that cross become one."""
    tracks = [
        shapely.LineString(points).buffer(width / 2, quad_segs=quarter_chords(width / 2, ROUND))
        for points, width, _ in grooves
    ]
    bodies = []
    for part in shapely.get_parts(shapely.orient_polygons(shapely.union_all(tracks))):
        rings = [np.asarray(ring.coords)[:-1] for ring in (part.exterior, *part.interiors)]
        section = manifold3d.CrossSection(rings, manifold3d.FillRule.Positive)
        body = manifold3d.Manifold.extrude(section, z_floor - z_bottom)
        bodies.append(body.translate((0, 0, z_bottom)))
    return bodies


def manifold_of(solid: Solid) -> manifold3d.Manifold:
    """Hand a solid over, or refuse it where it is not closed."""
    mesh = manifold3d.Mesh64(
        np.ascontiguousarray(solid.vertices), np.ascontiguousarray(solid.triangles, np.uint64)
    )
    body = manifold3d.Manifold(mesh)
    if body.status() != manifold3d.Error.NoError:
        raise ValueError(f"a solid is not closed: {body.status()}")
    return body


def solid_of(body: manifold3d.Manifold) -> Solid:
    """Take a body back, vertices and triangles in an order of their own (same body, same bytes)."""
    mesh = body.to_mesh64()
    vertices = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)
    order = np.lexsort(vertices.T[::-1])
    number = np.empty(len(order), dtype=np.int64)
    number[order] = np.arange(len(order))
    triangles = number[triangles]
    first = np.argmin(triangles, axis=1)[:, None]
    triangles = np.take_along_axis(triangles, (first + np.arange(3)) % 3, axis=1)
    triangles = triangles[np.lexsort(triangles.T[::-1])]
    return Solid(vertices[order], triangles.astype(np.int32))
