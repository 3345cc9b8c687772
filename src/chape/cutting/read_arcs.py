"""Centre and sweep of an arc from its words.

NISTIR 6556, section 3.5.3. Clockwise and counter-clockwise are as seen from +z.
"""

from __future__ import annotations

from math import atan2, hypot, pi, sqrt

from chape.errors import ProgramError

#: Start and end radius may differ by this, in the program's own units (3.5.3.2).
RADII_MM = 0.002
RADII_INCH = 0.0002
#: Start and end closer than this are one point, mm: below any decimal a program carries.
SAME_POINT = 1e-7

Point = tuple[float, float]


def centre_form(
    start: Point, end: Point, offset: Point, *, clockwise: bool, tolerance: float, line: int
) -> tuple[Point, float]:
    """Return centre and signed sweep of an arc given by I and J.

    Args:
        start: mm.
        end: mm.
        offset: I and J, mm, always from the start (3.5.17).
        clockwise: G2 rather than G3.
        tolerance: by which the radii may differ, mm.
        line: for the error.

    Raises:
        ProgramError: no radius, or start and end radius differ too much.
    """
    centre = (start[0] + offset[0], start[1] + offset[1])
    radius = hypot(*offset)
    end_radius = hypot(end[0] - centre[0], end[1] - centre[1])
    if radius < SAME_POINT:
        raise ProgramError(line, "the arc's centre is its start")
    if abs(radius - end_radius) > tolerance:
        raise ProgramError(
            line,
            f"start and end of the arc are {radius:.4f} and {end_radius:.4f} mm from its centre,"
            f" more than {tolerance:g} mm apart",
        )
    return centre, sweep_of(start, end, centre, clockwise=clockwise)


def radius_form(
    start: Point, end: Point, radius: float, *, clockwise: bool, line: int
) -> tuple[Point, float]:
    """Return centre and signed sweep of an arc given by R; a negative R asks for the longer one.

    Raises:
        ProgramError: start and end are one point, or further apart than the diameter.
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    chord = hypot(dx, dy)
    if chord < SAME_POINT:
        raise ProgramError(line, "an arc given by R must end elsewhere than it starts")
    if chord / 2 > abs(radius) * (1 + 1e-6):
        raise ProgramError(line, "the arc's radius is too small to reach its end point")
    aside = sqrt(max(0.0, radius * radius - chord * chord / 4))
    # A short clockwise arc has its centre to the right of the chord; each change turns it over.
    side = -1.0 if clockwise == (radius > 0) else 1.0
    centre = (
        (start[0] + end[0]) / 2 - side * aside * dy / chord,
        (start[1] + end[1]) / 2 + side * aside * dx / chord,
    )
    return centre, sweep_of(start, end, centre, clockwise=clockwise)


def sweep_of(start: Point, end: Point, centre: Point, *, clockwise: bool) -> float:
    """Return the signed angle from start to end about centre; a full turn when they are one."""
    if hypot(end[0] - start[0], end[1] - start[1]) < SAME_POINT:
        return -2 * pi if clockwise else 2 * pi
    first = atan2(start[1] - centre[1], start[0] - centre[0])
    last = atan2(end[1] - centre[1], end[0] - centre[0])
    turn = (last - first) % (2 * pi)
    return turn - 2 * pi if clockwise else turn
