"""How plates are located: by dowels for the flip, by pins on a location board.

Flip dowels lie where the boards' own pins lie, halfway along the left and right edges, whenever
nothing is in the way: then one board serves both sides of a mould.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import CannotMakeError, InputError
from chape.tooling.model import RoundHole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Board
    from chape.field.heights import HeightField
    from chape.tooling.model import Groove

#: Diameter of the flip dowels and their distance from the edge, mm (common practice, no source).
DOWEL = 6.0
DOWEL_INSET = 6.0

#: Level ground wanted around a hole, mm.
WALL = 1.0


def flip_dowels(
    surface: HeightField, width: float, depth: float, z_bottom: float, grooves: Sequence[Groove]
) -> tuple[RoundHole, RoundHole]:
    """Return two through holes that trade places when the plate is turned over left to right.

    They lie at one y, so that ``x -> width - x`` carries one onto the other; halfway along the
    edges where that ground is level and free of back grooves, else as near as can be.

    Raises:
        CannotMakeError: no such pair of places is free.
    """
    lines = shapely.union_all(
        [shapely.LineString(g.points).buffer(g.width / 2 + DOWEL / 2 + WALL) for g in grooves]
    )
    angles = np.arange(16) * np.pi / 8
    ring = (DOWEL / 2 + WALL) * np.column_stack([np.cos(angles), np.sin(angles)])
    for aside in np.arange(0.0, depth / 2 - DOWEL_INSET, 1.0):
        for y in dict.fromkeys((depth / 2 + aside, depth / 2 - aside)):
            places = np.array([[DOWEL_INSET, y], [width - DOWEL_INSET, y]])
            ground = np.vstack([places, *(place + ring for place in places)])
            level = float(surface.at(ground).max()) <= 0.0
            if level and not shapely.contains_xy(lines, places).any():
                left, right = (
                    RoundHole(float(x), float(y), DOWEL, 0.0, z_bottom, "dowel")
                    for x in places[:, 0]
                )
                return left, right
    raise CannotMakeError(
        f"no two places {DOWEL_INSET:g} mm from the left and right edges are level and free of "
        "back grooves, so the flip cannot be located",
        mend="Use a wider clamp border, which keeps the edges free",
    )


def board_pins(board: Board, width: float, depth: float, z_bottom: float) -> tuple[RoundHole, ...]:
    """Return the holes that match a location board's pins.

    Raises:
        InputError: a pin stands outside the plate, or breaks through its edge.
    """
    radius = board.pin_diameter / 2
    for x, y in board.pins:
        wall = min(x, y, width - x, depth - y) - radius
        if wall < WALL:
            raise InputError(
                f'pin ({x:g}, {y:g}) of board "{board.name}" leaves {wall:g} mm of wall in a plate '
                f"of {width:g} x {depth:g} mm; {WALL:g} mm are needed",
                mend="Choose a board that is made for this size of plate",
                field="fixture.board",
            )
    return tuple(RoundHole(x, y, board.pin_diameter, 0.0, z_bottom, "pin") for x, y in board.pins)
