"""Shares out the spare sheet among pieces that are laid, and says how near they lie."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from chape.tooling.fitting import Laid
from chape.tooling.lattice_kernels import between
from chape.tooling.room import GAPS_ENOUGH
from chape.tooling.settle_kernels import settle

if TYPE_CHECKING:
    from chape.tooling.fitting import Layers
    from chape.tooling.model import BlankChoices
    from chape.tooling.room import Room

#: Sweeps over all pieces for each size of move.
SWEEPS = 60


@dataclass(frozen=True, slots=True)
class Settled:
    """Where pieces lie for good.

    Attributes:
        laid: on the lattice.
        step: of the lattice, mm.
        outlines_apart: the least distance of two trimmed outlines, mm; infinite for one piece.
        web_share: the least distance of two raised parts as a share of the one wanted, at most 1.
    """

    laid: Layers
    step: float
    outlines_apart: float
    web_share: float


def settled(room: Room, blank: BlankChoices, laid: Layers) -> Settled:
    """Move pieces apart while raised parts or outlines lie nearer than wanted, then centre all.

    Args:
        room: distances of the shapes.
        blank: its size and border.
        laid: pieces that are clear of each other.

    Returns:
        The pieces moved, or as they were where moving gained nothing.
    """
    pieces = np.array([(p.kind, p.turns, p.i, p.j) for p in laid], dtype=np.int64)
    gap = room.gap
    wanted = np.array([gap, room.apart, GAPS_ENOUGH * gap, float(room.webs.max())])
    settle(pieces, room.outlines, room.bodies, room.raised, wanted, room.places(blank), SWEEPS)
    moved = tuple(Laid(*(int(number) for number in piece)) for piece in pieces)
    return max(_judged(room, blank, laid), _judged(room, blank, moved), key=worth)


def worth(layout: Settled) -> tuple[float, float]:
    """Return what makes one layout better than another: webs kept off first, then outlines."""
    return round(layout.web_share, 2), round(layout.outlines_apart, 1)


def _judged(room: Room, blank: BlankChoices, laid: Layers) -> Settled:
    outlines, webs = GAPS_ENOUGH * room.gap if len(laid) > 1 else inf, 1.0
    for one, other in combinations(laid, 2):
        a, b = (np.array([p.kind, p.turns, p.i, p.j], dtype=np.int64) for p in (one, other))
        outlines = min(outlines, between(room.outlines, a, b, inf))
        wanted = float(room.webs[one.kind, other.kind])
        webs = min(webs, between(room.raised, a, b, inf) / wanted)
    return Settled(_centred(room, blank, laid), room.step, outlines, webs)


def _centred(room: Room, blank: BlankChoices, laid: Layers) -> Layers:
    """Return all pieces moved together so that equal sheet is left on either side."""
    every = room.places(blank)
    places = np.array([every[p.kind, p.turns] for p in laid])
    at = np.array([(p.i, p.j) for p in laid])
    low = (places[:, :2] - at).max(axis=0)
    high = (places[:, 2:] - at).min(axis=0)
    move = (low + high) // 2
    return tuple(Laid(p.kind, p.turns, p.i + int(move[0]), p.j + int(move[1])) for p in laid)
