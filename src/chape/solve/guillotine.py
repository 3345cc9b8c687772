"""Cutting a rectangle by through cuts alone: the worthiest pattern, and its cuts in order.

Shears, a panel saw or a knife along a rule part a sheet from edge to edge. The greatest worth that
can be cut from every rectangle whose sides are sums of items' sides is found from the smaller ones
(dynamic programming over normal patterns; J. E. Beasley, 1985, from memory): exact for a sheet of
which any number of each item may be cut.

Kerf: every item is made larger by one kerf each way, and so is the sheet; a cut then takes no
width, and the last item of a strip does not pay for a cut that is not made.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from chape.kernels import kernel

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from chape.field.grid import Floats
    from chape.solve.cutting_stock import Pattern

    Ints = np.ndarray[tuple[int, ...], np.dtype[np.int64]]

#: More sums of sides than this along one side take too long.
SUMS_MOST = 700

#: What no item lies on.
REST = -1

#: How the worthiest cutting uses a rectangle: one item, or parted across x or y; 0 for not at all.
ITEM, ACROSS, ALONG = 1, 2, 3


@dataclass(frozen=True, slots=True)
class Part:
    """A rectangle of a sheet: left over, one item, or parted by one cut into two.

    Attributes:
        x, y, wide, deep: place and sides, kerf included.
        item: index of the item; ``REST`` where it is left over or parted.
        upright: of a parted one, whether the cut runs along y.
        parts: what a parted one falls into.
    """

    x: int
    y: int
    wide: int
    deep: int
    item: int = REST
    upright: bool = False
    parts: tuple[Part, ...] = ()

    def items(self) -> list[int]:
        """Return the item of every piece in it."""
        if self.parts:
            return [item for part in self.parts for item in part.items()]
        return [self.item] if self.item != REST else []

    def pieces(self) -> list[Part]:
        """Return what it falls into in the end, left-overs included."""
        return [piece for part in self.parts for piece in part.pieces()] if self.parts else [self]

    def cuts(self) -> list[Part]:
        """Return the parted rectangles in the order in which they are cut."""
        return [self, *(cut for part in self.parts for cut in part.cuts())] if self.parts else []

    def without(self, spare: list[int]) -> Part:
        """Return it with whole rectangles of spare items left uncut; ``spare`` is counted down."""
        mine = np.bincount(np.array(self.items(), dtype=np.int64), minlength=len(spare))
        if mine.any() and (mine <= spare).all():
            spare[:] = [have - int(less) for have, less in zip(spare, mine, strict=True)]
            return replace(self, item=REST, parts=())
        if not self.parts:
            return self
        parts = tuple(part.without(spare) for part in reversed(self.parts))[::-1]
        if all(part.item == REST and not part.parts for part in parts):
            return replace(self, item=REST, parts=())
        return replace(self, parts=parts)


def pattern_of(part: Part, count: int) -> Pattern:
    """Return how many of each of ``count`` items a sheet gives."""
    counts = np.bincount(np.array(part.items(), dtype=np.int64), minlength=count)
    return tuple(int(number) for number in counts)


class Sheet:
    """A sheet and what may be cut from it, whole units, kerf added to every side."""

    def __init__(
        self, sides: Sequence[tuple[int, int]], wide: int, deep: int, *, turn: bool
    ) -> None:
        """Prepare the sums of sides.

        Args:
            sides: (wide, deep) of each item.
            wide: side of the sheet along x.
            deep: side of the sheet along y.
            turn: items may be turned by a quarter.
        """
        self.wide, self.deep = wide, deep
        ways = [(n, w, d) for n, (w, d) in enumerate(sides)]
        if turn:
            ways += [(n, d, w) for n, (w, d) in enumerate(sides) if d != w]
        self.count = len(sides)
        self.ways = np.array([way for way in ways if way[1] <= wide and way[2] <= deep], np.int64)
        self.ways = self.ways.reshape(-1, 3)
        self.x = _sums(self.ways[:, 1], wide)
        self.y = _sums(self.ways[:, 2], deep)

    @property
    def few(self) -> bool:
        """Whether the sums of sides are few enough for the worthiest cutting to be looked for."""
        return max(len(self.x), len(self.y)) <= SUMS_MOST

    def best_cutting(self, worths: Floats) -> tuple[Part, float]:
        """Return the worthiest cutting for worths (n,) of the items, and its worth."""
        value, how, where = worthiest(self.x, self.y, self.ways, worths[self.ways[:, 0]])
        whole = (len(self.x) - 1, len(self.y) - 1)
        part = self._parted(how, where, whole, Part(0, 0, self.wide, self.deep))
        return part, float(value[whole])

    def _parted(self, how: Ints, where: Ints, at: tuple[int, int], box: Part) -> Part:
        """Follow the choices down from one rectangle."""
        use, split = int(how[at]), int(where[at])
        if use == ITEM:
            item, wide, deep = (int(number) for number in self.ways[split])
            return _with_item(box, item, wide, deep)
        if use not in {ACROSS, ALONG}:
            return box
        sums = self.x if use == ACROSS else self.y
        near, far = _halves(box, int(sums[split]), upright=use == ACROSS)
        rest = far.wide if use == ACROSS else far.deep
        other = int(np.searchsorted(sums, rest, side="right")) - 1
        ends = [(split, at[1]), (other, at[1])]
        if use == ALONG:
            ends = [(at[0], split), (at[0], other)]
        parts = tuple(
            self._parted(how, where, end, half) for end, half in zip(ends, (near, far), strict=True)
        )
        return replace(box, upright=use == ACROSS, parts=parts)


def _halves(box: Part, first: int, *, upright: bool) -> tuple[Part, Part]:
    if upright:
        return replace(box, wide=first), replace(box, x=box.x + first, wide=box.wide - first)
    return replace(box, deep=first), replace(box, y=box.y + first, deep=box.deep - first)


def _with_item(box: Part, item: int, wide: int, deep: int) -> Part:
    """Return a rectangle with one item in its corner; what it does not fill is cut off."""
    if wide < box.wide:
        near, far = _halves(box, wide, upright=True)
        return replace(box, upright=True, parts=(_with_item(near, item, wide, deep), far))
    if deep < box.deep:
        near, far = _halves(box, deep, upright=False)
        return replace(box, upright=False, parts=(replace(near, item=item), far))
    return replace(box, item=item)


def greedy_sheets(sheet: Sheet, demand: Sequence[int]) -> Iterator[Part]:
    """Yield sheets cut by simple rules that stop at what is wanted.

    Of what is still wanted the widest, the deepest or the largest goes into the corner; the rest of
    its strip is filled behind it, and then the rest of the rectangle. Every rule yields the sheets
    of one whole plan.
    """
    for upright in (True, False):
        for order in ORDERS:
            rule = _Rule(sheet.ways, list(demand), order, upright)
            while any(rule.left):
                made = rule.fill(Part(0, 0, sheet.wide, sheet.deep))
                if not made.items():
                    return  # an item that fits nowhere
                yield made


#: Which item comes first: by width, by depth, by area.
ORDERS: tuple[tuple[int, ...], ...] = ((1, 2), (2, 1), (0,))


@dataclass(slots=True)
class _Rule:
    """A rule at work: ways items may lie, how many are left, their order, and strips' direction."""

    ways: Ints
    left: list[int]
    order: tuple[int, ...]
    upright: bool

    def fill(self, box: Part) -> Part:
        fits = [
            way
            for way in self.ways.tolist()
            if self.left[way[0]] and way[1] <= box.wide and way[2] <= box.deep
        ]
        if not fits:
            return box
        item, wide, deep = max(fits, key=self._worth)
        self.left[item] -= 1
        first, behind = (wide, deep) if self.upright else (deep, wide)
        if first == (box.wide if self.upright else box.deep):
            return self._strip(box, item, behind)
        near, far = _halves(box, first, upright=self.upright)
        strip = self._strip(near, item, behind)
        return replace(box, upright=self.upright, parts=(strip, self.fill(far)))

    def _worth(self, way: list[int]) -> tuple[int, ...]:
        return (way[1] * way[2],) if self.order == (0,) else tuple(way[k] for k in self.order)

    def _strip(self, strip: Part, item: int, behind: int) -> Part:
        """Fill a strip as wide as its first item: that item, and behind it what fits."""
        if behind == (strip.deep if self.upright else strip.wide):
            return replace(strip, item=item)
        near, far = _halves(strip, behind, upright=not self.upright)
        parts = (replace(near, item=item), self.fill(far))
        return replace(strip, upright=not self.upright, parts=parts)


def _sums(sides: Ints, most: int) -> Ints:
    """Return every sum of sides up to ``most``, 0 first and ``most`` last."""
    reached = np.zeros(most + 1, dtype=np.bool_)
    reached[0] = True
    for side in np.unique(sides):
        for at in range(int(side), most + 1):
            reached[at] |= reached[at - side]
    reached[most] = True
    return np.flatnonzero(reached).astype(np.int64)


@kernel
def worthiest(  # noqa: C901 - one recurrence
    x: Ints, y: Ints, ways: Ints, worths: Floats
) -> tuple[Floats, Ints, Ints]:
    """Return for every rectangle x[i] by y[j] its greatest worth, how it is used, and where.

    Args:
        x: (n,) sums of sides along x, ascending, 0 first.
        y: (m,) the same along y.
        ways: (w, 3) item and its sides, for each way an item may lie.
        worths: (w,) of the item of each way.
    """
    value = np.zeros((len(x), len(y)))
    how = np.zeros((len(x), len(y)), dtype=np.int64)
    where = np.zeros((len(x), len(y)), dtype=np.int64)
    for i in range(len(x)):
        for j in range(len(y)):
            for w in range(len(ways)):
                if ways[w, 1] <= x[i] and ways[w, 2] <= y[j] and worths[w] > value[i, j] + 1e-12:
                    value[i, j], how[i, j], where[i, j] = worths[w], 1, w
            for k in range(1, i):
                if 2 * x[k] > x[i]:
                    break
                rest = np.searchsorted(x, x[i] - x[k], side="right") - 1
                worth = value[k, j] + value[rest, j]
                if worth > value[i, j] + 1e-12:
                    value[i, j], how[i, j], where[i, j] = worth, 2, k
            for k in range(1, j):
                if 2 * y[k] > y[j]:
                    break
                rest = np.searchsorted(y, y[j] - y[k], side="right") - 1
                worth = value[i, k] + value[i, rest]
                if worth > value[i, j] + 1e-12:
                    value[i, j], how[i, j], where[i, j] = worth, 3, k
    return value, how, where


def remembered(
    sheet: Sheet, seen: dict[Pattern, Part]
) -> Callable[[Floats], tuple[Pattern, float]]:
    """Return the function that finds a sheet's worthiest pattern, and notes how it is cut."""

    def best(worths: Floats) -> tuple[Pattern, float]:
        part, worth = sheet.best_cutting(worths)
        pattern = pattern_of(part, sheet.count)
        seen.setdefault(pattern, part)
        return pattern, worth

    return best
