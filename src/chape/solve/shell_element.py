"""A flat triangle that bends and stretches: three corners, six freedoms each.

    u1 u2 u3    displacement in the triangle's own frame, e1 along the first side, e3 its normal
    r1 r2 r3    rotation about the same axes; r3 turns in the plane (drilling)
    t           thickness, E modulus, nu Poisson's number, A area

Bending: the discrete Kirchhoff triangle. Slopes are quadratic over the triangle; at each side's
middle the slope along the side is that of a cubic in w, the slope across it linear (Batoz, Bathe
and Ho, Int. J. Numer. Meth. Eng. 15 (1980) 1771). Stretching: the optimal triangle with drilling
freedoms, a constant-strain part and a scaled higher-order part (Felippa, Comput. Methods Appl.
Mech. Eng. 192 (2003) 2125: alpha_b = 3/2, beta_0 = max((1 - 4 nu^2)/2, 1/100)). Formulas from
memory; held by the patch tests and the shells of ``tests/references``.

Left out: shear through the thickness (thin sheet), curvature inside an element, large rotations.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Felippa's alpha_b, and his optimal parameters beta_1 .. beta_9 at each corner, side by side.
_ALPHA = 1.5
_BETA = np.array([1.0, 2.0, 1.0, 0.0, 1.0, -1.0, -1.0, -1.0, -2.0])[
    [[[0, 1, 2], [3, 4, 5], [6, 7, 8]],
     [[8, 6, 7], [2, 0, 1], [5, 3, 4]],
     [[4, 5, 3], [7, 8, 6], [1, 2, 0]]]
]  # fmt: skip

#: Freedoms of a corner that stretch the triangle, and those that bend it.
IN_PLANE, OUT = (0, 1, 5), (2, 3, 4)

#: Side middles, in area coordinates (xi, eta): the three points of the bending quadrature.
_MIDDLES = np.array([[0.5, 0.0], [0.5, 0.5], [0.0, 0.5]])


@kernel
def plane_stress(nu: float) -> Floats:
    """Return (3, 3) the plane-stress law of unit modulus, engineering shear."""
    law = np.zeros((3, 3))
    law[0, 0] = law[1, 1] = 1 / (1 - nu * nu)
    law[0, 1] = law[1, 0] = nu / (1 - nu * nu)
    law[2, 2] = 0.5 / (1 + nu)
    return law


@kernel
def sandwich(outer: Floats, inner: Floats) -> Floats:
    """Return (n, n) ``outer.T @ inner @ outer``; outer is (3, n), inner (3, 3)."""
    count = outer.shape[1]
    half, product = np.zeros((3, count)), np.zeros((count, count))
    for i in range(3):
        for j in range(count):
            for k in range(3):
                half[i, j] += inner[i, k] * outer[k, j]
    for i in range(count):
        for j in range(count):
            for k in range(3):
                product[i, j] += outer[k, i] * half[k, j]
    return product


@kernel
def _cross(axes: Floats, first: int, second: int, result: int) -> None:
    """Put the cross product of two of the rows into a third, one mm long."""
    squared = 0.0
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        axes[result, i] = axes[first, j] * axes[second, k] - axes[first, k] * axes[second, j]
        squared += axes[result, i] * axes[result, i]
    for i in range(3):
        axes[result, i] /= np.sqrt(squared)


@kernel
def frame_of(corners: Floats) -> Floats:
    """Return (3, 3) the triangle's own axes as rows: along side one, across, normal."""
    axes = np.empty((3, 3))
    squared = 0.0
    for i in range(3):
        axes[0, i] = corners[1, i] - corners[0, i]
        axes[1, i] = corners[2, i] - corners[0, i]
        squared += axes[0, i] * axes[0, i]
    for i in range(3):
        axes[0, i] /= np.sqrt(squared)
    _cross(axes, 0, 1, 2)
    _cross(axes, 2, 0, 1)
    return axes


@kernel
def flat_corners(corners: Floats, axes: Floats) -> Floats:
    """Return (3, 2) the corners in the triangle's plane, the first at its origin."""
    flat = np.zeros((3, 2))
    for i in range(1, 3):
        for j in range(2):
            for k in range(3):
                flat[i, j] += (corners[i, k] - corners[0, k]) * axes[j, k]
    return flat


@kernel
def slope_nodes(flat: Floats) -> Floats:
    """Return (12, 9) the slopes bx, by at corners and side middles, from (w, rx, ry) per corner.

    With bx = -w,x = ry and by = -w,y = -rx. Row 2 k holds bx, row 2 k + 1 by, of corner k for
    k < 3, else of the middle between corners k - 3 and k - 2.
    """
    slopes = np.zeros((12, 9))
    for i in range(3):
        slopes[2 * i, 3 * i + 2] = 1.0
        slopes[2 * i + 1, 3 * i + 1] = -1.0
    for side in range(3):
        i, j = side, (side + 1) % 3
        dx, dy = flat[j, 0] - flat[i, 0], flat[j, 1] - flat[i, 1]
        length = np.sqrt(dx * dx + dy * dy)
        c, s = dx / length, dy / length
        bx, by = 6 + 2 * side, 7 + 2 * side
        for end, lift in ((i, 1.5 / length), (j, -1.5 / length)):
            slopes[bx, 3 * end], slopes[by, 3 * end] = c * lift, s * lift
            # the slope along the side, -w,s, is c bx + s by; across it -s bx + c by
            for turn, along, across in ((1, 0.25 * s, -0.5 * c), (2, -0.25 * c, -0.5 * s)):
                slopes[bx, 3 * end + turn] = c * along - s * across
                slopes[by, 3 * end + turn] = s * along + c * across
    return slopes


@kernel
def curvature_rows(flat: Floats, slopes: Floats, xi: float, eta: float) -> Floats:
    """Return (3, 9) curvatures (bx,x  by,y  bx,y + by,x) at a point, from (w, rx, ry)."""
    zeta = 1 - xi - eta
    by_xi = (1 - 4 * zeta, 4 * xi - 1, 0.0, 4 * (zeta - xi), 4 * eta, -4 * eta)
    by_eta = (1 - 4 * zeta, 0.0, 4 * eta - 1, -4 * xi, 4 * xi, 4 * (zeta - eta))
    x2, y2, x3, y3 = flat[1, 0], flat[1, 1], flat[2, 0], flat[2, 1]
    twice = x2 * y3 - x3 * y2
    rows = np.zeros((3, 9))
    for k in range(6):
        by_x = (y3 * by_xi[k] - y2 * by_eta[k]) / twice
        by_y = (x2 * by_eta[k] - x3 * by_xi[k]) / twice
        for j in range(9):
            rows[0, j] += by_x * slopes[2 * k, j]
            rows[1, j] += by_y * slopes[2 * k + 1, j]
            rows[2, j] += by_y * slopes[2 * k, j] + by_x * slopes[2 * k + 1, j]
    return rows


@kernel
def stretch_rows(flat: Floats) -> Floats:
    """Return (3, 9) the constant strain (ex, ey, gxy), from (u1, u2, r3) per corner."""
    x, y = flat[:, 0], flat[:, 1]
    twice = x[1] * y[2] - x[2] * y[1]
    rows = np.zeros((3, 9))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        yjk, xkj = y[j] - y[k], x[k] - x[j]
        yik, yji, xki, xij = y[i] - y[k], y[j] - y[i], x[k] - x[i], x[i] - x[j]
        rows[0, 3 * i] = rows[2, 3 * i + 1] = yjk / twice
        rows[1, 3 * i + 1] = rows[2, 3 * i] = xkj / twice
        rows[0, 3 * i + 2] = _ALPHA / 6 * yjk * (yik - yji) / twice
        rows[1, 3 * i + 2] = _ALPHA / 6 * xkj * (xki - xij) / twice
        rows[2, 3 * i + 2] = _ALPHA / 3 * (xki * yik - xij * yji) / twice
    return rows


@kernel
def _natural(flat: Floats) -> tuple[Floats, Floats, float]:
    """Return (3, 3) strains from those along the sides, (3,) squared sides 21, 32, 13, and A."""
    x, y = flat[:, 0], flat[:, 1]
    area = 0.5 * (x[1] * y[2] - x[2] * y[1])
    squared, strains = np.empty(3), np.empty((3, 3))
    for i in range(3):
        j = (i + 1) % 3
        squared[i] = (x[j] - x[i]) ** 2 + (y[j] - y[i]) ** 2
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        xjk, xik, yjk, yik = x[j] - x[k], x[i] - x[k], y[j] - y[k], y[i] - y[k]
        factor = squared[i] / (4 * area * area)
        strains[0, i] = yjk * yik * factor
        strains[1, i] = xjk * xik * factor
        strains[2, i] = -(yjk * xik + xjk * yik) * factor
    return strains, squared, area


@kernel
def _higher_order(flat: Floats, law: Floats, nu: float) -> Floats:
    """Return (9, 9) the higher-order stretching stiffness for unit modulus and thickness."""
    strains, squared, area = _natural(flat)
    natural = sandwich(strains, law)
    turning, middle = np.zeros((3, 3)), np.empty((3, 3))
    for corner in range(3):
        for side in range(3):
            for k in range(3):
                beta = 0.5 * (_BETA[corner, side, k] + _BETA[(corner + 1) % 3, side, k])
                middle[side, k] = 2 * area / 3 * beta / squared[side]
        part = sandwich(middle, natural)
        for i in range(3):
            for j in range(3):
                turning[i, j] += area * part[i, j]
    # How far each corner turns beyond the mean rotation of the triangle.
    excess = np.zeros((3, 9))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        for row in range(3):
            excess[row, 3 * i] = (flat[k, 0] - flat[j, 0]) / (4 * area)
            excess[row, 3 * i + 1] = (flat[k, 1] - flat[j, 1]) / (4 * area)
        excess[i, 3 * i + 2] = 1.0
    beta_0 = max(0.5 * (1 - 4 * nu * nu), 0.01)
    higher = sandwich(excess, turning)
    for i in range(9):
        for j in range(9):
            higher[i, j] *= 0.75 * beta_0
    return higher


@kernel
def element_stiffness(corners: Floats, thickness: float, nu: float) -> Floats:
    """Return (18, 18) the stiffness of one triangle in the frame its corners are given in.

    Args:
        corners: (3, 3) positions, mm.
        thickness: mm.
        nu: Poisson's number.

    Returns:
        Stiffness for unit modulus, ordered (ux, uy, uz, rx, ry, rz) per corner.
    """
    axes = frame_of(corners)
    flat = flat_corners(corners, axes)
    law = plane_stress(nu)
    area = 0.5 * (flat[1, 0] * flat[2, 1] - flat[2, 0] * flat[1, 1])
    stretched, higher = sandwich(stretch_rows(flat), law), _higher_order(flat, law, nu)
    slopes = slope_nodes(flat)
    bent = np.zeros((9, 9))
    for point in range(3):
        rows = curvature_rows(flat, slopes, _MIDDLES[point, 0], _MIDDLES[point, 1])
        part = sandwich(rows, law)
        for i in range(9):
            for j in range(9):
                bent[i, j] += part[i, j]
    local = np.zeros((18, 18))
    for i in range(9):
        a, b = 6 * (i // 3) + IN_PLANE[i % 3], 6 * (i // 3) + OUT[i % 3]
        for j in range(9):
            c, d = 6 * (j // 3) + IN_PLANE[j % 3], 6 * (j // 3) + OUT[j % 3]
            local[a, c] = thickness * (area * stretched[i, j] + higher[i, j])
            local[b, d] = thickness**3 / 12 * area / 3 * bent[i, j]
    return _turned(local, axes)


@kernel
def _turned(local: Floats, axes: Floats) -> Floats:
    """Return (18, 18) a stiffness in the frame that the rows of ``axes`` are given in."""
    turned, block = np.empty((18, 18)), np.empty((3, 3))
    for row in range(0, 18, 3):
        for column in range(0, 18, 3):
            for i in range(3):
                for j in range(3):
                    block[i, j] = local[row + i, column + j]
            part = sandwich(axes, block)
            for i in range(3):
                for j in range(3):
                    turned[row + i, column + j] = part[i, j]
    return turned
