"""The lines a knife's outline is made of: its lower and upper side, its edges, its spine."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Sides:
    """An outline in two halves.

    Attributes:
        lower: (n, 2) corners from the tip along the lower side to the butt, mm.
        upper: (m, 2) corners from the tip along the upper side to the butt, mm.
    """

    lower: Floats
    upper: Floats


def sides_of(outline: Polygon) -> Sides:
    """Split an outline at its leftmost and rightmost corner.

    A tip or butt that is cut off straight belongs to neither side.
    """
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(outline).exterior)[:-1]
    x, y = ring[:, 0], ring[:, 1]
    at_tip, at_butt = np.flatnonzero(x == x.min()), np.flatnonzero(x == x.max())
    lower = _walk(ring, at_tip[np.argmin(y[at_tip])], at_butt[np.argmin(y[at_butt])])
    upper = _walk(ring, at_butt[np.argmax(y[at_butt])], at_tip[np.argmax(y[at_tip])])
    return Sides(lower, upper[::-1])


def crossing_of(outline: Polygon) -> Floats | None:
    """Return a point (2,) where an outline crosses or touches itself; None when it is simple."""
    if shapely.is_valid(outline):
        return None
    # The geometry library tells the place only in words: "Self-intersection[12.5 3.1]".
    found = re.search(r"\[(\S+) (\S+)\]", shapely.is_valid_reason(outline))
    if found is None:
        first: Floats = shapely.get_coordinates(outline)[0]
        return first
    return np.array([float(found[1]), float(found[2])])


def _walk(ring: Floats, first: np.intp, last: np.intp) -> Floats:
    turned = np.roll(ring, -int(first), axis=0)
    return turned[: (int(last) - int(first)) % len(ring) + 1]


def cut_at(line: Floats, x: float) -> Floats:
    """Return a line that starts at the tip up to where it first passes ``x``, (k, 2)."""
    past = np.flatnonzero(line[:, 0] > x)
    if len(past) == 0:
        return line
    following = max(int(past[0]), 1)
    before, after = line[following - 1], line[following]
    step = (x - before[0]) / (after[0] - before[0])
    return np.vstack([line[:following], before + step * (after - before)])


def reach_at(outline: Polygon, x: Floats) -> tuple[Floats, Floats]:
    """Return the lowest and highest y of an outline at each x.

    Args:
        outline: in the knife frame.
        x: (n,) rising, mm.

    Returns:
        Two arrays (n,), mm; NaN where the outline has nothing at that x.
    """
    ring = shapely.get_coordinates(outline.exterior)
    lowest, highest = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    for start, end in pairwise(ring):
        left, right = (start, end) if start[0] <= end[0] else (end, start)
        first, last = np.searchsorted(x, left[0], "left"), np.searchsorted(x, right[0], "right")
        if first == last:
            continue
        columns = slice(first, last)
        run = right[0] - left[0]
        ends = [left[1], right[1]]
        if run > 0:
            y = left[1] + (x[columns] - left[0]) / run * (right[1] - left[1])
            ends = [y, y]
        lowest[columns] = np.minimum(lowest[columns], np.minimum(*ends))
        highest[columns] = np.maximum(highest[columns], np.maximum(*ends))
    nothing = lowest > highest
    lowest[nothing], highest[nothing] = np.nan, np.nan
    return lowest, highest
