"""Holes as canned cycles, where the controller has them.

A cycle has one feed and even pecks. So the gentlest feed of its moves is taken, and as many pecks
as were planned. G73 breaks chips as planned, in one line for every time that the drill comes out
to clear them, begun again a little above where it was; G83 comes out after every peck.
"""

from __future__ import annotations

from dataclasses import dataclass

from chape.cutting.model import Motion


@dataclass(frozen=True, slots=True)
class Stretch:
    """What is drilled before the drill comes out.

    Attributes:
        start: height it begins at, in last decimals of the text; nothing stands above.
        bottom: where it ends.
        pecks: how many.
        feed: the lowest of its moves, in the text's unit a minute.
    """

    start: int
    bottom: int
    pecks: int
    feed: float

    @property
    def peck(self) -> int:
        """Depth of one, rounded up: a last decimal too little would make one peck more."""
        return -((self.bottom - self.start) // self.pecks)


@dataclass(frozen=True, slots=True)
class DrilledHole:
    """Moves that cycles can stand for.

    Attributes:
        stretches: from the top down.
        after: index of the first move that is not part of it.
    """

    stretches: tuple[Stretch, ...]
    after: int

    @property
    def in_one(self) -> Stretch:
        """The whole hole, with no peck deeper than any of its own."""
        start, bottom = self.stretches[0].start, self.stretches[-1].bottom
        deepest = max(stretch.peck for stretch in self.stretches)
        feed = min(stretch.feed for stretch in self.stretches)
        return Stretch(start, bottom, -((bottom - start) // deepest), feed)


def hole_at(
    motions: list[int], ends: list[list[int]], feeds: list[float], first: int, place: list[int]
) -> DrilledHole | None:
    """Return the hole whose first cut is move ``first``; None where the moves are no pecks.

    Args:
        motions: (n,) ``Motion`` of each move.
        ends: (n, 3) where each ends, in last decimals.
        feeds: (n,) NaN for rapids.
        first: index.
        place: where the drill stands before it.
    """
    x, y, near = place
    stretches: list[Stretch] = []
    after = at = first
    start = depth = near

    def upright(move: int, motion: Motion) -> bool:
        return move < len(ends) and motions[move] == motion and ends[move][:2] == [x, y]

    while True:
        pecks, feed = 0, float("inf")
        while upright(at, Motion.LINE) and ends[at][2] < depth:
            while upright(at, Motion.LINE) and ends[at][2] < depth:
                depth, feed = ends[at][2], min(feed, feeds[at])
                at += 1
            pecks += 1
            if not (upright(at, Motion.RAPID) and depth < ends[at][2] <= near):
                return None
            at += 1
        if not pecks or ends[at - 1][2] != near:
            break
        stretches.append(Stretch(start, depth, pecks, feed))
        after = at
        if not (upright(at, Motion.RAPID) and depth < ends[at][2] <= near):
            break
        start = ends[at][2]
        at += 1
    return DrilledHole(tuple(stretches), after) if stretches else None
