"""Candidate patterns of N copies on a blank, from plain rows to pinwheels, and the choice.

The order of the candidates is fixed and no chance is involved: the same sheath on the same blank
always lies the same way.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.tooling.nesting import WEB_RATIO, Copy, Shapes, Unit, stacked

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.tooling.model import BlankChoices

#: Which pieces are laid out, in this order.
Kinds = tuple[int, ...]

#: Patterns of blocks turned differently are tried up to this many copies.
MIXED_MOST = 12

#: Shares of the spare sheet left outside the copies: spread to the border, half and half, centred.
SPREADS = (0.0, 0.5, 1.0)


@dataclass(frozen=True)
class Chosen:
    """Where the copies lie, and how far their outlines and raised parts are apart, mm."""

    copies: Unit
    outlines_apart: float
    raised_apart: float


def choose_pattern(shapes: Shapes, blank: BlankChoices) -> Chosen:
    """Return the best pattern of ``blank.copies`` copies.

    The measure: first the distance of raised parts (up to 1.5 times their height), then the
    distance of the outlines (up to three gaps), then the earlier candidate.

    Raises:
        CannotMakeError: no pattern fits; says how many copies would, and by how much it fails.
    """
    best: Chosen | None = None
    best_score = (-1.0, -1.0)
    for copies in fitting(shapes, blank, blank.copies):
        outlines, raised = shapes.distances(copies)
        score = (
            round(min(raised, WEB_RATIO * shapes.height), 1),
            round(min(outlines, 3 * shapes.gap), 1),
        )
        if score > best_score:
            best, best_score = Chosen(copies, outlines, raised), score
    if best is None:
        raise _does_not_fit(shapes, blank)
    return best


def fitting(shapes: Shapes, blank: BlankChoices, count: int) -> Iterator[Unit]:
    """Yield every candidate of ``count`` copies that fits, each with its spare sheet shared out."""
    for candidate in candidates(shapes, count, blank):
        if oversize(shapes, candidate, blank) > 0:
            continue
        for outside in SPREADS:
            copies = spread(shapes, candidate, blank, outside)
            if oversize(shapes, copies, blank) <= 0 and shapes.all_clear(copies):
                yield copies


def usable(blank: BlankChoices) -> tuple[float, float]:
    """Return width and depth of the sheet inside the clamp border, mm."""
    return blank.width - 2 * blank.clamp_border, blank.depth - 2 * blank.clamp_border


def oversize(shapes: Shapes, unit: Unit, blank: BlankChoices) -> float:
    """Return by how many mm copies reach into the clamp border; zero or less where they fit.

    They are measured where they lie best: by whole cells, as near the front-left border as may be.
    """
    box = shapes.box_of(unit)
    border = blank.clamp_border
    over = []
    for axis, size in ((0, blank.width), (1, blank.depth)):
        cells = ceil((border - box[axis]) / shapes.spacing - 1e-9)
        over.append(box[axis + 2] + cells * shapes.spacing - (size - border))
    return max(over) - 1e-9


def spread(shapes: Shapes, unit: Unit, blank: BlankChoices, outside: float) -> Unit:
    """Move copies apart so that they share the spare sheet; ``outside`` of it stays at the rim."""
    moved = []
    border = blank.clamp_border
    low = shapes.box_of(unit)
    boxes = [shapes.box(copy) for copy in unit]
    spare = [
        size - 2 * border - (low[axis + 2] - low[axis])
        for axis, size in ((0, blank.width), (1, blank.depth))
    ]
    reach = [max(box[axis] for box in boxes) - low[axis] for axis in (0, 1)]
    for copy, box in zip(unit, boxes, strict=True):
        steps = []
        for axis in (0, 1):
            share = (box[axis] - low[axis]) / reach[axis] if reach[axis] > 0 else 0.5
            if reach[axis] == 0:
                ahead = spare[axis] / 2
            else:
                ahead = spare[axis] * (outside / 2 + (1 - outside) * share)
            target = border - low[axis] + ahead
            steps.append(_whole_cells(box[axis], target, border, shapes.spacing))
        moved.append(copy.moved(*steps))
    return tuple(moved)


def _whole_cells(low: float, move: float, border: float, spacing: float) -> int:
    """Return the move in whole cells that is nearest and keeps ``low`` behind the border."""
    steps = floor(move / spacing + 0.5)
    return steps if low + steps * spacing >= border - 1e-9 else ceil((border - low) / spacing)


def candidates(
    shapes: Shapes, count: int, blank: BlankChoices, *, pinwheels: bool = True
) -> Iterator[Unit]:
    """Yield packed patterns of ``count`` copies: rows, interlocking rows, pinwheels, mixed."""
    kinds = kinds_of(shapes, count)
    for turns in range(4):
        yield from _grids(shapes, kinds, turns, blank)
    if len(kinds) in {3, 4} and pinwheels:
        yield from _pinwheels(shapes, kinds, blank)
    if len(kinds) <= MIXED_MOST:
        yield from _mixed(shapes, kinds, blank)


def kinds_of(shapes: Shapes, count: int) -> Kinds:
    """Return which pieces ``count`` sheaths are cut from, one sheath after the other."""
    return tuple(range(len(shapes.outlines))) * count


def _grids(shapes: Shapes, kinds: Kinds, turns: int, blank: BlankChoices) -> Iterator[Unit]:
    """Yield rows of copies: all alike, every second one turned about, every second row turned."""
    wide, deep = usable(blank)
    across, along = shapes.widest(turns), shapes.widest((turns + 1) % 4)
    count = len(kinds)
    for rows in range(1, count + 1):
        columns = ceil(count / rows)
        if columns * (rows - 1) >= count and rows > 1:
            continue  # the last row would be empty
        # Interlocking saves at most about half of a copy's box: what is larger cannot fit.
        if columns * across > 2 * max(wide, across) and columns > 1:
            continue
        if rows * along > 2 * max(deep, along) and rows > 1:
            continue
        for alternate in (0, 2) if columns > 1 else (0,):
            for turned in (0, 2) if rows > 1 else (0,):
                yield _grid(shapes, kinds, columns, turns, alternate, turned)


def _grid(
    shapes: Shapes, kinds: Kinds, columns: int, turns: int, alternate: int, turned: int
) -> Unit:
    units: list[Unit] = []
    for start in range(0, len(kinds), columns):
        first = turns + turned * (len(units) % 2)
        row: list[Unit] = [
            (Copy((first + alternate * (n % 2)) % 4, 0, 0, kind),)
            for n, kind in enumerate(kinds[start : start + columns])
        ]
        units.append(stacked(shapes, row, 0))
    return stacked(shapes, units, 1)


def _pinwheels(shapes: Shapes, kinds: Kinds, blank: BlankChoices) -> Iterator[Unit]:
    """Yield copies in three or four of the corners, each at a quarter turn to its neighbours."""
    count = len(kinds)
    for lying in (0, 1):
        for code in range(2**count):
            # front-left, front-right, back-right, back-left
            turns = [(lying + corner) % 2 + 2 * ((code >> corner) & 1) for corner in range(count)]
            unit = tuple(
                _cornered(shapes, kinds[corner], turn, corner, blank)
                for corner, turn in enumerate(turns)
            )
            if shapes.all_clear(unit):
                yield unit


def _cornered(shapes: Shapes, kind: int, turns: int, corner: int, blank: BlankChoices) -> Copy:
    x_min, y_min, x_max, y_max = shapes.boxes[kind][turns]
    spacing, border = shapes.spacing, blank.clamp_border
    if corner in {1, 2}:
        i = floor((blank.width - border - x_max) / spacing + 1e-9)
    else:
        i = ceil((border - x_min) / spacing - 1e-9)
    if corner in {2, 3}:
        j = floor((blank.depth - border - y_max) / spacing + 1e-9)
    else:
        j = ceil((border - y_min) / spacing - 1e-9)
    return Copy(turns, i, j, kind)


def _mixed(shapes: Shapes, kinds: Kinds, blank: BlankChoices) -> Iterator[Unit]:
    """Yield two blocks side by side or one behind the other, turned a quarter to each other."""
    for first in range(1, len(kinds)):
        for turns in range(4):
            for quarter in (1, 3):
                ones = list(_grids(shapes, kinds[:first], turns, blank))
                others = list(_grids(shapes, kinds[first:], (turns + quarter) % 4, blank))
                for one in ones:
                    if oversize(shapes, one, blank) > 0:
                        continue
                    for other in others:
                        if oversize(shapes, other, blank) > 0:
                            continue
                        yield stacked(shapes, [one, other], 0)
                        yield stacked(shapes, [one, other], 1)


def _does_not_fit(shapes: Shapes, blank: BlankChoices) -> CannotMakeError:
    wide, deep = usable(blank)
    most = max(0, floor(max(0.0, wide) * max(0.0, deep) / shapes.area))
    fits = 0
    for count in range(min(blank.copies - 1, most), 0, -1):
        if next(fitting(shapes, blank, count), None) is not None:
            fits = count
            break
    miss, needs = _least_miss(shapes, blank)
    size = f"{blank.width:g} x {blank.depth:g} mm"
    what = "one sheath does not fit" if blank.copies == 1 else f"{blank.copies} sheaths do not fit"
    how_many = "and not even one fits" if fits == 0 else f"and at most {fits} of them fit"
    how_many = "" if blank.copies == 1 else f", {how_many}"
    smaller = "" if fits == 0 else f", or set blank.copies to {fits}"
    return CannotMakeError(
        f"{what} on a blank of {size} with a clamp border of "
        f"{blank.clamp_border:g} mm and a gap of {blank.gap:g} mm: the nearest pattern is "
        f"{miss:.1f} mm too large{how_many}",
        mend=f"Use a blank of at least {needs[0]:.0f} x {needs[1]:.0f} mm{smaller}",
    )


def _least_miss(shapes: Shapes, blank: BlankChoices) -> tuple[float, tuple[int, int]]:
    """Return the least oversize of any candidate, mm, and the blank that one needs."""
    best = (float("inf"), (0, 0))
    # Rows are tried on a blank large enough for any, so that none is passed over.
    box = shapes.boxes[0][0]
    side = max(box[2:]) - min(box[:2]) + shapes.gap
    kinds = kinds_of(shapes, blank.copies)
    room = len(kinds) * side + 2 * blank.clamp_border
    ample = blank.model_copy(update={"width": room, "depth": room})
    for candidate in candidates(shapes, blank.copies, ample, pinwheels=False):
        miss = oversize(shapes, candidate, blank)
        if miss < best[0]:
            x_min, y_min, x_max, y_max = shapes.box_of(candidate)
            width, depth = (
                max(floor(size), ceil(need + 2 * blank.clamp_border + shapes.spacing))
                for size, need in ((blank.width, x_max - x_min), (blank.depth, y_max - y_min))
            )
            best = (miss, (width, depth))
    if len(kinds) in {3, 4}:
        # A pinwheel has no size of its own; it is tried on blanks ever so little larger.
        for more in range(1, ceil(min(best[0], 200.0))):
            size = (ceil(blank.width + more), ceil(blank.depth + more))
            larger = blank.model_copy(update={"width": size[0], "depth": size[1]})
            if next(_pinwheels(shapes, kinds, larger), None) is not None:
                return float(more), size
    return best
