"""Plates for drilling by hand: they drop over the formed walls and guide a drill at every hole.

For a workshop without a router. A plate lies on the flange's outside, located by the walls that
stand up through it; its outer edge is the trimmed outline, to scribe along. Drains lie on the wall
itself, where no plate can guide: they are drilled from the template.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import shapely

from chape.field.contour import regions_above
from chape.sheath.halves import half_name
from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.sheath.model import Piece, Sheath

#: Thickness of the plate, mm: it keeps a drill upright. Common practice, no source.
THICKNESS = 6.0

#: The guide's own holes, mm: a pilot drill's, opened to size after. Common practice, no source.
PILOT = 3.0

#: Plate round every pilot hole at least, mm; it may reach past the outline for that.
AROUND = 4.0

#: Air between plate and wall, mm: a printed plate is seldom truer. Common practice, no source.
AIR = 0.3

#: What stands higher than this is wall, mm.
FOOT_LEVEL = 0.05

#: Parts of a plate narrower than this break, mm.
NARROWEST = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class DrillGuide:
    """One plate, in its piece's flat frame, seen from the sheet's outside.

    Attributes:
        name: of the piece, and of the half where a piece has two.
        shape: with its pilot holes, mm.
        holes: (u, v) of the pilot holes, mm.
        left_out: how many holes of the half it cannot guide.
    """

    name: str
    shape: Polygon
    holes: tuple[tuple[float, float], ...]
    left_out: int


def make_drill_guides(sheath: Sheath) -> tuple[DrillGuide, ...]:
    """Return the plates of a sheath, one for each flange that holes go through."""
    guides = []
    for piece in sheath.pieces:
        walls = regions_above(piece.formed, FOOT_LEVEL)
        gauge = float(sheath.sheet.gauge.value)
        free = piece.pattern.polygon(0.02).difference(walls.buffer(gauge + AIR, quad_segs=16))
        free = free.buffer(-NARROWEST / 2).buffer(NARROWEST / 2, quad_segs=16)
        for part in shapely.get_parts(free):
            guide = _guide(sheath, piece, part)
            if guide is not None:
                guides.append(guide)
    return tuple(guides)


def _guide(sheath: Sheath, piece: Piece, part: Polygon) -> DrillGuide | None:
    """Return the plate of one flange; None where no hole goes through it."""
    places = [(hole.u, hole.v) for hole in piece.holes if hole.use is not HoleUse.DRAIN]
    for slot in piece.slots:
        places += [(float(u), float(v)) for u, v in slot.ends]
    held = [place for place in places if part.distance(shapely.Point(place)) < AROUND / 2]
    if not held:
        return None
    walls = regions_above(piece.formed, FOOT_LEVEL).buffer(float(sheath.sheet.gauge.value) + AIR)
    rings = [shapely.Point(place).buffer(AROUND + PILOT / 2, quad_segs=16) for place in held]
    whole = shapely.union_all([part, *rings]).difference(walls)
    body = max(shapely.get_parts(whole), key=lambda one: float(one.area))
    pilots = [shapely.Point(place).buffer(PILOT / 2, quad_segs=16) for place in held]
    same_half = [h for h in piece.holes if (h.v > 0) == (held[0][1] > 0) or sheath.fold is None]
    left_out = sum(hole.use is HoleUse.DRAIN for hole in same_half)
    return DrillGuide(
        _name(sheath, piece, held[0][1]),
        body.difference(shapely.union_all(pilots)),
        tuple(held),
        left_out,
    )


def _name(sheath: Sheath, piece: Piece, v: float) -> str:
    return piece.name if sheath.fold is None else half_name(sheath, upper=v > 0)
