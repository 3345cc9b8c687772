"""Blanks from stock: which sheets to cut, how, and in what order.

The stock file names the stock and the blanks wanted from it. Sheets are cut by through cuts
(shears, a panel saw, a knife along a rule) or freely (a router, a jig saw); a roll or strip is cut
along its length alone. The plan with fewest pieces of stock found is given with a bound that none
can beat.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import numpy as np
from pydantic import Field

from chape.catalog.model import Length, PositiveLength, Record
from chape.errors import CannotMakeError, InputError
from chape.solve.cutting_stock import best_length_pattern, fewest, fewest_of, full_patterns
from chape.solve.guillotine import REST, Sheet, greedy_sheets, pattern_of, remembered
from chape.solve.packing import pack

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.solve.cutting_stock import Pattern
    from chape.solve.guillotine import Part
    from chape.solve.packing import Placed

#: Lengths are counted in whole tenths of a millimetre: finer than any shears.
PER_MM = 10

#: Free cutting is looked into for up to this many blanks; it takes long beyond.
FREE_MOST = 40


class CutWay(StrEnum):
    """How stock is parted."""

    THROUGH = "through"
    FREE = "free"


class StockSheet(Record):
    """The ``[stock]`` table: what the blanks are cut from.

    Attributes:
        width: of a sheet along x, mm.
        depth: of a sheet along y, mm; None for a roll or strip as deep as the blanks.
        kerf: what one cut takes, mm; 0 for shears.
        edge: cut off all round first, mm.
        sheets: how many there are; None for as many as it takes.
        turn: blanks may be turned by a quarter.
        cut: by through cuts, or freely.
    """

    width: PositiveLength
    depth: PositiveLength | None = None
    kerf: Length = 0.0
    edge: Length = 0.0
    sheets: Annotated[int, Field(ge=1)] | None = None
    turn: Annotated[bool, Field(strict=True)] = True
    cut: CutWay = CutWay.THROUGH


class StockBlank(Record):
    """One ``[[blank]]`` table: blanks of one size.

    Attributes:
        name: what it is called on the plan.
        width: along x, mm; None takes the sheath file's.
        depth: along y, mm; None takes the sheath file's.
        sheath: a sheath file beside this one, whose blank it is.
        count: how many are wanted.
    """

    name: str | None = None
    width: PositiveLength | None = None
    depth: PositiveLength | None = None
    sheath: str | None = None
    count: Annotated[int, Field(ge=1, le=10_000)] = 1


@dataclass(frozen=True, slots=True)
class Size:
    """Blanks of one size: name, sides (mm), and how many are wanted."""

    name: str
    width: float
    depth: float
    count: int


@dataclass(frozen=True, slots=True)
class Laid:
    """A blank on a sheet: index of its size (or ``REST``), place and sides, mm."""

    size: int
    x: float
    y: float
    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class Parting:
    """A cut: upright or level, where its middle runs, from where to where, mm."""

    upright: bool
    at: float
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class CutSheet:
    """Sheets cut alike: how many, what lies on each, and the cuts in order (none if free)."""

    times: int
    laid: tuple[Laid, ...]
    cuts: tuple[Parting, ...]


@dataclass(frozen=True, slots=True)
class StockPlan:
    """What to cut.

    Attributes:
        stock: the stock.
        sizes: what was wanted.
        sheets: how each sheet is cut.
        bound: fewer sheets than this cannot do, by this way of cutting.
    """

    stock: StockSheet
    sizes: tuple[Size, ...]
    sheets: tuple[CutSheet, ...]
    bound: int

    @property
    def used(self) -> int:
        """Pieces of stock the plan takes."""
        return sum(sheet.times for sheet in self.sheets)

    @property
    def share(self) -> float:
        """Share of the stock taken that becomes blanks which were wanted."""
        wanted = sum(size.width * size.depth * size.count for size in self.sizes)
        deep = self.stock.depth or max(size.depth for size in self.sizes)
        return wanted / (self.stock.width * deep * self.used)


def plan_stock(stock: StockSheet, sizes: Sequence[Size]) -> StockPlan:
    """Plan how to cut blanks from stock.

    Raises:
        InputError: no blanks are wanted, or a strip's blanks differ in depth.
        CannotMakeError: a blank is larger than the stock, or there is too little of it.
    """
    if not sizes:
        raise InputError("no blank is wanted", mend="Add a [[blank]] table", field="blank")
    plan = _along(stock, sizes) if stock.depth is None else _by_through_cuts(stock, sizes)
    if stock.cut is CutWay.FREE and stock.depth is not None:
        plan = _freely(plan)
    if stock.sheets is not None and plan.used > stock.sheets:
        raise CannotMakeError(
            f"the blanks take {plan.used} sheets of stock and there are {stock.sheets}"
            + ("" if plan.bound <= stock.sheets else "; no plan takes fewer"),
            mend="Ask for fewer blanks or have more stock",
        )
    return plan


def _usable(stock: StockSheet) -> tuple[int, int]:
    """Return the stock's sides inside the cut-off edge, with one kerf, in tenths of a mm."""
    sides = (stock.width, stock.depth or 0.0)
    wide, deep = (_units(side - 2 * stock.edge + stock.kerf) for side in sides)
    return wide, deep


def _units(length: float) -> int:
    return round(length * PER_MM)


def _check_size(stock: StockSheet, size: Size) -> None:
    wide, deep = stock.width - 2 * stock.edge, (stock.depth or size.depth) - 2 * stock.edge
    if stock.depth is None:
        deep = size.depth
    fits = size.width <= wide and size.depth <= deep
    if not fits and not (stock.turn and size.depth <= wide and size.width <= deep):
        raise CannotMakeError(
            f'the blank "{size.name}" of {size.width:g} x {size.depth:g} mm is larger than the '
            f"stock inside its edge, {max(0.0, wide):g} x {max(0.0, deep):g} mm",
            mend="Use larger stock or a smaller blank",
        )


def _by_through_cuts(stock: StockSheet, sizes: Sequence[Size]) -> StockPlan:
    for size in sizes:
        _check_size(stock, size)
    sides = [(_units(s.width + stock.kerf), _units(s.depth + stock.kerf)) for s in sizes]
    sheet = Sheet(sides, *_usable(stock), turn=stock.turn)
    seen: dict[Pattern, Part] = {}
    demand = [size.count for size in sizes]

    def by_rule(wanted: Sequence[int]) -> list[Pattern]:
        found = [(pattern_of(part, len(sizes)), part) for part in greedy_sheets(sheet, wanted)]
        seen.update((pattern, part) for pattern, part in found if pattern not in seen)
        return [pattern for pattern, _ in found]

    if sheet.few:
        plan = fewest(demand, remembered(sheet, seen), by_rule)
    else:
        area = sum(w * d * count for (w, d), count in zip(sides, demand, strict=True))
        plan = fewest_of(by_rule(demand), demand, -(-area // (sheet.wide * sheet.deep)))
    single = [seen[p] for p, n in zip(plan.patterns, plan.times, strict=True) for _ in range(n)]
    sheets = [_as_cut(stock, part) for part in _without_spares(single, demand)]
    return StockPlan(stock, tuple(sizes), _counted(sheets), plan.bound)


def _without_spares(single: Sequence[Part], demand: Sequence[int]) -> list[Part]:
    """Return sheets, one by one, on the last of which what is not wanted stays uncut."""
    made = np.sum([pattern_of(part, len(demand)) for part in single], axis=0)
    spare = [int(have) - wanted for have, wanted in zip(made, demand, strict=True)]
    return [part.without(spare) for part in reversed(single)][::-1]


def _counted(sheets: Sequence[CutSheet]) -> tuple[CutSheet, ...]:
    """Return neighbours that are cut alike as one, with how many there are."""
    found: list[CutSheet] = []
    for sheet in sheets:
        if found and replace(found[-1], times=1) == sheet:
            found[-1] = replace(sheet, times=found[-1].times + 1)
        else:
            found.append(sheet)
    return tuple(found)


def _as_cut(stock: StockSheet, sheet: Part) -> CutSheet:
    """Return a cut sheet in mm, kerfs taken off again."""
    edge, kerf = stock.edge, stock.kerf
    laid = []
    for piece in sheet.pieces():
        wide, deep = piece.wide / PER_MM - kerf, piece.deep / PER_MM - kerf
        if min(wide, deep) > 0:
            place = piece.x / PER_MM + edge, piece.y / PER_MM + edge
            laid.append(Laid(piece.item, *place, wide, deep))
    cuts = []
    for part in sheet.cuts():
        far = part.parts[1]
        at, start, span = (far.x, part.y, part.deep) if part.upright else (far.y, part.x, part.wide)
        begin = start / PER_MM + edge
        end = begin + span / PER_MM - kerf
        cuts.append(Parting(part.upright, at / PER_MM + edge - kerf / 2, begin, end))
    return CutSheet(1, tuple(laid), tuple(cuts))


def _along(stock: StockSheet, sizes: Sequence[Size]) -> StockPlan:
    """Plan a roll or strip, cut along its length alone."""
    depths = {size.depth for size in sizes}
    if len(depths) > 1:
        raise InputError(
            "the blanks of a roll or strip must all be as deep as it is, and these differ: "
            + ", ".join(f"{depth:g} mm" for depth in sorted(depths)),
            mend="Give the stock a depth, or the blanks one depth",
            field="blank.depth",
        )
    for size in sizes:
        _check_size(stock.model_copy(update={"turn": False}), size)
    lengths = [_units(size.width + stock.kerf) for size in sizes]
    whole = _units(stock.width - 2 * stock.edge + stock.kerf)
    every = full_patterns(lengths, whole)
    plan = fewest(
        [size.count for size in sizes], best_length_pattern(lengths, whole), lambda _: every
    )
    made = np.array(plan.patterns, dtype=np.int64).T @ np.array(plan.times, dtype=np.int64)
    spare = made - np.array([size.count for size in sizes], dtype=np.int64)
    sheets = []
    for pattern, times in reversed(list(zip(plan.patterns, plan.times, strict=True))):
        for _ in range(times):
            less = np.minimum(spare, pattern)
            spare -= less
            kept = tuple(int(n) for n in np.array(pattern) - less)
            sheets.append(_strip(stock, sizes, kept))
    return StockPlan(stock, tuple(sizes), _counted(sheets[::-1]), plan.bound)


def _strip(stock: StockSheet, sizes: Sequence[Size], pattern: Pattern) -> CutSheet:
    at, laid, cuts = stock.edge, [], []
    end = stock.width - stock.edge
    for n, count in enumerate(pattern):
        for _ in range(count):
            size = sizes[n]
            laid.append(Laid(n, at, 0.0, size.width, size.depth))
            at += size.width
            if at < end - 1e-9:
                cuts.append(Parting(True, at + stock.kerf / 2, 0.0, size.depth))  # noqa: FBT003 - upright
            at += stock.kerf
    if at < end - 1e-9:
        laid.append(Laid(REST, at, 0.0, end - at, sizes[0].depth))
    return CutSheet(1, tuple(laid), tuple(cuts))


def _freely(plan: StockPlan) -> StockPlan:
    """Return a plan with fewer sheets if blanks need not be parted by through cuts."""
    stock, sizes = plan.stock, plan.sizes
    wide, deep = _usable(stock)
    items = [
        (n, (_units(size.width + stock.kerf), _units(size.depth + stock.kerf)))
        for n, size in enumerate(sizes)
        for _ in range(size.count)
    ]
    area = sum(w * d for _, (w, d) in items)
    least = -(-area // (wide * deep))
    if len(items) > FREE_MOST:
        return replace(plan, bound=least)
    for sheets in range(least, plan.used):
        answer = pack([side for _, side in items], wide, deep, sheets=sheets, turn=stock.turn)
        if answer.placed is not None:
            cut = [_loose(stock, answer.placed, items, n) for n in range(sheets)]
            return replace(plan, sheets=tuple(cut), bound=least)
        if answer.proved:
            least = sheets + 1
    return replace(plan, bound=least)


def _loose(
    stock: StockSheet,
    placed: Sequence[Placed],
    items: Sequence[tuple[int, tuple[int, int]]],
    sheet: int,
) -> CutSheet:
    laid = [
        Laid(
            items[p.item][0],
            p.x / PER_MM + stock.edge,
            p.y / PER_MM + stock.edge,
            p.wide / PER_MM - stock.kerf,
            p.deep / PER_MM - stock.kerf,
        )
        for p in placed
        if p.sheet == sheet
    ]
    return CutSheet(1, tuple(laid), ())
