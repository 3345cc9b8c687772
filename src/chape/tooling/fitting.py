"""Lays pieces of several shapes on a blank: a beam search over true shapes.

One piece after the other is laid where, among the places still free for it, it lies furthest some
way: into a corner, or against what lies there already, at any quarter turn. Of the many layouts so
begun the few are carried on that leave most room for the pieces still to come. The places of every
shape at every turn are kept as a map over the blank, so that what lies between the rows of a
neighbour, nose to tail, is found by itself.

No chance is involved and the work is counted, not timed: the same pieces on the same blank always
lie the same way.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import TYPE_CHECKING

import numpy as np

from chape.tooling.lattice_kernels import count_left, narrow, outermost

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from chape.tooling.model import BlankChoices
    from chape.tooling.room import Room

    Bools = npt.NDArray[np.bool_]
    Ints = npt.NDArray[np.int64]

#: Layouts carried on at each step: this many for one piece, fewer for many, so that the work stays
#: about the same.
WIDEST, NARROWEST, WORK = 16, 3, 120

#: The ways a piece is pushed: along one axis first and then the other, and into the corners.
WAYS = np.array(
    [(a, b) for a in (1.0, -1.0) for b in (1e-3, -1e-3)]
    + [(a, b) for b in (1.0, -1.0) for a in (1e-3, -1e-3)]
    + [(a, b) for a in (1.0, -1.0) for b in (1.001, -1.001)]
)


@dataclass(frozen=True, slots=True)
class Laid:
    """One piece on the lattice: its kind, quarter turns, and steps (i, j) of its origin."""

    kind: int
    turns: int
    i: int
    j: int


Layers = tuple[Laid, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Begun:
    """A layout begun: what lies, what is left to lay, the places left, and its worth."""

    laid: Layers
    left: tuple[int, ...]
    free: Bools
    worth: float


def find_layouts(
    room: Room, blank: BlankChoices, counts: Sequence[int], clear: Bools
) -> list[Layers]:
    """Return layouts that hold all the wanted pieces, the roomiest first; empty if none is found.

    Args:
        room: the shapes and their distances.
        blank: its size and border.
        counts: how many of each kind.
        clear: (k, k, 4, s, s) which displacements are allowed (``Room.clear``).

    Returns:
        At most as many layouts as the search carries on, all different.
    """
    first, free = free_places(room, blank)
    seen = seen_from_every_turn(clear)
    total = sum(counts)
    width = min(WIDEST, max(NARROWEST, WORK // max(1, total)))
    begun = [_Begun((), tuple(counts), free, 0.0)]
    for _ in range(total):
        begun = _carried_on(begun, seen, first, width)
        if not begun:
            return []
    return [layout.laid for layout in begun]


def free_places(room: Room, blank: BlankChoices) -> tuple[Ints, Bools]:
    """Return the places of each kind at each turn on the empty blank.

    Returns:
        (4 k, 2) steps of each map's first place, and (4 k, nx, ny) whether a piece lies on the
        blank there.
    """
    places = room.places(blank).reshape(-1, 4)
    spans = np.maximum(places[:, 2:] - places[:, :2] + 1, 0)
    spans[(spans == 0).any(axis=1)] = 0
    nx, ny = (max(1, int(span)) for span in spans.max(axis=0))
    free = np.zeros((len(places), nx, ny), dtype=np.bool_)
    for n, (wide, deep) in enumerate(spans):
        free[n, :wide, :deep] = True
    return np.ascontiguousarray(places[:, :2]), free


def seen_from_every_turn(clear: Bools) -> Bools:
    """Return (k, 4, k, 4, s, s): the table in the blank's frame, for each turn of either piece."""
    kinds, side = len(clear), clear.shape[-1]
    seen = np.empty((kinds, 4, kinds, 4, side, side), dtype=np.bool_)
    for one in range(4):
        for other in range(4):
            # Indexed [x, y] about the middle, the table turns with the first piece.
            seen[:, one, :, other] = np.rot90(clear[:, :, (other - one) % 4], one, axes=(2, 3))
    return seen


def _carried_on(begun: list[_Begun], seen: Bools, first: Ints, width: int) -> list[_Begun]:
    """Lay one more piece in each layout, every promising way; return the best of them."""
    found: dict[frozenset[tuple[int, int, int, int]], tuple[float, int, Laid]] = {}
    for parent, layout in enumerate(begun):
        for piece in _offers(layout, first):
            key = frozenset((p.kind, p.turns, p.i, p.j) for p in (*layout.laid, piece))
            if key not in found:
                worth = _worth(layout, piece, seen, first)
                if worth is not None:
                    found[key] = (worth, parent, piece)
    # The best first; of equals the one found first.
    ranked = sorted(found.values(), key=lambda each: -each[0])[:width]
    return [
        _with_piece(begun[parent], piece, seen, first, worth) for worth, parent, piece in ranked
    ]


def _offers(layout: _Begun, first: Ints) -> list[Laid]:
    """Return where the next piece may be tried: furthest each way, of each kind and turn."""
    offers = []
    places = np.empty((len(WAYS), 2), dtype=np.int64)
    for n, (i0, j0) in enumerate(first):
        if not layout.left[n // 4]:
            continue
        outermost(layout.free[n], WAYS, places)
        for i, j in dict.fromkeys(map(tuple, places.tolist())):
            if i >= 0:
                offers.append(Laid(n // 4, n % 4, int(i0) + i, int(j0) + j))
    return offers


def _worth(layout: _Begun, piece: Laid, seen: Bools, first: Ints) -> float | None:
    """Return how much room is left for what is still to come; None if something has none."""
    left = list(layout.left)
    left[piece.kind] -= 1
    places = np.zeros(len(left), dtype=np.int64)
    free, table = layout.free.view(np.uint8), seen.view(np.uint8)
    # Every third row tells enough; only where it says that nothing is left, all are looked at.
    for stride in (3, 1):
        count_left(free, table, _as_array(piece), first, stride, places)
        if all(room for wanted, room in zip(left, places, strict=True) if wanted):
            pairs = zip(left, places, strict=True)
            return sum(wanted * log(stride * room) for wanted, room in pairs if wanted)
    return None


def _with_piece(layout: _Begun, piece: Laid, seen: Bools, first: Ints, worth: float) -> _Begun:
    free = layout.free.copy()
    narrow(free, seen, _as_array(piece), first)
    left = tuple(n - (kind == piece.kind) for kind, n in enumerate(layout.left))
    return _Begun((*layout.laid, piece), left, free, worth)


def _as_array(piece: Laid) -> Ints:
    return np.array([piece.kind, piece.turns, piece.i, piece.j], dtype=np.int64)
