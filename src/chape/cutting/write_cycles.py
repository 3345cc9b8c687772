"""Holes as canned cycles: one line for all the pecks of a hole.

A cycle has one feed and even pecks. So the gentlest feed of the hole's moves is taken, and as many
pecks as were planned, counted from the height where the drill comes down to.
"""

from __future__ import annotations

from dataclasses import dataclass

from chape.cutting.model import Motion


@dataclass(frozen=True, slots=True)
class DrilledHole:
    """Moves that a cycle can stand for.

    Attributes:
        bottom: of the hole, in last decimals of the text.
        pecks: how many.
        feed: the lowest of its moves, in the text's unit a minute.
        after: index of the first move that is not part of it.
    """

    bottom: int
    pecks: int
    feed: float
    after: int


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
    at, depth, pecks, feed = first, near, 0, float("inf")
    hole = None

    def upright(move: int, motion: Motion) -> bool:
        return move < len(ends) and motions[move] == motion and ends[move][:2] == [x, y]

    while upright(at, Motion.LINE) and ends[at][2] < depth:
        while upright(at, Motion.LINE) and ends[at][2] < depth:
            depth, feed = ends[at][2], min(feed, feeds[at])
            at += 1
        if not (upright(at, Motion.RAPID) and ends[at][2] == near):
            return None
        pecks, at = pecks + 1, at + 1
        hole = DrilledHole(depth, pecks, feed, at)
        if not (upright(at, Motion.RAPID) and depth < ends[at][2] <= near):
            return hole
        at += 1
    return hole
