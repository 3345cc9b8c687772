"""Centre and sweep of an arc from its words.

NISTIR 6556, section 3.5.3. Clockwise and counter-clockwise are as seen from the end of the axis
that stands upright on the arc's plane.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, atan2, ceil, cos, hypot, pi, sin, sqrt
from typing import TYPE_CHECKING

from chape.errors import ProgramError
from chape.units import MM_PER_INCH

#: Start and end radius may differ by this, in the program's own units (3.5.3.2).
RADII_MM = 0.002
RADII_INCH = 0.0002
#: Start and end closer than this are one point, mm: below any decimal a program carries.
SAME_POINT = 1e-7

#: Chords that stand for an arc on edge stay this close to it, mm.
CHORD_DEPTH = 0.0005

Point = tuple[float, float]
Place = tuple[float, float, float]

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


@dataclass(frozen=True, slots=True)
class Plane:
    """Which axes an arc turns in, and which one it rises along, by their numbers."""

    across: int
    up: int
    along: int

    @property
    def axes(self) -> tuple[str, str]:
        """Letters of its axes."""
        return "XYZ"[self.across], "XYZ"[self.up]

    @property
    def offsets(self) -> tuple[str, str]:
        """Letters of the centre's offsets along them."""
        return "IJK"[self.across], "IJK"[self.up]

    def flat(self, place: Place) -> Point:
        """Return a place as seen in the plane."""
        return place[self.across], place[self.up]


#: Each turns from its first axis to its second as X to Y, seen from the end of the third.
PLANES = {"G17": Plane(0, 1, 2), "G18": Plane(2, 0, 1), "G19": Plane(1, 2, 0)}


@dataclass(frozen=True, slots=True)
class Arc:
    """An arc or helix between two places.

    Attributes:
        start, end: mm.
        centre: in the plane, mm.
        sweep: radians, counter-clockwise positive.
    """

    plane: Plane
    start: Place
    end: Place
    centre: Point
    sweep: float

    @property
    def length(self) -> float:
        """Way along it, mm."""
        a, b = self.plane.flat(self.start)
        radius = hypot(a - self.centre[0], b - self.centre[1])
        rise = self.end[self.plane.along] - self.start[self.plane.along]
        return hypot(radius * self.sweep, rise)

    def chords(self) -> Iterator[Place]:
        """Yield the ends of straight pieces within ``CHORD_DEPTH`` of it."""
        plane, centre = self.plane, self.centre
        a, b = plane.flat(self.start)
        x, y = a - centre[0], b - centre[1]
        widest = 2 * acos(max(-0.5, 1 - CHORD_DEPTH / hypot(x, y)))
        count = max(1, ceil(abs(self.sweep) / widest))
        rise = self.end[plane.along] - self.start[plane.along]
        for n in range(1, count):
            share = n / count
            turn = self.sweep * share
            place = [0.0, 0.0, 0.0]
            place[plane.across] = centre[0] + x * cos(turn) - y * sin(turn)
            place[plane.up] = centre[1] + x * sin(turn) + y * cos(turn)
            place[plane.along] = self.start[plane.along] + rise * share
            yield place[0], place[1], place[2]
        yield self.end


def arc_of(
    words: Mapping[str, float],
    start: Place,
    end: Place,
    plane: Plane,
    *,
    clockwise: bool,
    inch: bool,
    line: int,
) -> Arc:
    """Return the arc that a line asks for.

    Args:
        words: of the line.
        start: mm.
        end: mm.
        plane: in which it turns.
        clockwise: G2 rather than G3.
        inch: what R, I, J and K are written in.
        line: for the error.

    Raises:
        ProgramError: a place is unknown, words are missing or too many, or the radii differ.
    """
    if any(coordinate != coordinate for coordinate in (*start, *end)):  # noqa: PLR0124  # NaN
        raise ProgramError(line, "the arc starts where no place was given before")
    scale = MM_PER_INCH if inch else 1.0
    first, second = plane.offsets
    if not {*plane.axes} & words.keys():
        raise ProgramError(
            line,
            f"an arc needs {plane.axes[0]} or {plane.axes[1]} (a full circle repeats one of them)",
        )
    from_, to = plane.flat(start), plane.flat(end)
    if "R" in words:
        if {first, second} & words.keys():
            raise ProgramError(line, f"an arc takes either R or {first} and {second}")
        centre, sweep = radius_form(from_, to, words["R"] * scale, clockwise=clockwise, line=line)
    else:
        if not {first, second} & words.keys():
            raise ProgramError(line, f"an arc needs R, or {first} or {second}")
        centre, sweep = centre_form(
            from_,
            to,
            (words.get(first, 0.0) * scale, words.get(second, 0.0) * scale),
            clockwise=clockwise,
            tolerance=RADII_INCH * MM_PER_INCH if inch else RADII_MM,
            line=line,
        )
    return Arc(plane, start, end, centre, sweep)


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
