"""Fills a blank by rule, then again and again where it is not full: for many pieces.

A *rule* says which turns come one after the other, and which way the pieces are pushed: rows all
alike, every second piece turned about, pinwheels of three or four. Every rule is tried. Then the
best filling is mended: some pieces lying together are taken up and laid again by another rule, and
what is no worse is kept. The choices come from a fixed sequence, and the rounds are counted.
"""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from chape.tooling.fill_kernels import block, fill
from chape.tooling.fitting import Laid, free_places

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy.typing as npt

    from chape.tooling.fitting import Layers
    from chape.tooling.model import BlankChoices
    from chape.tooling.room import Room

    Bools = npt.NDArray[np.bool_]
    Ints = npt.NDArray[np.int64]

#: Rounds of taking up and laying again.
ROUNDS = 400

#: The start of the fixed sequence of choices.
SEED = 20_000


class Filling:
    """A blank being filled: what lies on it, and where more may lie."""

    def __init__(
        self, room: Room, blank: BlankChoices, counts: Sequence[int], clear: Bools
    ) -> None:
        self.counts = np.array(counts, dtype=np.int64)
        self.clear = clear
        self.windows = _windows(clear)
        self.first, free = free_places(room, blank)
        self.empty = (~free).astype(np.uint8)
        boxes = room.boxes().reshape(-1, 4) / room.step
        self.boxes = np.round(boxes).astype(np.int64)
        low = self.boxes[:, :2]
        #: No rows, rows in line, rows whose pieces may be set back by a quarter of the smallest.
        self.slacks = (-1, 0, int((self.boxes[:, 2:] - low).min()) // 4)

    def by_rule(self, allowed: Bools, way: int, slack: int) -> Ints:
        """Return the pieces (n, 4) that a rule lays on the empty blank."""
        blocked, left = self.empty.copy(), self.counts.copy()
        laid = np.zeros((int(left.sum()), 4), dtype=np.int64)
        return laid[: self._fill(blocked, left, allowed, way, slack, laid, 0)]

    def mended(self, laid: Ints, rounds: int) -> Iterator[Ints]:
        """Yield the pieces after each round of taking up and laying again that was kept."""
        chance = np.random.Generator(np.random.PCG64(SEED))
        blocked = self.empty.copy()
        for piece in laid:
            block(blocked, self.clear, self.windows, piece, self.first, 1)
        for _ in range(rounds):
            kept = self._without_some(laid, chance)
            trial = blocked.copy()
            for piece in laid[~kept]:
                block(trial, self.clear, self.windows, piece, self.first, -1)
            again = np.zeros((int(self.counts.sum()), 4), dtype=np.int64)
            again[: kept.sum()] = laid[kept]
            left = self.counts - np.bincount(laid[kept, 0], minlength=len(self.counts))
            allowed = self._some_rule(chance)
            way, slack = int(chance.integers(8)), self.slacks[int(chance.integers(3))]
            count = self._fill(trial, left, allowed, way, slack, again, int(kept.sum()))
            if count >= len(laid):
                laid, blocked = again[:count], trial
                yield laid

    def _without_some(self, laid: Ints, chance: np.random.Generator) -> Bools:
        """Choose some pieces lying together to take up; True for those that stay.

        They lie around one of them, or all to one side of it.
        """
        middles = laid[:, 2:] + (self.boxes[laid[:, 0] * 4 + laid[:, 1]] @ _MIDDLE)
        centre = middles[int(chance.integers(len(laid)))]
        way = int(chance.integers(8))
        if way < len(_SIDES):
            return np.asarray((middles - centre) @ _SIDES[way] < 0)
        number = int(chance.integers(1, max(2, len(laid) // 2) + 1))
        near = np.argsort(((middles - centre) ** 2).sum(axis=1), kind="stable")[:number]
        stay = np.ones(len(laid), dtype=np.bool_)
        stay[near] = False
        return stay

    def _some_rule(self, chance: np.random.Generator) -> Bools:
        """Return turns allowed one after the other: a cycle of single turns, or a loose choice."""
        steps = int(chance.integers(1, 4))
        if chance.random() < 0.5:
            turns = np.eye(4, dtype=np.bool_)[chance.integers(4, size=steps)]
            return np.tile(turns, (1, len(self.counts)))
        return chance.random((steps, len(self.first))) < 0.6

    def _fill(
        self, blocked: npt.NDArray[np.uint8], left: Ints, allowed: Bools, way: int, slack: int,
        laid: Ints, count: int,
    ) -> int:  # fmt: skip
        return fill(
            blocked, self.clear, self.windows, self.first, self.boxes, left, allowed, way,
            slack, laid, count,
        )  # fmt: skip


#: Takes (x_min, y_min, x_max, y_max) to the middle (x, y).
_MIDDLE = np.array([[0.5, 0.0], [0.0, 0.5], [0.5, 0.0], [0.0, 0.5]])

_SIDES = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])


def rules(kinds: int) -> Iterator[tuple[Bools, int, int]]:
    """Yield every rule: (steps, 4 k) turns allowed in turn, way to push, and which slack."""
    one = np.eye(4, dtype=np.bool_)
    free = np.ones(4, dtype=np.bool_)
    cycles: list[tuple[Bools, ...]] = [(free,), *((one[a],) for a in range(4))]
    cycles += [(one[a] | one[(a + 2) % 4],) for a in range(2)]
    cycles += [tuple(one[list(turns)]) for turns in product(range(4), repeat=2)]
    cycles += [tuple(one[list(turns)]) for turns in product(range(4), repeat=3)]
    for cycle in cycles:
        for way in (0, 1, 4, 3):
            for slack in range(3 if len(cycle) != 3 else 2):
                yield np.tile(np.array(cycle), (1, kinds)), way, slack


def layouts_by_rule(filling: Filling, enough: int) -> tuple[list[Layers], Ints]:
    """Fill the blank by rule after rule, until so many different layouts hold all that is wanted.

    Returns:
        Those layouts; and the pieces (n, 4) of the fullest filling, which may hold less.
    """
    total = int(filling.counts.sum())
    whole: dict[Layers, None] = {}
    best = np.zeros((0, 4), dtype=np.int64)
    for allowed, way, slack in rules(len(filling.counts)):
        laid = filling.by_rule(allowed, way, filling.slacks[slack])
        if len(laid) > len(best):
            best = laid
        if len(laid) == total:
            whole[_layers(laid)] = None
            if len(whole) == enough:
                break
    return list(whole), best


def mended_layout(filling: Filling, laid: Ints, rounds: int = ROUNDS) -> Layers | None:
    """Mend a filling until it holds all that is wanted; None where the rounds do not do it."""
    if not len(laid):
        return None
    total = int(filling.counts.sum())
    return next(
        (_layers(more) for more in filling.mended(laid, rounds) if len(more) == total), None
    )


def _layers(laid: Ints) -> Layers:
    return tuple(Laid(*(int(number) for number in piece)) for piece in laid)


def _windows(clear: Bools) -> Ints:
    """Return (k, k, 4, 4): the least and greatest displacements (x, y) that are not clear."""
    reach = clear.shape[3] // 2
    found = np.zeros((*clear.shape[:3], 4), dtype=np.int64)
    for p, q, turn in product(*(range(n) for n in clear.shape[:3])):
        near = np.argwhere(~clear[p, q, turn]) - reach
        found[p, q, turn] = (*near.min(axis=0), *near.max(axis=0))
    return found
