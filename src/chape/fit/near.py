"""How far any point near the knife is from its surface, read from a table.

The knife's surface is sampled as small discs with normals. Every node of a spatial grid near it
takes its distance to the plane of the nearest disc, or past that disc's rim to the disc itself.
Between nodes the table is read trilinearly. Distances are negative inside the knife. The table
serves every position of the knife: on a draw the points that are looked up move the other way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.field.grid import Grid
from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.model import Knife

#: Spacing of the table, mm. On a surface bent to a radius R it errs by spacing^2 / 8 R: 0.01 mm
#: at R = 2 mm.
SPACING = 0.4

#: Distances beyond these are not told apart, mm: outside the knife, and inside.
FAR, DEEP = 1.2, 1.8

#: Discs stand about this far apart, mm.
DISC = 0.4

#: Nearer than this, mm, a disc knows better than the height field on which side a point lies.
UNSURE = 0.7

#: The slope of the table is taken over this length to either side, mm: half a cell.
SLOPE_STEP = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class Near:
    """The table of distances from a knife, for z >= 0; below, the knife is its own mirror image.

    Attributes:
        distance: (nx, ny, nz) at the nodes, mm.
        origin: (3,) the first node, mm.
        handle_start: x from which a swollen handle is thicker, mm.
    """

    distance: Floats
    origin: Floats
    handle_start: float

    def at(self, points: Floats, shift: tuple[float, float], swell: float) -> tuple[Floats, Floats]:
        """Return distance from the knife's surface, and the direction away from it.

        Args:
            points: (n, 3) in the sheath frame, mm.
            shift: the knife has moved from home by this along x and y, mm.
            swell: its handle is thicker by this per side, mm.

        Returns:
            (n,) distances, mm, and (n, 3) unit normals.
        """
        moved = points - np.array([shift[0], shift[1], 0.0])
        return _look_up(self.distance, self.origin, moved, swell, self.handle_start)


def near(knife: Knife, x_most: float) -> Near:
    """Return the table around the part of a knife up to ``x_most``."""
    discs, normals = surface_discs(knife, x_most + FAR)
    low, high = discs.min(axis=0) - FAR, discs.max(axis=0) + FAR
    low[2] = 0.0
    shape = np.ceil((high - low) / SPACING).astype(np.int64) + 2
    x, y, z = (low[k] + SPACING * np.arange(shape[k]) for k in range(3))
    spots = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    height = np.where(shapely.contains_xy(knife.outline, *spots.T), knife.half.at(spots), -1.0)
    within = z < height.reshape(*shape[:2], 1)
    distance = np.where(within, -DEEP, FAR)
    return Near(_fill(distance, low, discs, normals), low, knife.blade_length)


def surface_discs(knife: Knife, x_most: float) -> tuple[Floats, Floats]:
    """Return (n, 3) points all over the upper half of the knife's surface, and their normals."""
    x_min, y_min, _, y_max = knife.outline.bounds
    grid = Grid.over(x_min, y_min, x_most, y_max, DISC)
    x, y = grid.mesh()
    z = knife.half.at(np.column_stack([x.ravel(), y.ravel()])).reshape(grid.shape)
    # A cell counts where the field at its corners is the knife's own and not the fall beside it.
    core = knife.outline.buffer(-1.5 * knife.half.grid.spacing)
    shapely.prepare(core)
    inside = shapely.contains_xy(core, x, y)
    points = _cell_discs(z, inside, np.array([grid.x0, grid.y0, DISC]), DISC)
    rim = _rim_discs(knife, x_most)
    both = np.vstack([points, rim])
    return np.ascontiguousarray(both[:, :3]), np.ascontiguousarray(both[:, 3:])


def _rim_discs(knife: Knife, x_most: float) -> Floats:
    """Return (n, 6) discs and normals from the outline up to where the field is the knife's.

    Nearer the outline than that, the section is carried on: upright as far as its curve, measured
    over two steps inwards, would still stand at the outline, then straight.
    """
    rim = shapely.orient_polygons(knife.outline).exterior
    along = np.arange(0.0, rim.length, DISC)
    at, ahead = (
        shapely.get_coordinates(shapely.line_interpolate_point(rim, along + step))
        for step in (0.0, DISC / 4)
    )
    tangent = ahead - at
    tangent /= np.maximum(np.linalg.norm(tangent, axis=1), 1e-9)[:, None]
    outward = np.column_stack([tangent[:, 1], -tangent[:, 0]])
    step = 1.6 * knife.half.grid.spacing
    first, second = (knife.half.at(at - k * step * outward) for k in (1, 2))
    upright = np.clip(first - 2 * np.maximum(second - first, 0.0), 0.0, first)
    discs = []
    for k in np.flatnonzero(at[:, 0] <= x_most):
        foot, top = (
            np.array([*at[k], upright[k]]),
            np.array([*(at[k] - step * outward[k]), first[k]]),
        )
        discs += _line_discs(np.array([*at[k], 0.0]), foot, outward[k])
        discs += _line_discs(foot, top, outward[k])
    return np.array(discs)


def _line_discs(low: Floats, high: Floats, outward: Floats) -> list[list[float]]:
    """Return discs along a line that leads up a rim, each a point and its normal."""
    rise, run = high[2] - low[2], float(np.hypot(*(high[:2] - low[:2])))
    length = float(np.hypot(rise, run))
    if length < 1e-6:
        return []
    normal = [outward[0] * rise / length, outward[1] * rise / length, run / length]
    count = int(np.ceil(length / DISC))
    shares = (np.arange(count) + 0.5) / count
    return [[*(low + share * (high - low)), *normal] for share in shares]


@kernel
def _cell_discs(z: Floats, inside: npt.NDArray[np.bool_], frame: Floats, apart: float) -> Floats:
    """Return (n, 6) points and normals over every cell whose four corners lie inside."""
    spacing = frame[2]
    ny, nx = z.shape
    total = 0
    result = np.empty((0, 6))
    for fill in range(2):
        if fill == 1:
            result = np.empty((total, 6))
            total = 0
        for j in range(ny - 1):
            for i in range(nx - 1):
                if not (
                    inside[j, i] and inside[j, i + 1] and inside[j + 1, i] and inside[j + 1, i + 1]
                ):
                    continue
                dx = 0.5 * (z[j, i + 1] - z[j, i] + z[j + 1, i + 1] - z[j + 1, i]) / spacing
                dy = 0.5 * (z[j + 1, i] - z[j, i] + z[j + 1, i + 1] - z[j, i + 1]) / spacing
                nu = int(np.ceil(spacing * np.sqrt(1 + dx * dx) / apart - 0.2))
                nv = int(np.ceil(spacing * np.sqrt(1 + dy * dy) / apart - 0.2))
                for a in range(nu):
                    for b in range(nv):
                        if fill == 1:
                            s, t = (a + 0.5) / nu, (b + 0.5) / nv
                            _put_on_cell(result[total], z, j, i, s, t, frame)
                        total += 1
    return result


@inner_kernel
def _put_on_cell(
    disc: Floats, z: Floats, j: int, i: int, s: float, t: float, frame: Floats
) -> None:
    """Write down a point of a cell's bilinear patch, and its normal."""
    low = z[j, i] + s * (z[j, i + 1] - z[j, i])
    high = z[j + 1, i] + s * (z[j + 1, i + 1] - z[j + 1, i])
    left = z[j, i] + t * (z[j + 1, i] - z[j, i])
    right = z[j, i + 1] + t * (z[j + 1, i + 1] - z[j, i + 1])
    dx, dy = (right - left) / frame[2], (high - low) / frame[2]
    up = 1 / np.sqrt(1 + dx * dx + dy * dy)
    disc[0], disc[1] = frame[0] + (i + s) * frame[2], frame[1] + (j + t) * frame[2]
    disc[2] = low + t * (high - low)
    disc[3], disc[4], disc[5] = -dx * up, -dy * up, up


@kernel
def _fill(distance: Floats, origin: Floats, discs: Floats, normals: Floats) -> Floats:
    """Give every node near a disc its distance from the nearest one."""
    shape, first, end = distance.shape, np.zeros(3, dtype=np.int64), np.zeros(3, dtype=np.int64)
    nearest = np.full(distance.shape, np.inf)
    # Seen from a point a little inside the disc, the band outside and the deeper one inside end
    # equally far away.
    inwards, reach = 0.5 * (DEEP - FAR), 0.5 * (DEEP + FAR)
    for k in range(discs.shape[0]):
        for axis in range(3):
            middle = discs[k, axis] - inwards * normals[k, axis] - origin[axis]
            first[axis] = max(0, int(np.ceil((middle - reach) / SPACING)))
            end[axis] = min(shape[axis] - 1, int(np.floor((middle + reach) / SPACING))) + 1
        for i in range(first[0], end[0]):
            x = origin[0] + i * SPACING - discs[k, 0]
            for j in range(first[1], end[1]):
                y = origin[1] + j * SPACING - discs[k, 1]
                for m in range(first[2], end[2]):
                    z = origin[2] + m * SPACING - discs[k, 2]
                    away = x * x + y * y + z * z
                    if away >= nearest[i, j, m]:
                        continue
                    plane = x * normals[k, 0] + y * normals[k, 1] + z * normals[k, 2]
                    if away + inwards * (2 * plane + inwards) > reach * reach:
                        continue
                    beside = max(0.0, np.sqrt(max(0.0, away - plane * plane)) - DISC)
                    value = np.sqrt(plane * plane + beside * beside)
                    outside = distance[i, j, m] > 0
                    # Past a disc's rim, as round a sharp edge, its plane says nothing of the side.
                    if beside > 0:
                        plane = value if outside else -value
                    elif value > UNSURE and outside != (plane > 0):
                        continue
                    nearest[i, j, m] = away
                    distance[i, j, m] = min(FAR, max(-DEEP, plane))
    return distance


@inner_kernel
def _read(distance: Floats, origin: Floats, x: float, y: float, z: float) -> float:
    """Return the distance at one point, trilinearly; ``FAR`` outside the table."""
    nx, ny, nz = distance.shape
    u, v, w = (x - origin[0]) / SPACING, (y - origin[1]) / SPACING, abs(z) / SPACING
    i, j, k = int(np.floor(u)), int(np.floor(v)), int(np.floor(w))
    if i < 0 or j < 0 or i >= nx - 1 or j >= ny - 1 or k >= nz - 1:
        return FAR
    u, v, w = u - i, v - j, w - k
    a = (1 - w) * distance[i, j, k] + w * distance[i, j, k + 1]
    b = (1 - w) * distance[i, j + 1, k] + w * distance[i, j + 1, k + 1]
    c = (1 - w) * distance[i + 1, j, k] + w * distance[i + 1, j, k + 1]
    d = (1 - w) * distance[i + 1, j + 1, k] + w * distance[i + 1, j + 1, k + 1]
    return float((1 - u) * ((1 - v) * a + v * b) + u * ((1 - v) * c + v * d))


@kernel
def _look_up(
    distance: Floats, origin: Floats, points: Floats, swell: float, handle_start: float
) -> tuple[Floats, Floats]:
    away, normals = np.empty(points.shape[0]), np.zeros((points.shape[0], 3))
    step = SLOPE_STEP
    for k in range(points.shape[0]):
        x, y, z = points[k, 0], points[k, 1], points[k, 2]
        away[k] = _read(distance, origin, x, y, z)
        if away[k] >= FAR:
            normals[k, 2] = 1.0
            continue
        dx = _read(distance, origin, x + step, y, z) - _read(distance, origin, x - step, y, z)
        dy = _read(distance, origin, x, y + step, z) - _read(distance, origin, x, y - step, z)
        dz = _read(distance, origin, x, y, z + step) - _read(distance, origin, x, y, z - step)
        size = np.sqrt(dx * dx + dy * dy + dz * dz)
        if size < 1e-9:
            normals[k, 2] = 1.0
        else:
            normals[k, 0], normals[k, 1], normals[k, 2] = dx / size, dy / size, dz / size
        if x > handle_start:
            away[k] -= swell
    return away, normals
