"""Where the air leaves: vents through the mould's top.

The sheet comes down last where the ground is hollow: at the foot of every wall, and in hollows
between raised parts. Vents stand

- at every corner of a foot line, and between corners at a pitch no larger than asked;
- in hollows within the raised parts, so that every hollow node has a vent within half that pitch.

The pitch is common practice, no source.
"""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.field.contour import regions_above
from chape.kernels import kernel

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: The foot line runs where the surface leaves the flange plane by this, mm.
FOOT = 0.1

#: A foot line that turns by more than this within ``CORNER_SPAN`` has a corner there, radians.
CORNER = np.pi / 4
CORNER_SPAN = 6.0

#: Foot lines shorter than this are traces of the grid, not walls, mm.
SHORTEST_FOOT = 4.0

#: A hollow counts where a straight edge laid over it stands this far above its ground, mm.
HOLLOW = 0.3

#: Hollows smaller than this are traces of the grid, mm².
SMALLEST_HOLLOW = 4.0


def vent_points(surface: HeightField, diameter: float, pitch: float) -> Floats:
    """Return where the vents go.

    Args:
        surface: the mould's top, mm.
        diameter: of a vent, mm; they stand this much off the foot line that half of one clears.
        pitch: no two neighbours along a foot line further apart, mm.

    Returns:
        (n, 2) centres, mm, in a fixed order.
    """
    feet = _thinned(np.array(foot_vents(surface, diameter / 2, pitch)), 2 * diameter)
    hollows = np.array(hollow_vents(surface, pitch, feet))
    # Hollows may lie side by side: two drills must not run into each other's hole.
    return _thinned(np.vstack([feet, hollows.reshape(-1, 2)]), 2 * diameter)


def foot_lines(surface: HeightField, aside: float) -> list[Floats]:
    """Return the foot lines moved outwards onto level ground, closed, (n, 2) each, mm.

    The last point of a line is not its first again. Lines of a hole run around its inside.
    """
    # The last term is what the resolution of the grid may cost.
    off = aside + surface.grid.spacing / 2
    regions = regions_above(surface, FOOT).buffer(off, quad_segs=8).simplify(0.05)
    parts = regions.geoms if hasattr(regions, "geoms") else [regions]
    lines = []
    for part in parts:
        for ring in (part.exterior, *part.interiors):
            if ring.length >= SHORTEST_FOOT:
                # A ring starts where the contour tracer happened to; make it the lowest point.
                points = np.asarray(ring.coords)[:-1]
                first = int(np.lexsort((points[:, 0], points[:, 1]))[0])
                lines.append(np.roll(points, -first, axis=0))
    return sorted(lines, key=lambda line: (line[0, 1], line[0, 0]))


def foot_vents(surface: HeightField, radius: float, pitch: float) -> list[Floats]:
    """Return vents along every foot line: at its corners, and evenly between them."""
    vents: list[Floats] = []
    for points in foot_lines(surface, radius):
        ring = shapely.LinearRing(points)
        along = _corner_positions(ring)
        if not along:
            along = [0.0]
        for here, there in zip(along, [*along[1:], along[0] + ring.length], strict=True):
            count = max(1, ceil((there - here) / pitch - 1e-9))
            for share in range(count):
                at = (here + (there - here) * share / count) % ring.length
                vents.append(np.asarray(ring.interpolate(at).coords[0]))
    return vents


def _corner_positions(ring: shapely.LinearRing) -> list[float]:
    """Return the arc lengths at which a ring turns sharply, one per corner, mm."""
    count = max(8, round(ring.length / 0.5))
    step = ring.length / count
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, step * np.arange(count)))
    span = max(1, min(count // 4, round(CORNER_SPAN / 2 / step)))
    before = points - np.roll(points, span, axis=0)
    after = np.roll(points, -span, axis=0) - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.abs(np.arctan2(cross, np.einsum("ij,ij->i", before, after)))
    # A corner is where the turn is the largest within the span on either side.
    largest = ndimage.maximum_filter1d(turn, 2 * span + 1, mode="wrap")
    peaks = np.flatnonzero((turn >= largest) & (turn > CORNER))
    apart = [k for n, k in enumerate(peaks) if n == 0 or k - peaks[n - 1] > span]
    return [float(k * step) for k in apart]


def hollow_depth(surface: HeightField) -> Floats:
    """Return how deep each raised node lies below a straight edge laid over it, mm.

    The edge is level and lies along x or y, whichever stands higher above the node. It rests on
    raised ground only, with no flange between; on the flange plane the depth is 0 by definition,
    for its feet have vents of their own.
    """
    rows = _depth_along_rows(surface.z, FOOT)
    columns = _depth_along_rows(np.ascontiguousarray(surface.z.T), FOOT).T
    deeper: Floats = np.maximum(rows, columns)
    return deeper


@kernel
def _depth_along_rows(z: Floats, level: float) -> Floats:
    """Return by how much the lower of the highest nodes on either side exceeds each node.

    Sides end where the row comes down to ``level``.
    """
    depth = np.zeros(z.shape)
    for j in range(z.shape[0]):
        highest = 0.0
        for i in range(z.shape[1]):
            highest = max(highest, z[j, i]) if z[j, i] > level else 0.0
            depth[j, i] = highest
        highest = 0.0
        for i in range(z.shape[1] - 1, -1, -1):
            highest = max(highest, z[j, i]) if z[j, i] > level else 0.0
            depth[j, i] = max(0.0, min(depth[j, i], highest) - z[j, i])
    return depth


def hollow_vents(surface: HeightField, pitch: float, others: Floats) -> list[Floats]:
    """Return vents at the lowest places of every hollow within the raised parts.

    Places within half a pitch of ``others``, (n, 2), are served already.
    """
    deep = (hollow_depth(surface) > HOLLOW) & _is_low(surface)
    labels, count = ndimage.label(deep, np.ones((3, 3), dtype=np.int64))
    if count == 0:
        return []
    grid = surface.grid
    smallest = SMALLEST_HOLLOW / grid.spacing**2 / 8
    vents: list[Floats] = []
    for label, window in enumerate(ndimage.find_objects(labels), start=1):
        rows, columns = np.nonzero(labels[window] == label)
        if len(rows) < smallest:
            continue
        rows, columns = rows + window[0].start, columns + window[1].start
        order = np.lexsort((columns, rows, surface.z[rows, columns]))
        points = np.column_stack([grid.x[columns[order]], grid.y[rows[order]]])
        vents.extend(points[k] for k in _covering(points, pitch / 2, others))
    return vents


def _is_low(surface: HeightField) -> npt.NDArray[np.bool_]:
    """Mark the floors of hollows: nodes no higher than any within 1.5 mm along x or along y."""
    size = 2 * max(1, round(1.5 / surface.grid.spacing)) + 1
    z = surface.z
    low: npt.NDArray[np.bool_] = np.zeros(z.shape, dtype=bool)
    for axis in (0, 1):
        low |= z <= ndimage.minimum_filter1d(z, size, axis=axis) + 1e-9
    return low


@kernel
def _covering(points: Floats, reach: float, others: Floats) -> list[int]:
    """Choose points in order so that every point lies within ``reach`` of one, or of another."""
    count = points.shape[0]
    served = np.zeros(count, dtype=np.bool_)
    for m in range(count):
        for n in range(others.shape[0]):
            aside, along = points[m, 0] - others[n, 0], points[m, 1] - others[n, 1]
            if aside * aside + along * along <= reach * reach:
                served[m] = True
                break
    chosen = []
    for k in range(count):
        if served[k]:
            continue
        chosen.append(k)
        for m in range(k, count):
            aside, along = points[m, 0] - points[k, 0], points[m, 1] - points[k, 1]
            if aside * aside + along * along <= reach * reach:
                served[m] = True
    return chosen


def _thinned(points: Floats, least: float) -> Floats:
    """Leave out points nearer than ``least`` to one before them."""
    kept: list[Floats] = []
    for point in points.reshape(-1, 2):
        if all(np.hypot(*(point - other)) >= least for other in kept):
            kept.append(point)
    return np.array(kept).reshape(-1, 2)
