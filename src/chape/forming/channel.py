"""How close two shapes may stand on a blank, so that the sheet still gets down between them.

A long channel between two walls is drawn down in section (``solve.membrane`` with nodes that keep
their place along the channel), and the narrowest is sought whose floor the sheet reaches.
"""

from __future__ import annotations

from itertools import pairwise
from math import radians, tan

import numpy as np

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.forming.draping import ABOVE, BRIDGE, LOWERING_STEPS, LOWERINGS, blank_sheet
from chape.solve.membrane import Drawn, press

#: Distance of the sheet's nodes, mm, and what lies flat beside the walls, mm.
SPACING, SHOULDER = 1.0, 25.0

#: The search ends when the width is known this well, mm; no channel wider than this is tried.
CLOSE, WIDEST = 0.5, 120.0

PRESSURES, PRESSURE_STEPS = 30, 120


def gap_at_floor(width: float, height: float, draft: float, hot_pressure: float) -> float:
    """Return how far the sheet stays above the middle of a channel, mm.

    Args:
        width: between the feet of its walls, mm.
        height: of the walls, mm.
        draft: of the walls, degrees from upright.
        hot_pressure: as ``draping.drape`` takes it, 1/mm.
    """
    run = height * tan(radians(draft))
    reach = width / 2 + run + SHOULDER
    grid = Grid.over(-reach, 0.0, reach, 3.0, 0.25)

    def profile(x: np.ndarray, _: np.ndarray) -> np.ndarray:
        return np.asarray(height * np.clip((np.abs(x) - width / 2) / run, 0.0, 1.0))

    channel = HeightField.of(grid, profile)
    sheet, _ = blank_sheet(grid, 0.0, SPACING)
    fixed = np.abs(sheet.rest[:, 0]) >= reach - SPACING
    drawn = Drawn.at_rest(sheet, fixed, height + ABOVE)
    for level in np.linspace(height + ABOVE, height, LOWERINGS + 1)[1:]:
        drawn.nodes[fixed, 2] = level
        press(sheet, drawn, channel, (0.0, 0.0), LOWERING_STEPS, plane=True)
    for rise in pairwise((hot_pressure * np.linspace(0.0, 1.0, PRESSURES + 1) ** 2).tolist()):
        press(sheet, drawn, channel, rise, PRESSURE_STEPS, plane=True)
    middle = np.abs(drawn.nodes[:, 0]) < max(SPACING, width / 8)
    return float(drawn.nodes[middle, 2].min())


def narrowest_channel(height: float, draft: float, hot_pressure: float) -> float | None:
    """Return the width between two feet below which the sheet bridges the channel, mm.

    None where even the widest that is tried stays open.
    """
    if gap_at_floor(WIDEST, height, draft, hot_pressure) > BRIDGE:
        return None
    bridged, reached = 0.0, WIDEST
    while reached - bridged > CLOSE:
        width = (bridged + reached) / 2
        if gap_at_floor(width, height, draft, hot_pressure) > BRIDGE:
            bridged = width
        else:
            reached = width
    return reached
