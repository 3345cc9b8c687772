"""A coarser mesh of a height field that keeps within a tolerance of it.

Right-angled triangles are halved from their apex to the middle of their hypotenuse, from one square
over the whole field downwards, wherever the field strays too far from the middle of a hypotenuse.
Each middle takes on the errors of all middles below it before any is split, so that neighbours
agree on every shared edge: no cracks, no T joints.

With a square of half-side s about c, the middles of its four sides are the children of c, and the
centres of the four squares of half-side s/2 about the middle of a side are the children of that
side. The error of a middle is |z - mean of the hypotenuse's ends| times the cosine of the gentlest
slope beside it (that is the distance across the surface), plus the greatest error of its children:
a bound for every node beneath it, because each halving shifts the surface by no more than its own
error. (Taken across the surface the bound is a little loose beside creases: 4 % over was seen.)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

Indices = npt.NDArray[np.int32]
Place = tuple[int, int]
Errors = npt.NDArray[np.float32]
Counts = npt.NDArray[np.uint8]

#: Error of a middle that must be split whatever the tolerance.
ALWAYS = 1e30


def decimated(surface: HeightField, tolerance: float) -> tuple[Indices, Indices]:
    """Choose nodes and triangles that stand for a field within a tolerance.

    Args:
        surface: at least two nodes each way.
        tolerance: no node lies further than this from the mesh, measured across it, mm.

    Returns:
        node_index: (ny, nx) int32, number of each node used, row by row; -1 where left out.
        triangles: (m, 3) int32 node numbers, counter-clockwise seen from above. Cells that are
        kept whole are cut along the field's own diagonal.
    """
    ny, nx = surface.grid.shape
    size = 1
    while size < max(nx, ny) - 1:
        size *= 2
    errors = np.zeros((size + 1, size + 1), dtype=np.float32)
    weight = _cosine_of_slope(surface.z, surface.grid.spacing)
    _gather_errors(surface.z, weight, errors)
    whole = np.zeros((ny, nx), dtype=np.uint8)
    none = np.empty((0, 3), dtype=np.int32)
    count = _split(errors, tolerance, nx, ny, whole, none)
    triangles = np.empty((count, 3), dtype=np.int32)
    _split(errors, tolerance, nx, ny, whole, triangles)
    used = np.zeros(nx * ny, dtype=bool)
    used[triangles.ravel()] = True
    number = np.where(used, np.cumsum(used) - 1, -1).astype(np.int32)
    return number.reshape(ny, nx), number[triangles]


def _cosine_of_slope(z: Floats, spacing: float) -> Errors:
    """Return the cosine of the gentlest slope met at each node, (ny, nx)."""
    squares = np.zeros(z.shape)
    for axis in (0, 1):
        step = np.abs(np.diff(z, axis=axis)) / spacing
        edge = [(1, 1) if a == axis else (0, 0) for a in (0, 1)]
        padded = np.pad(step, edge, mode="edge")
        ahead = padded[1:] if axis == 0 else padded[:, 1:]
        behind = padded[:-1] if axis == 0 else padded[:, :-1]
        squares += np.minimum(ahead, behind) ** 2
    return (1 / np.sqrt(1 + squares)).astype(np.float32)


@kernel
def _gather_errors(z: Floats, weight: Errors, errors: Errors) -> None:
    """Fill the error of every middle, finest first; nodes beyond the field stay 0."""
    ny, nx = z.shape
    size = errors.shape[0] - 1
    s = 1
    while s <= size // 2 or s == 1:
        # Middles of axis-parallel hypotenuses of length 2 s: i/s + j/s is odd.
        for j in range(0, size + 1, s):
            first = s if (j // s) % 2 == 0 else 0
            for i in range(first, size + 1, 2 * s):
                along_x = (i // s) % 2 == 1
                di, dj = (s, 0) if along_x else (0, s)
                if i - di < 0 or j - dj < 0 or i + di > size or j + dj > size:
                    continue
                cut_x = i - s < nx - 1 < i + s and j - s < ny - 1 and (along_x or i != nx - 1)
                cut_y = j - s < ny - 1 < j + s and i - s < nx - 1 and (not along_x or j != ny - 1)
                error = _error(z, weight, errors, i, j, di, dj, s // 2)
                errors[j, i] = ALWAYS if cut_x or cut_y else error
        # Centres of squares of half-side s; the diagonal runs through the parent's centre.
        for j in range(s, size + 1, 2 * s):
            for i in range(s, size + 1, 2 * s):
                if i + s > size or j + s > size:
                    continue
                right = ((i + s) // (2 * s)) % 2 == 1
                upper = ((j + s) // (2 * s)) % 2 == 1
                dj = s if right == upper or 2 * s == size else -s
                cut_x = i - s < nx - 1 < i + s and j - s < ny - 1
                cut_y = j - s < ny - 1 < j + s and i - s < nx - 1
                error = _error(z, weight, errors, i, j, s, dj, -s)
                errors[j, i] = ALWAYS if cut_x or cut_y else error
        s *= 2


@inner_kernel
def _error(
    z: Floats, weight: Errors, errors: Errors, i: int, j: int, di: int, dj: int, child: int
) -> float:
    """Return the error of one middle; ``child`` > 0: corners off by it, < 0: sides off by it."""
    ny, nx = z.shape
    size = errors.shape[0] - 1
    own = 0.0
    if i - di >= 0 and i + di < nx and min(j - dj, j + dj) >= 0 and max(j - dj, j + dj) < ny:
        own = abs(z[j, i] - 0.5 * (z[j - dj, i - di] + z[j + dj, i + di])) * weight[j, i]
    below = 0.0
    for k in range(4):
        if child > 0:
            ci, cj = i + (child if k % 2 else -child), j + (child if k // 2 else -child)
        elif child < 0:
            off = child if k % 2 else -child
            ci, cj = (i + off, j) if k // 2 else (i, j + off)
        else:
            break
        if 0 <= ci <= size and 0 <= cj <= size:
            below = max(below, float(errors[cj, ci]))
    return min(own + below, ALWAYS)


@inner_kernel
def _put(row: Indices, a: Place, b: Place, c: Place) -> None:
    """Write down the corners of a triangle, the right angle last."""
    row[0], row[1] = a
    row[2], row[3] = b
    row[4], row[5] = c


@kernel
def _split(
    errors: Errors, tolerance: float, nx: int, ny: int, whole: Counts, triangles: Indices
) -> int:
    """Walk the halvings; count the triangles, and fill them in where there is room for them.

    ``whole`` counts, in the first walk, the triangles that fill half of each cell; the second
    walk turns the diagonal of cells with two such to the field's own.
    """
    size = errors.shape[0] - 1
    stack = np.empty((64, 6), dtype=np.int32)
    _put(stack[0], (size, size), (0, 0), (size, 0))
    _put(stack[1], (0, 0), (size, size), (0, size))
    depth = 2
    count = 0
    filling = len(triangles) > 0
    while depth:
        depth -= 1
        ax, ay, bx, by = stack[depth, 0], stack[depth, 1], stack[depth, 2], stack[depth, 3]
        cx, cy = stack[depth, 4], stack[depth, 5]
        if min(ax, bx, cx) >= nx - 1 or min(ay, by, cy) >= ny - 1:
            continue
        mx, my = (ax + bx) // 2, (ay + by) // 2
        if abs(ax - cx) + abs(ay - cy) > 1 and errors[my, mx] > tolerance:
            _put(stack[depth], (cx, cy), (ax, ay), (mx, my))
            _put(stack[depth + 1], (bx, by), (cx, cy), (mx, my))
            depth += 2
            continue
        half = abs(ax - cx) + abs(ay - cy) == 1
        i, j = min(ax, bx), min(ay, by)
        if half and not filling:
            whole[j, i] += 1
        if filling:
            falling = (bx - ax) * (by - ay) < 0
            if half and falling and whole[j, i] >= 2:
                low = j * nx + i
                first = whole[j, i] == 2
                if first:
                    whole[j, i] = 3
                triangles[count, 0] = low
                triangles[count, 1] = low + (1 if first else nx + 1)
                triangles[count, 2] = low + (nx + 1 if first else nx)
            else:
                triangles[count, 0] = ay * nx + ax
                triangles[count, 1] = by * nx + bx
                triangles[count, 2] = cy * nx + cx
        count += 1
    return count
