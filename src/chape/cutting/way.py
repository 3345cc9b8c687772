"""A closed way of the cutter's middle, in true lines and arcs.

A bulge is the tangent of a quarter of an arc's sweep, positive counter-clockwise, 0 for a line.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, pi, sin, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import LineString

from chape import tolerances
from chape.errors import CannotMakeError
from chape.field.arcs import arc_of, chords
from chape.field.outline import Outline, exterior_of, fit_outline, offset

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Ways are flattened within this before distances are measured on them, mm.
FLAT = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One line or arc of a way: start and end (2,), bulge, length in mm."""

    start: Floats
    end: Floats
    bulge: float
    length: float

    def split(self, at: float) -> tuple[Piece, Piece]:
        """Return the piece in two, the first ``at`` mm long."""
        share = at / self.length
        if self.bulge == 0:
            middle = self.start + share * (self.end - self.start)
            return _piece(self.start, middle, 0.0), _piece(middle, self.end, 0.0)
        centre, radius, first, sweep = arc_of(self.start, self.end, self.bulge)
        angle = first + share * sweep
        middle = centre + radius * np.array([cos(angle), sin(angle)])
        return (
            _piece(self.start, middle, tan(sweep * share / 4)),
            _piece(middle, self.end, tan(sweep * (1 - share) / 4)),
        )

    def heading(self) -> float:
        """Return the direction at its start, radians."""
        way = self.end - self.start
        straight = atan2(way[1], way[0])
        # The chord of an arc lies half its sweep away from the tangent at its start.
        return straight - 2 * float(np.arctan(self.bulge))


def _piece(start: Floats, end: Floats, bulge: float) -> Piece:
    chord = float(np.hypot(*(end - start)))
    if bulge == 0:
        return Piece(start, end, 0.0, chord)
    sweep = 4 * abs(float(np.arctan(bulge)))
    return Piece(start, end, bulge, chord / 2 / sin(sweep / 2) * sweep)


def pieces_of(outline: Outline) -> list[Piece]:
    """Return the lines and arcs of an outline, without those too short to be told apart."""
    following = np.roll(outline.points, -1, axis=0)
    pieces = [
        _piece(start, end, float(bulge))
        for start, end, bulge in zip(outline.points, following, outline.bulges, strict=True)
    ]
    return [piece for piece in pieces if piece.length > tolerances.SAME_LENGTH]


def way_around(part: Outline, radius: float) -> list[Piece]:
    """Return the way of a cutter's middle around a part: clockwise, ``radius`` mm outside."""
    # Half the tolerance is held back outside, so that the fitted arcs never come in.
    spare = tolerances.ARC_FIT / 2
    around = offset(part, radius + spare, spare / 4)
    outward = shapely.orient_polygons(max(shapely.get_parts(around), key=lambda p: p.area))
    fitted = fit_outline(outward, spare)
    turned = Outline(fitted.points[::-1], -np.roll(fitted.bulges[::-1], -1))
    ring = LineString(exterior_of(outward))
    if not ring.is_simple:
        raise CannotMakeError(
            "the way around a part crosses itself", mend="Take a smaller trim cutter"
        )
    return pieces_of(turned)


def started_at(pieces: list[Piece], at: float) -> list[Piece]:
    """Return a closed way started ``at`` mm along it."""
    before: list[Piece] = []
    for n, piece in enumerate(pieces):
        if at < piece.length:
            if at < tolerances.SAME_LENGTH:
                return [*pieces[n:], *before]
            first, second = piece.split(at)
            return [second, *pieces[n + 1 :], *before, first]
        at -= piece.length
        before.append(piece)
    return pieces


def flattened(ways: list[Piece]) -> Floats:
    """Return a way as points (n, 2) whose chords stay within ``FLAT`` of it."""
    points = np.array([ways[0].start, *[piece.end for piece in ways]])
    return chords(points, np.array([piece.bulge for piece in ways]), FLAT)


def walked(ways: list[Piece], step: float) -> Floats:
    """Return a way as points (n, 2) no further apart than ``step`` mm: what lies along it."""
    line = shapely.LineString(flattened(ways))
    points: Floats = shapely.get_coordinates(shapely.segmentize(line, step))
    return points


def length_of(ways: list[Piece]) -> float:
    """Return the length of a way, mm."""
    return sum(piece.length for piece in ways)


def first_of(ways: list[Piece], length: float) -> list[Piece]:
    """Return the first ``length`` mm of a way."""
    taken: list[Piece] = []
    for piece in ways:
        if length <= tolerances.SAME_LENGTH:
            break
        part = piece if piece.length <= length else piece.split(length)[0]
        taken.append(part)
        length -= part.length
    return taken


def quarter(piece: Piece, radius: float, *, coming: bool) -> Piece:
    """Return a quarter arc that meets the start of a piece on its left.

    Round a part clockwise the waste is on the left.

    Args:
        piece: what is met.
        radius: of the arc, mm.
        coming: the arc ends where the piece starts; else it leaves from there.
    """
    angle = piece.heading()
    ahead, left = np.array([cos(angle), sin(angle)]), np.array([-sin(angle), cos(angle)])
    centre = piece.start + radius * left
    bulge = tan(pi / 8)
    if coming:
        return _piece(centre - radius * ahead, piece.start, bulge)
    return _piece(piece.start, centre + radius * ahead, bulge)
