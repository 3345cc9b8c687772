"""Where a body of revolution touches one facet, one edge or one cell of a surface.

On one triangle, surface height minus profile is concave, for the profile is convex. Its highest
value therefore lies at the facet's own stationary point, or else on an edge, or at a vertex.

On a facet of slope ``g`` the body touches where its profile is as steep: in the corner at
``r = R1 + rc g / sqrt(1 + g²)``, or at the rim when the facet is steeper than the cone.

On an edge that rises by ``m`` per mm and passes the axis at distance ``d``, the body touches
``t`` mm uphill of the foot of the axis, where ``profile'(r) t / r = m`` and ``r² = d² + t²``:
a ball at ``t = m sqrt((R² − d²) / (1 + m²))``, a cone of slope ``k`` at
``t = m d / sqrt(k² − m²)``, a disc at the uphill end of its chord, a bull nose by Newton's steps.

All places are mm from the body's axis.
"""

from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING, NamedTuple

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.body import Shape

#: Where a bull nose touches an edge is found to within this, mm. Height varies with its square.
SETTLED = 1e-6


class Contact(NamedTuple):
    """Where the body touches, and how high its tip then is, mm."""

    tip: float
    x: float
    y: float


class Cell(NamedTuple):
    """A square of the grid: its lower-left node's place, its side, its four heights, mm."""

    x: float
    y: float
    side: float
    low_left: float
    low_right: float
    high_left: float
    high_right: float


class Edge(NamedTuple):
    """A straight edge: where it starts, its unit direction, length and two heights, mm."""

    x: float
    y: float
    along_x: float
    along_y: float
    length: float
    start: float
    end: float


@kernel
def profile_at(shape: Shape, r: float) -> float:
    """Return the underside's height above the tip at ``r``, no more than the radius."""
    if r <= shape.flat_radius:
        return 0.0
    if r <= shape.cone_start:
        across = r - shape.flat_radius
        left = shape.corner_radius**2 - across**2
        return shape.corner_radius - sqrt(left) if left > 0 else shape.corner_radius
    return shape.cone_base + shape.cone_slope * (r - shape.cone_start)


@inner_kernel
def slope_at(shape: Shape, r: float) -> float:
    """Return dz/dr of the profile at ``r``, no more than the radius; infinite where upright."""
    if r <= shape.flat_radius:
        return 0.0
    if r > shape.cone_start:
        return shape.cone_slope
    across = r - shape.flat_radius
    left = shape.corner_radius**2 - across**2
    return across / sqrt(left) if left > 0 else inf


@kernel
def reach_at(shape: Shape, height: float) -> float:
    """Return the distance from the axis up to which the profile is no higher than ``height``."""
    if height >= shape.cone_base:
        if shape.cone_start >= shape.radius:
            return shape.radius
        return min(shape.radius, shape.cone_start + (height - shape.cone_base) / shape.cone_slope)
    below = shape.corner_radius - height
    return min(shape.radius, shape.flat_radius + sqrt(shape.corner_radius**2 - below * below))


@inner_kernel
def facet_touch(shape: Shape, slope: float) -> float:
    """Return how far from its axis the body touches a facet of ``slope``, uphill, mm."""
    if slope >= shape.cone_slope:
        return shape.radius
    r = shape.flat_radius + shape.corner_radius * slope / sqrt(1 + slope * slope)
    return min(r, shape.radius)


@inner_kernel
def corner_touch(shape: Shape, rise: float, d2: float, low: float, high: float) -> float:
    """Return where the rounded corner touches an edge, between ``low`` and ``high``.

    Args and result as for ``edge_touch``.
    """
    flat, corner = shape.flat_radius, shape.corner_radius
    if flat == 0:
        return rise * sqrt(max(0.0, corner * corner - d2) / (1 + rise * rise))
    low = max(low, sqrt(max(0.0, flat * flat - d2)))
    high = min(high, sqrt(max(0.0, shape.cone_start**2 - d2)))
    if low >= high or corner_steeper(shape, rise, d2, low)[0] >= 0:
        return low
    if corner_steeper(shape, rise, d2, high)[0] <= 0:
        return high
    # Newton's steps, kept between what is known to be too near and too far.
    t, step = 0.5 * (low + high), high - low
    while abs(step) > SETTLED:
        steeper, change = corner_steeper(shape, rise, d2, t)
        if steeper > 0:
            high = t
        else:
            low = t
        next_t = t - steeper / change
        if not low < next_t < high:
            next_t = 0.5 * (low + high)
        step, t = next_t - t, next_t
    return t


@inner_kernel
def corner_steeper(shape: Shape, rise: float, d2: float, t: float) -> tuple[float, float]:
    """Return how much steeper than an edge the corner is ``t`` mm uphill, and its change per mm."""
    r2 = d2 + t * t
    r = sqrt(r2)
    across = r - shape.flat_radius
    left = shape.corner_radius**2 - across * across
    if left <= 0:
        return inf, inf
    slope = across / sqrt(left)
    bend = slope * shape.corner_radius**2 / (across * left) if across > 0 else 1 / sqrt(left)
    return slope * t / r - rise, (bend * t * t + slope * d2 / r) / r2


@inner_kernel
def edge_touch(shape: Shape, rise: float, d2: float, low: float, high: float) -> float:
    """Return where the body touches an edge, mm uphill of the foot of the axis.

    Args:
        shape: the body.
        rise: how much the edge rises per mm, above 0.
        d2: squared distance of the axis from the edge's line in the plane, below radius².
        low: where the part that matters starts. The result may lie outside that part; its
            nearer end is then the highest.
        high: where it ends.
    """
    if shape.cone_start < shape.radius:
        if rise >= shape.cone_slope:
            return high
        t = rise * sqrt(d2 / (shape.cone_slope**2 - rise * rise))
        if d2 + t * t >= shape.cone_start**2:
            return t
    if shape.corner_radius == 0:
        return sqrt(max(0.0, shape.cone_start**2 - d2))
    return corner_touch(shape, rise, d2, low, high)


@inner_kernel
def touch_edge(shape: Shape, edge: Edge, best: float) -> Contact:
    """Return the contact with an edge; one of no height when it cannot exceed ``best``."""
    radius2 = shape.radius * shape.radius
    none = Contact(-inf, 0.0, 0.0)
    top = max(edge.start, edge.end)
    d = edge.x * edge.along_y - edge.y * edge.along_x
    d2 = d * d
    if top <= best or d2 >= radius2:
        return none
    foot = -(edge.x * edge.along_x + edge.y * edge.along_y)
    near2 = d2 + (min(max(foot, 0.0), edge.length) - foot) ** 2
    if near2 > radius2 or top - profile_at(shape, sqrt(near2)) <= best:
        return none
    chord = sqrt(radius2 - d2)
    first, last = max(0.0, foot - chord), min(edge.length, foot + chord)
    rise = (edge.end - edge.start) / edge.length
    s = foot
    if rise > 0:
        s += edge_touch(shape, rise, d2, first - foot, last - foot)
    elif rise < 0:
        s -= edge_touch(shape, -rise, d2, foot - last, foot - first)
    # Concave: what would lie beyond an end is highest at that end.
    s = min(max(s, first), last)
    r = min(sqrt(d2 + (s - foot) ** 2), shape.radius)
    tip = edge.start + rise * s - profile_at(shape, r)
    return Contact(tip, edge.x + s * edge.along_x, edge.y + s * edge.along_y)


@inner_kernel
def touch_facet(shape: Shape, cell: Cell, half: int) -> Contact:
    """Return the contact with the facet below (0) or above (1) a cell's diagonal.

    The contact has no height when the stationary point lies outside the facet.
    """
    if half == 0:
        gx = (cell.low_right - cell.low_left) / cell.side
        gy = (cell.high_right - cell.low_right) / cell.side
    else:
        gx = (cell.high_right - cell.high_left) / cell.side
        gy = (cell.high_left - cell.low_left) / cell.side
    slope = sqrt(gx * gx + gy * gy)
    x = y = r = 0.0
    if slope > 0:
        r = facet_touch(shape, slope)
        x, y = gx / slope * r, gy / slope * r
    right, up = x - cell.x, y - cell.y
    if min(right, up) < 0 or max(right, up) > cell.side or (right < up) == (half == 0):
        return Contact(-inf, 0.0, 0.0)
    return Contact(cell.low_left + gx * right + gy * up - profile_at(shape, r), x, y)


@inner_kernel
def edge_of(cell: Cell, number: int) -> Edge:
    """Return a cell's lower (0), left (1), diagonal (2), right (3) or upper (4) edge."""
    x, y, side = cell.x, cell.y, cell.side
    if number == 0:
        return Edge(x, y, 1.0, 0.0, side, cell.low_left, cell.low_right)
    if number == 1:
        return Edge(x, y, 0.0, 1.0, side, cell.low_left, cell.high_left)
    if number == 2:
        along = sqrt(0.5)
        return Edge(x, y, along, along, side / along, cell.low_left, cell.high_right)
    if number == 3:
        return Edge(x + side, y, 0.0, 1.0, side, cell.low_right, cell.high_right)
    return Edge(x, y + side, 1.0, 0.0, side, cell.high_left, cell.high_right)


@inner_kernel
def touch_cell(shape: Shape, cell: Cell, edges: int, best: Contact) -> Contact:
    """Return the contact with a cell, or ``best`` where that is as high.

    Args:
        shape: the body.
        cell: the cell.
        edges: how many of its edges to look at: three, for the right and upper edges are their
            neighbours' own, or five at the grid's far sides.
        best: the highest contact found so far.
    """
    shared = max(cell.low_left, cell.high_right)
    for half in range(2):
        if max(shared, cell.low_right if half == 0 else cell.high_left) > best.tip:
            contact = touch_facet(shape, cell, half)
            if contact.tip > best.tip:
                best = contact
    for number in range(edges):
        contact = touch_edge(shape, edge_of(cell, number), best.tip)
        if contact.tip > best.tip:
            best = contact
    return best
