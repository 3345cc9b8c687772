"""Rectangles in rectangles, exactly: whether they all go, and where.

A model of intervals: every rectangle is one interval along x and one along y, no two of which meet
in both, and along either axis the rectangles never take more than the container's other side (the
redundant half that makes the search short). One worker and counted work: the same question always
has the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

if TYPE_CHECKING:
    from collections.abc import Sequence

#: Work allowed for one question, in the solver's own units (near seconds on one quiet core).
WORK = 60.0


@dataclass(frozen=True, slots=True)
class Placed:
    """A rectangle in its container.

    Attributes:
        item: index of the rectangle.
        sheet: index of the container.
        x, y: of its corner nearest the container's origin.
        wide, deep: its sides as it lies.
        turned: by a quarter.
    """

    item: int
    sheet: int
    x: int
    y: int
    wide: int
    deep: int
    turned: bool


@dataclass(frozen=True, slots=True)
class Packing:
    """An answer.

    Attributes:
        placed: where every rectangle lies; None where no way was found.
        proved: with ``placed`` None, that there is none.
    """

    placed: tuple[Placed, ...] | None
    proved: bool


def pack(
    items: Sequence[tuple[int, int]],
    wide: int,
    deep: int,
    *,
    sheets: int = 1,
    turn: bool = True,
    work: float = WORK,
) -> Packing:
    """Pack rectangles into equal containers, sides along the axes.

    Args:
        items: (wide, deep) of each, whole numbers.
        wide: side of a container along x.
        deep: side of a container along y.
        sheets: how many containers there are.
        turn: rectangles may be turned by a quarter.
        work: allowed, in the solver's own units.

    Returns:
        The packing, or whether it was proved that there is none.
    """
    if not items:
        return Packing((), proved=True)
    if sum(w * d for w, d in items) > wide * deep * sheets:
        return Packing(None, proved=True)
    model = cp_model.CpModel()
    ways = [_ways(item, wide, deep, turn=turn) for item in items]
    if not all(ways):
        return Packing(None, proved=True)
    boxes = [_box(model, n, options, wide, deep, sheets) for n, options in enumerate(ways)]
    across = [interval for box in boxes for interval in box.across]
    along = [interval for box in boxes for interval in box.along]
    model.add_no_overlap_2d(across, along)
    sides = [option for options in ways for option in options]
    model.add_cumulative(across, [d for _, d in sides], deep)
    if sheets == 1:
        model.add_cumulative(along, [w for w, _ in sides], wide)
    _order_alike(model, items, boxes, deep)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = work
    state = solver.solve(model)
    if state in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Packing(
            tuple(_read(solver, n, box, wide) for n, box in enumerate(boxes)), proved=True
        )
    return Packing(None, proved=state == cp_model.INFEASIBLE)


@dataclass(frozen=True, slots=True)
class _Box:
    """One rectangle in the model: its place, and for each way it may lie whether it does."""

    x: cp_model.IntVar
    y: cp_model.IntVar
    ways: list[tuple[int, int]]
    lies: list[cp_model.IntVar]
    across: list[cp_model.IntervalVar]
    along: list[cp_model.IntervalVar]


def _ways(item: tuple[int, int], wide: int, deep: int, *, turn: bool) -> list[tuple[int, int]]:
    options = [item] if item[0] == item[1] or not turn else [item, item[::-1]]
    return [(w, d) for w, d in options if w <= wide and d <= deep]


def _box(
    model: cp_model.CpModel, n: int, ways: list[tuple[int, int]], wide: int, deep: int, sheets: int
) -> _Box:
    least = min(w for w, _ in ways), min(d for _, d in ways)
    # The containers stand side by side along x, and no rectangle lies across their joints.
    spans = [[b * wide, (b + 1) * wide - least[0]] for b in range(sheets)]
    x = model.new_int_var_from_domain(cp_model.Domain.from_intervals(spans), f"x{n}")
    y = model.new_int_var(0, deep - least[1], f"y{n}")
    lies, across, along = [], [], []
    for m, (w, d) in enumerate(ways):
        chosen = model.new_bool_var(f"lies{n}.{m}")
        lies.append(chosen)
        across.append(model.new_optional_fixed_size_interval_var(x, w, chosen, f"across{n}.{m}"))
        along.append(model.new_optional_fixed_size_interval_var(y, d, chosen, f"along{n}.{m}"))
        inside = [[b * wide, (b + 1) * wide - w] for b in range(sheets)]
        model.add_linear_expression_in_domain(
            x, cp_model.Domain.from_intervals(inside)
        ).only_enforce_if(chosen)
        model.add(y <= deep - d).only_enforce_if(chosen)
    model.add_exactly_one(lies)
    return _Box(x, y, ways, lies, across, along)


def _order_alike(
    model: cp_model.CpModel, items: Sequence[tuple[int, int]], boxes: list[_Box], deep: int
) -> None:
    """Let equal rectangles come in one order, so that their swaps are not searched."""
    last: dict[tuple[int, int], _Box] = {}
    for item, box in zip(items, boxes, strict=True):
        key = (min(item), max(item))
        if key in last:
            model.add(last[key].x <= box.x)
        last[key] = box
    # A packing turned over is one too: one of the two has the largest in the lower half.
    largest = max(range(len(items)), key=lambda n: items[n][0] * items[n][1])
    lowest = min(d for _, d in boxes[largest].ways)
    model.add(2 * boxes[largest].y <= deep - lowest)


def _read(solver: cp_model.CpSolver, n: int, box: _Box, wide: int) -> Placed:
    way = next(m for m, lies in enumerate(box.lies) if solver.boolean_value(lies))
    x, y = solver.value(box.x), solver.value(box.y)
    w, d = box.ways[way]
    return Placed(n, x // wide, x % wide, y, w, d, turned=way > 0 or box.ways[0] != (w, d))
