"""A knife's outline: its lower and upper side, and the landmarks its shape proposes.

Landmarks are proposals from the shape alone, for the person to correct: where the blade ends, the
guard, the handle. All limits of theirs are common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.errors import InputError

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats


#: Columns an outline is looked at by, mm; what is narrower than half of so many is no landmark.
COLUMN, SPECK = 0.25, 13

#: A side turns by this at the blade's end, degrees, over this share of the length to both sides;
#: the end lies between these shares of the knife.
TURNS, TURN_OVER, BLADE_SHARES = 16.0, 0.025, (0.25, 0.85)

#: Lines this long tell where a side steps, mm.
STEP_OVER = 1.0

#: Where nothing shows, the blade is taken as this share of the knife.
USUAL_BLADE = 0.52

#: A guard stands out of blade and grip by this, mm, and is no longer than this.
GUARD_STANDS, GUARD_LENGTH = 2.5, 25.0


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """An outline column by column: x (n,) rising, and its lowest and highest y there (n,), mm."""

    x: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True)
class Landmarks:
    """Where the parts of a knife begin and end, x in mm.

    Attributes:
        blade_length: where the blade ends.
        guard: from and to, None where none stands out.
        handle: where the grip begins, behind the guard.
        butt: the knife's end.
        doubt: what was guessed on weak signs; empty for nothing.
    """

    blade_length: float
    guard: tuple[float, float] | None
    handle: float
    butt: float
    doubt: str = ""


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
    forward = ring[:-1, 0] <= ring[1:, 0]
    left = np.where(forward[:, None], ring[:-1], ring[1:])
    right = np.where(forward[:, None], ring[1:], ring[:-1])
    first = np.searchsorted(x, left[:, 0], "left")
    count = np.searchsorted(x, right[:, 0], "right") - first
    # One row for every column that a side of the polygon passes.
    side = np.repeat(np.arange(len(left)), count)
    column = np.arange(len(side)) + np.repeat(first - np.cumsum(count) + count, count)
    left, right = left[side], right[side]
    run = right[:, 0] - left[:, 0]
    share = np.divide(x[column] - left[:, 0], run, out=np.zeros(len(run)), where=run > 0)
    start = left[:, 1] + share * (right[:, 1] - left[:, 1])
    end = np.where(run > 0, start, right[:, 1])
    lowest, highest = np.full(len(x), np.inf), np.full(len(x), -np.inf)
    np.minimum.at(lowest, column, np.minimum(start, end))
    np.maximum.at(highest, column, np.maximum(start, end))
    nothing = lowest > highest
    lowest[nothing], highest[nothing] = np.nan, np.nan
    return lowest, highest


def columns_of(outline: Polygon) -> Columns:
    """Return the reach of an outline column by column, ``COLUMN`` apart."""
    length = float(outline.bounds[2] - outline.bounds[0])
    count = max(int(length / COLUMN), 8)
    x = outline.bounds[0] + length * (np.arange(count) + 0.5) / count
    return Columns(x, *reach_at(outline, x))


def width_at(outline: Polygon, x: Floats) -> Floats:
    """Return the height of an outline at each x (n,), mm, in any order."""
    order = np.argsort(x)
    low, high = reach_at(outline, x[order])
    width = np.empty(len(x))
    width[order] = high - low
    return width


def find_landmarks(outline: Polygon, blade_length: float | None = None) -> Landmarks:
    """Propose landmarks of an outline in the knife frame.

    Args:
        outline: tip at x = 0, along x, mm.
        blade_length: as the person says; None finds it.

    Raises:
        InputError: what was said is longer than the knife.
    """
    columns = columns_of(outline)
    butt = float(outline.bounds[2])
    if blade_length is not None and not 0 < blade_length < butt:
        raise InputError(
            f"the blade is {blade_length:.1f} mm long, but the whole knife {butt:.1f} mm",
            mend="Measure the blade from its tip to the front of guard or handle",
            field="blade.length",
        )
    length, doubt = (blade_length, "") if blade_length else _blade_end(columns)
    guard = _guard(columns, length)
    return Landmarks(length, guard, length if guard is None else guard[1], butt, doubt)


def _blade_end(columns: Columns) -> tuple[float, str]:
    """Return where a side of the blade first turns sharply, mm, and a doubt where none does."""
    x = columns.x
    butt = float(x[-1] + x[0])
    # What is narrower than a guard, such as a speck beside the blade, is passed over.
    sides = [
        ndimage.median_filter(side, SPECK, mode="nearest") for side in (columns.low, columns.high)
    ]
    turn = np.maximum(*(_turn(x, side, TURN_OVER * butt) for side in sides))
    least, most = (share * butt for share in BLADE_SHARES)
    sharp = np.flatnonzero((turn > TURNS) & (x > least) & (x < most))
    if len(sharp) == 0:
        return USUAL_BLADE * butt, "where the blade ends: neither side turns sharply anywhere"
    # The first place that turns, where it turns most: the guard's own corners come behind it.
    place = int(sharp[0])
    while place + 1 < len(turn) and turn[place + 1] >= turn[place]:
        place += 1
    # Lines so long see a step before they reach it: short ones tell where it is.
    fine = np.maximum(*(_turn(x, side, STEP_OVER) for side in sides))
    near = (x > x[place] - STEP_OVER) & (x < x[place] + TURN_OVER * butt)
    return float(x[near][np.argmax(fine[near])]), ""


def _turn(x: Floats, side: Floats, over: float) -> Floats:
    """Return by how many degrees a side turns at each x, lines fitted over a length each way."""
    step = float(x[1] - x[0])
    count = max(int(over / step), 2)
    offsets = np.arange(count) - (count - 1) / 2
    weight = offsets / (offsets**2).sum() / step
    slope = ndimage.correlate1d(side, weight, mode="nearest")
    half = count // 2 + 1
    before = np.concatenate([np.full(half, slope[0]), slope[:-half]])
    after = np.concatenate([slope[half:], np.full(half, slope[-1])])
    turn: Floats = np.degrees(np.abs(np.arctan(after) - np.arctan(before)))
    return turn


def _guard(columns: Columns, blade_length: float) -> tuple[float, float] | None:
    """Return from where to where the knife is clearly wider than blade and grip beside it."""
    x, width = columns.x, columns.high - columns.low
    before = (x > blade_length - 8) & (x < blade_length - 3)
    near = (x >= blade_length - 3) & (x < blade_length + GUARD_LENGTH)
    behind = (x >= blade_length) & (x < min(blade_length + 2 * GUARD_LENGTH, 0.9 * x[-1]))
    if not (before.any() and near.any() and behind.any()):
        return None
    peak = np.flatnonzero(near)[np.argmax(width[near])]
    grip = width[behind & (x > x[peak])].min(initial=np.inf)
    level = max(float(width[before].mean()), float(grip))
    if not np.isfinite(grip) or width[peak] < level + GUARD_STANDS:
        return None
    wide = width > (level + width[peak]) / 2
    ends = np.flatnonzero(~wide[peak:])
    if len(ends) == 0:
        return None
    end = float(x[peak + ends[0]])
    return (blade_length, end) if 0 < end - blade_length <= GUARD_LENGTH else None
