"""Proves that more pieces than were laid do not go on a blank, for small numbers of one kind.

Where a piece's origin can lie is cut into cells, for each of its quarter turns. Two cells exclude
each other where every displacement between a point of one and a point of the other brings the
pieces too near: then no layout, on whatever lattice or none, has a piece in either. So many pieces
go only if so many cells can be taken, every two of them together; that is searched in full. Cells
that hold a piece in no such choice are dropped, the others cut in four, and so on, until none is
left (proved) or the counted work is done (undecided).

The proof holds for pieces turned by quarters and moved as one likes. The step of the tables of
distances, and what was lost when outlines were simplified, are granted to the pieces, never taken
from them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.tooling.bound_kernels import cells_in_use, pairs_of_cells
from chape.tooling.fitting import seen_from_every_turn
from chape.tooling.room import BODY_ERROR, OUTLINE_ERROR

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.tooling.model import BlankChoices
    from chape.tooling.room import Room

    Bools = npt.NDArray[np.bool_]
    Ints = npt.NDArray[np.int64]

#: The first cells are this share of the shorter side of the piece's box, each way.
FIRST_CELLS = 1 / 6

#: Cells are halved no further than to this many steps of the tables of distances.
LAST_CELLS = 1.5

#: Where more pieces than this go by area, the search would hardly ever decide.
SMALL = 12

#: So many cells are compared at most, each with each.
CELLS_MOST = 10_000

#: 64-bit words looked at before a proof is given up; about 4 s of one core, unless said otherwise.
WORK = 4_000_000_000

#: The same for a proof that is made in passing: a small part of the time that laying takes.
WORK_IN_PASSING = 250_000_000

#: The share of it spent on one more than are laid, before other numbers are tried.
SHARE_OF_FIRST = 0.3

#: The share of it spent on one cell, which is kept if that does not decide.
SHARE_OF_CELL = 1 / 100


class Proofs:
    """Tries to prove numbers of pieces of one kind impossible on a blank, on a store of work."""

    def __init__(self, room: Room, blank: BlankChoices, work: int = WORK) -> None:
        """Prepare the search.

        Args:
            room: distances of one shape.
            blank: its size and border.
            work: words looked at in all before proofs are given up.
        """
        self.room, self.blank = room, blank
        self.work = work
        self._done = np.zeros(1, dtype=np.int64)
        self._sums = _not_forbidden(room)

    def least(self, laid: int, most: int) -> int:
        """Return a bound on the number of pieces.

        One more than are laid is tried first, which decides all; then from the top downwards.

        Args:
            laid: this many are known to go.
            most: no more than this are.
        """
        if most > laid + 1 and self.impossible(laid + 1, SHARE_OF_FIRST):
            return laid
        while most > laid and self.impossible(most):
            most -= 1
        return most

    def impossible(self, pieces: int, share: float = 1.0) -> bool:
        """Say whether it was proved that so many pieces do not go; False also where undecided.

        Args:
            pieces: their number.
            share: of all work that is spent at most.
        """
        limit = min(self.work, int(self._done[0] + share * self.work))
        places = self._places()
        if pieces < 2 or not places:
            return not places
        boxes = self.room.boxes()[0]
        size = float((boxes[:, 2:] - boxes[:, :2]).min()) * FIRST_CELLS
        size = max(size, LAST_CELLS * self.room.step)
        alive = {}
        for turn, box in places.items():
            # What is left after rounding must not make cells of turns differ that are alike.
            count = np.maximum(1, np.ceil((box[2:] - box[:2]) / size - 1e-3)).astype(np.int64)
            alive[turn] = np.ones(tuple(count), dtype=np.bool_)
        while True:
            alive, decided = self._in_use(places, alive, pieces, limit)
            if decided or not any(cells.any() for cells in alive.values()):
                return decided
            size /= 2
            if size < LAST_CELLS * self.room.step or self._done[0] > limit:
                return False
            alive = {turn: cells.repeat(2, 0).repeat(2, 1) for turn, cells in alive.items()}

    def _places(self) -> dict[int, Floats]:
        """Return x_min, y_min, x_max, y_max of where a piece's origin lies, for each turn it can.

        What rounding might leave out is added.
        """
        low, found = self.blank.clamp_border - 1e-6, {}
        size = np.array([self.blank.width, self.blank.depth])
        for turn, box in enumerate(self.room.boxes()[0]):
            span = np.concatenate([low - box[:2], size - low - box[2:]])
            if (span[2:] >= span[:2]).all():
                found[turn] = span
        return found

    def _in_use(
        self, places: dict[int, Floats], alive: dict[int, Bools], pieces: int, limit: int
    ) -> tuple[dict[int, Bools], bool]:
        """Return the cells that may hold a piece, and whether it is proved that none does."""
        turns, at, boxes = _cells(places, alive)
        count = len(turns)
        if count > CELLS_MOST:
            return {}, False
        alike = _alike(turns, at, alive, square=self.blank.width == self.blank.depth)
        # Four sums are read for each pair of cells.
        self._done += 2 * count**2
        pairs = pairs_of_cells(turns, boxes, self._sums, self.room.step)
        each = int(self.work * SHARE_OF_CELL)
        words = cells_in_use(pairs, alike, pieces, self._done, limit, each)
        used = np.unpackbits(words.view(np.uint8), bitorder="little")[:count].astype(np.bool_)
        left = {turn: np.zeros_like(cells) for turn, cells in alive.items()}
        for turn, (i, j) in zip(turns[used].tolist(), at[used].tolist(), strict=True):
            left[turn][i, j] = True
        return left, not used.any()


def _not_forbidden(room: Room) -> npt.NDArray[np.int32]:
    """Return (4, 4, s + 1, s + 1) sums of the displacements that no piece is kept from for sure.

    A point stands for the square around it, whose corners are half a diagonal nearer at most; and
    the tables hold distances that are too small by up to four times the simplifying error.
    """
    half = room.step / np.sqrt(2) + 1e-4
    allowed = (room.outlines + 4 * OUTLINE_ERROR >= room.gap - half) & (
        room.bodies + 4 * BODY_ERROR >= room.apart - half
    )
    seen = seen_from_every_turn(allowed)[0, :, 0]
    sums = np.zeros((4, 4, seen.shape[-1] + 1, seen.shape[-1] + 1), dtype=np.int32)
    sums[:, :, 1:, 1:] = seen.cumsum(axis=2, dtype=np.int32).cumsum(axis=3, dtype=np.int32)
    return sums


def _cells(places: dict[int, Floats], alive: dict[int, Bools]) -> tuple[Ints, Ints, Floats]:
    """Return turns (n,), places (n, 2) in their turn's array and boxes (n, 4) of living cells."""
    turns, at, boxes = [], [], []
    for turn, cells in alive.items():
        here = np.argwhere(cells)
        low, high = places[turn][:2], places[turn][2:]
        size = (high - low) / cells.shape
        turns.append(np.full(len(here), turn))
        at.append(here)
        boxes.append(np.hstack([low + here * size, low + (here + 1) * size]))
    return np.concatenate(turns), np.concatenate(at), np.concatenate(boxes)


def _alike(turns: Ints, at: Ints, alive: dict[int, Bools], *, square: bool) -> Ints:
    """Return (g, n) the cells that each becomes as the blank is turned onto itself; itself first.

    By a half turn, and where the blank is square by quarters. A cell turned onto one that was
    dropped stands for itself.
    """
    number = {
        (turn, i, j): n
        for n, (turn, (i, j)) in enumerate(zip(turns.tolist(), at.tolist(), strict=True))
    }
    found = [np.arange(len(turns))]
    for quarters in (1, 2, 3) if square else (2,):
        turned = []
        for n, (turn, i, j) in enumerate(number):
            across, along = alive[turn].shape
            place = {
                1: (along - 1 - j, i),
                2: (across - 1 - i, along - 1 - j),
                3: (j, across - 1 - i),
            }[quarters]
            turned.append(number.get(((turn + quarters) % 4, *place), n))
        found.append(np.array(turned, dtype=np.int64))
    return np.array(found, dtype=np.int64)
