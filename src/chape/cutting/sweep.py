"""How low a cutter, moved along a straight line, comes over a point: closed forms.

A cutter is a body of revolution with its tip at the lowest point. At distance r from its axis its
underside stands at profile(r) above the tip. Moved along a line of slope m (rise per horizontal
length), its underside over a point at distance q beside the line and s along it stands at
``f(s) = m s + profile(sqrt(q² + (s - foot)²))``, convex in s, so that the least is where the
derivative changes sign, or at an end of the interval in which the body covers the point.
"""

from __future__ import annotations

from math import inf, radians, tan
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.kernels import inner_kernel, kernel

if TYPE_CHECKING:
    from chape.catalog.model import Cutter

#: Kind, radius of the flat, corner radius, slope of the cone, outer radius; lengths in mm.
Shape = tuple[float, float, float, float, float]
#: Tip at start and end, mm.
Segment = tuple[float, float, float, float, float, float]
#: Direction (x, y), length in the plane and slope of a segment.
Course = tuple[float, float, float, float]

FLAT, BALL, BULL_NOSE, CONE, TAPERED = 0.0, 1.0, 2.0, 3.0, 4.0
#: Newton's steps for a bull nose; a handful is enough, and no case was found that needs 20.
STEPS = 60
#: A move shorter than this in the plane goes straight up or down, mm.
UPRIGHT = 1e-9


def shape_of(cutter: Cutter) -> Shape:
    """Return the shape of a cutter."""
    radius = cutter.radius
    if cutter.kind in (CutterKind.DRILL, CutterKind.VEE) and cutter.point_angle < 180:
        return CONE, 0.0, 0.0, 1 / tan(radians(cutter.point_angle / 2)), radius
    corner = min(cutter.corner, radius)
    if cutter.kind is CutterKind.TAPERED_BALL:
        return TAPERED, 0.0, corner, 1 / tan(radians(cutter.point_angle / 2)), radius
    if cutter.kind is CutterKind.BALL:
        return BALL, 0.0, radius, 0.0, radius
    if cutter.kind is CutterKind.BULL_NOSE and corner > 0:
        return BULL_NOSE, radius - corner, corner, 0.0, radius
    return disc(radius)


def disc(radius: float) -> Shape:
    """Return the shape of a flat disc: a flat cutter, a shank, a holder."""
    return FLAT, radius, 0.0, 0.0, radius


@inner_kernel
def _ball_end(shape: Shape) -> float:
    """Return the radius at which a tapered ball runs into its cone: the ball's, times cos(half)."""
    return float(shape[2] * shape[3] / np.sqrt(1 + shape[3] * shape[3]))


@inner_kernel
def _ball_top(shape: Shape) -> float:
    """Return the height of that place above the tip: the ball's radius, times 1 - sin(half)."""
    return float(shape[2] * (1 - 1 / np.sqrt(1 + shape[3] * shape[3])))


@kernel
def profile(shape: Shape, r: float) -> float:
    """Return the height of a body's underside above its tip at distance r, inf outside it."""
    if r > shape[4]:
        return inf
    if shape[0] == CONE:
        return shape[3] * r
    if shape[0] == TAPERED and r > _ball_end(shape):
        return _ball_top(shape) + shape[3] * (r - _ball_end(shape))
    beyond = r - shape[1]
    if beyond <= 0:
        return 0.0
    corner = shape[2]
    return float(corner - np.sqrt(max(0.0, corner * corner - beyond * beyond)))


@inner_kernel
def _lowest_along(
    shape: Shape, slope: float, q2: float, foot: float, first: float, last: float
) -> float:
    """Return the place along the line, within [first, last], where the underside is lowest."""
    downhill = last if slope < 0 else first
    kind = shape[0]
    if slope == 0.0:
        return min(max(foot, first), last)
    if kind == FLAT:
        return downhill
    if kind == CONE:
        u = _lowest_on_cone(shape[3], slope, q2, downhill - foot)
    elif kind == TAPERED:
        u = _lowest_on_taper(shape, slope, q2, downhill - foot)
    elif _rises(shape, slope, q2, first - foot):
        u = first - foot
    elif not _rises(shape, slope, q2, last - foot):
        u = last - foot
    else:
        u = _lowest_on_corner(shape[1], shape[2], slope, q2)
    return min(max(foot + u, first), last)


@inner_kernel
def _lowest_on_cone(steep: float, slope: float, q2: float, downhill: float) -> float:
    """Return how far ahead of its foot a cone is lowest; ``downhill`` where it gets ever lower."""
    if abs(slope) >= steep:
        return downhill
    return float(-slope * np.sqrt(q2 / (steep * steep - slope * slope)))


@inner_kernel
def _lowest_on_taper(shape: Shape, slope: float, q2: float, downhill: float) -> float:
    """Return the same for a tapered ball: on its ball or else on its cone, which are tangent."""
    across = shape[2] * shape[2] - q2
    if across > 0:
        u = float(-slope * np.sqrt(across / (1 + slope * slope)))
        if q2 + u * u <= _ball_end(shape) * _ball_end(shape):
            return u
    return _lowest_on_cone(shape[3], slope, q2, downhill)


@inner_kernel
def _rises(shape: Shape, slope: float, q2: float, u: float) -> bool:
    """Return whether a bull nose's underside rises along its line at ``u`` ahead of the foot."""
    r = np.sqrt(q2 + u * u)
    beyond = r - shape[1]
    if beyond <= 0:
        return slope > 0
    fall = np.sqrt(max(0.0, shape[2] * shape[2] - beyond * beyond))
    return bool(slope * fall * r + beyond * u > 0)


@inner_kernel
def _lowest_on_corner(flat: float, corner: float, slope: float, q2: float) -> float:
    """Return the same for a bull nose.

    Where b is the distance beyond the flat, the derivative vanishes at
    ``(flat + b)² (1 + m² - m² corner² / b²) = q²``. The left side rises with b, so that Newton's
    steps, halved where they leave the interval, find the one place.
    """
    m2 = slope * slope
    low, high = corner * np.sqrt(m2 / (1 + m2)), corner
    shut = q2 / ((flat + low) * (flat + low))
    b = corner * np.sqrt(m2 / (1 + m2 - min(1.0, shut)))
    b = min(max(b, np.sqrt(q2) - flat, low), high)
    for _ in range(STEPS):
        out = flat + b
        share = 1 + m2 - m2 * corner * corner / (b * b)
        value = out * out * share - q2
        if value > 0:
            high = b
        else:
            low = b
        rise = 2 * out * share + 2 * out * out * m2 * corner * corner / (b * b * b)
        following = b - value / rise
        if not low <= following <= high:
            following = (low + high) / 2
        step, b = abs(following - b), following
        # Steps shrink as their squares do, and so does the height's error with that of the place.
        if step <= 1e-5 * corner:
            break
    u = np.sqrt(max(0.0, (flat + b) * (flat + b) - q2))
    return float(-u if slope > 0 else u)


@kernel
def swept_height(shape: Shape, segment: Segment, px: float, py: float) -> float:
    """Return how low the body comes over (px, py) along a segment; inf where it never does.

    Args:
        shape: of ``shape_of``.
        segment: tip at start and end, mm.
        px: abscissa of the point, mm.
        py: ordinate, mm.
    """
    return height_over(shape, segment, course_of(segment), px, py)


@inner_kernel
def course_of(segment: Segment) -> Course:
    """Return direction (x, y), length in the plane and slope of a segment."""
    dx, dy = segment[3] - segment[0], segment[4] - segment[1]
    length = np.sqrt(dx * dx + dy * dy)
    if length < UPRIGHT:
        return 1.0, 0.0, 0.0, 0.0
    return dx / length, dy / length, length, (segment[5] - segment[2]) / length


@inner_kernel
def height_over(
    shape: Shape,
    segment: Segment,
    course: Course,
    px: float,
    py: float,
) -> float:
    """Return ``swept_height``, the course of the segment being known."""
    ux, uy, length, slope = course
    gx, gy = px - segment[0], py - segment[1]
    if shape[0] == BALL:
        return _over_ball(shape[2], segment, course, gx, gy)
    radius = shape[4]
    if length == 0.0:
        low = min(segment[2], segment[5])
        return low + profile(shape, np.sqrt(gx * gx + gy * gy))
    aside = gx * uy - gy * ux
    q2 = aside * aside
    half2 = radius * radius - q2
    if half2 < 0:
        return inf
    foot = gx * ux + gy * uy
    half = np.sqrt(half2)
    first, last = max(0.0, foot - half), min(length, foot + half)
    if first > last:
        return inf
    s = _lowest_along(shape, slope, q2, foot, first, last)
    r = min(np.sqrt(q2 + (s - foot) * (s - foot)), radius)
    return segment[2] + slope * s + profile(shape, r)


@inner_kernel
def _over_ball(radius: float, segment: Segment, course: Course, gx: float, gy: float) -> float:
    """Return ``height_over`` of a ball; (gx, gy) is the point seen from the segment's start, mm."""
    ux, uy, length, slope = course
    aside = gx * uy - gy * ux
    across = radius * radius - aside * aside
    if across < 0:
        return inf
    foot = gx * ux + gy * uy
    root, lean = np.sqrt(across), np.sqrt(1 + slope * slope)
    s = foot - slope / lean * root
    if 0 < s < length:
        return float(segment[2] + slope * foot + (radius - lean * root))
    s = min(max(s, 0.0), length)
    squared = across - (foot - s) * (foot - s)
    if squared < 0:
        return inf
    low = segment[2] + slope * s
    if length == 0.0:
        low = min(segment[2], segment[5])
    return float(low + (radius - np.sqrt(squared)))


@kernel
def width_at(shape: Shape, rise: float) -> float:
    """Return how far from its axis a body may lie lower than ``rise`` above its tip, mm."""
    if rise <= 0:
        return 0.0
    if shape[0] == CONE:
        return min(shape[4], rise / shape[3])
    corner = shape[2]
    if shape[0] == TAPERED and rise > _ball_top(shape):
        return min(shape[4], _ball_end(shape) + (rise - _ball_top(shape)) / shape[3])
    if rise >= corner:
        return shape[4]
    return float(shape[1] + np.sqrt(corner * corner - (corner - rise) * (corner - rise)))


@kernel
def surely_clear(shape: Shape, rise: float, d2: float) -> bool:
    """Return whether a body clears a point that lies ``rise`` above the segment's lower end.

    Args:
        shape: of ``shape_of``.
        rise: of the point above the lowest place of the tip, mm, above 0.
        d2: square of the point's distance from the segment in the plane, mm².

    A cheap bound, free of roots for the common shapes: it says no where it is not sure.
    """
    if d2 > shape[4] * shape[4]:
        return True
    kind = shape[0]
    if kind == FLAT:
        return False
    if kind == CONE:
        return rise * rise <= shape[3] * shape[3] * d2
    if kind == BALL:
        left = shape[2] - rise
        return bool(left > 0 and left * left >= shape[2] * shape[2] - d2)
    wide = width_at(shape, rise)
    return bool(wide < shape[4] and d2 >= wide * wide)
