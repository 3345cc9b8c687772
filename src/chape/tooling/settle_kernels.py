"""Kernels that move laid pieces apart, each by whole steps of the lattice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.kernels import kernel
from chape.tooling.lattice_kernels import between

if TYPE_CHECKING:
    import numpy as np

    from chape.field.grid import Floats

    Singles = np.ndarray[tuple[int, ...], np.dtype[np.float32]]
    Ints = np.ndarray[tuple[int, ...], np.dtype[np.int64]]


@kernel
def crowding(
    pieces: Ints, n: int, outlines: Singles, bodies: Singles, raised: Singles, wanted: Floats
) -> float:
    """Return how much one piece lacks of the wanted distances; infinite where it may not lie.

    The sum over its neighbours of the squares of what is lacking, as shares of what is wanted.

    Args:
        pieces: (m, 4) kind, turn, i, j.
        n: which of them.
        outlines: table of distances, mm.
        bodies: another.
        raised: another.
        wanted: (4,) least distances of outlines and of bodies, then wanted distances of outlines
            and of raised parts, mm.
    """
    lacking = 0.0
    for m in range(len(pieces)):
        if m == n:
            continue
        apart = between(outlines, pieces[n], pieces[m], wanted[2])
        if apart < wanted[0] or between(bodies, pieces[n], pieces[m], wanted[2]) < wanted[1]:
            return float("inf")
        lacking += max(0.0, 1 - apart / wanted[2]) ** 2
        webs = between(raised, pieces[n], pieces[m], wanted[3])
        lacking += 4 * max(0.0, 1 - webs / wanted[3]) ** 2
    return lacking


@kernel
def settle(
    pieces: Ints, outlines: Singles, bodies: Singles, raised: Singles, wanted: Floats, places: Ints,
    sweeps: int,
) -> None:  # fmt: skip
    """Move pieces apart one after the other, by ever smaller moves, while it helps.

    Args:
        pieces: (m, 4), changed in place.
        outlines: table of distances, mm.
        bodies: another.
        raised: another.
        wanted: as for ``crowding``.
        places: (k, 4, 4) least and greatest steps (i, j) of each kind and turn.
        sweeps: at most so many over all pieces for each size of move.
    """
    for power in range(4, -1, -1):
        move = 2**power
        for _ in range(sweeps):
            moved = False
            for n in range(len(pieces)):
                room = places[pieces[n, 0], pieces[n, 1]]
                best = crowding(pieces, n, outlines, bodies, raised, wanted)
                for way in range(9):
                    i, j = pieces[n, 2], pieces[n, 3]
                    to_i, to_j = i + move * (way % 3 - 1), j + move * (way // 3 - 1)
                    if to_i < room[0] or to_j < room[1] or to_i > room[2] or to_j > room[3]:
                        continue
                    pieces[n, 2], pieces[n, 3] = to_i, to_j
                    trial = crowding(pieces, n, outlines, bodies, raised, wanted)
                    if trial < best - 1e-9:
                        best, moved = trial, True
                    else:
                        pieces[n, 2], pieces[n, 3] = i, j
            if not moved:
                break
