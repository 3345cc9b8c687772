"""A former built up by hand: layers of board under the sheet, and boards to check its shape with.

Each layer is cut to the level line at its own underside, so that the stack holds all of the former
and its steps stand out. Sanded down until the steps are gone, the glue lines lie on the surface.
Profile boards are the surface's other side at some stations: held across, they show where wood
still stands.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import InputError
from chape.field.contour import regions_above

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats
    from chape.sheath.model import Piece

#: What stands higher than this above the base board is wood, mm.
FOOT_LEVEL = 0.1

#: Dowels that keep the layers in register, mm.
DOWEL = 6.0

#: A layer has wood round a dowel, mm.
ROUND_DOWEL = 3.0

#: More layers than this are no work for hands.
LAYERS_MOST = 24

#: A profile board stands this high above the surface, and reaches so far beyond it, mm.
ABOVE, BEYOND = 12.0, 8.0


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """One layer of the former, in the piece's flat frame.

    Attributes:
        number: from the base board up, from 1.
        z_low, z_top: its two faces above the base board, mm.
        shape: as cut.
        dowels: (u, v) of the dowels that go through it.
    """

    number: int
    z_low: float
    z_top: float
    shape: BaseGeometry
    dowels: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, eq=False)
class ProfileBoard:
    """A board held across the former: at u, the (n, 2) profile (v, z) of its lower edge, mm."""

    u: float
    profile: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Former:
    """What is built for one piece: its name, its layers from below, and the boards to check it."""

    name: str
    board: float
    layers: tuple[Layer, ...]
    profiles: tuple[ProfileBoard, ...]


def make_former(piece: Piece, stations: Sequence[float], board: float) -> Former:
    """Return the layers and profile boards of one piece's former.

    Args:
        piece: its inner surface is the former's.
        stations: u of the profile boards, mm.
        board: thickness of the layers, mm.

    Raises:
        InputError: boards so thin or thick that the stack makes no sense.
    """
    highest = float(piece.formed.z.max())
    if not 0.5 <= board <= highest:
        raise InputError(
            f"layers of {board:g} mm do not build up a former {highest:.1f} mm high",
            mend="Give a board between 0.5 mm and that height",
            field="board",
        )
    count = ceil(highest / board - 1e-6)
    if count > LAYERS_MOST:
        raise InputError(
            f"{count} layers of {board:g} mm are more than {LAYERS_MOST}",
            mend="Take a thicker board",
            field="board",
        )
    shapes = [
        regions_above(piece.formed, max(FOOT_LEVEL, n * board)).simplify(0.02) for n in range(count)
    ]
    dowels = _dowels(shapes)
    layers = tuple(
        Layer(n + 1, n * board, (n + 1) * board, shape, _through(shape, dowels))
        for n, shape in enumerate(shapes)
    )
    profiles = tuple(ProfileBoard(u, _profile(piece, u)) for u in stations)
    return Former(piece.name, board, layers, profiles)


def _dowels(shapes: Sequence[BaseGeometry]) -> list[tuple[float, float]]:
    """Return the places of dowels that as many layers as may be share, far from their edges.

    Two in every part that is long enough for two, as high up as there is room for them.
    """
    for shape in reversed(shapes):
        roomy = shape.buffer(-(DOWEL / 2 + ROUND_DOWEL))
        parts = [part for part in shapely.get_parts(roomy) if part.area > 1.0]
        if parts:
            return [place for part in parts for place in _apart(part)]
    return []


def _apart(part: shapely.Geometry) -> list[tuple[float, float]]:
    """Return a place in either end third of a part, or one in a short part."""
    x_min, y_min, x_max, y_max = part.bounds
    third = (x_max - x_min) / 3
    ends = (
        [part]
        if 3 * third < 2.5 * DOWEL
        else [
            part.intersection(shapely.box(x, y_min, x + third, y_max))
            for x in (x_min, x_max - third)
        ]
    )
    points = [end.representative_point() for end in ends if not end.is_empty]
    return [(float(point.x), float(point.y)) for point in points]


def _through(
    shape: BaseGeometry, dowels: Sequence[tuple[float, float]]
) -> tuple[tuple[float, float], ...]:
    room = shape.buffer(-(DOWEL / 2 + ROUND_DOWEL / 2))
    return tuple(place for place in dowels if room.contains(shapely.Point(place)))


def _profile(piece: Piece, u: float) -> Floats:
    """Return the profile (v, z) across a piece, as far as something stands, and a little beyond."""
    grid = piece.formed.grid
    v = grid.y
    z = piece.formed.at(np.column_stack([np.full_like(v, u), v]))
    high = np.flatnonzero(z > FOOT_LEVEL)
    if len(high) == 0:
        return np.array([[-BEYOND, 0.0], [BEYOND, 0.0]])
    inside = (v >= v[high[0]] - BEYOND) & (v <= v[high[-1]] + BEYOND)
    return np.column_stack([v[inside], z[inside]])
