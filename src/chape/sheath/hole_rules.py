"""The distances that holes keep from one another, and where a set of holes breaks them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.sheath.clip_places import ClipWish, Ground
    from chape.sheath.hole_sites import Counts, Sites

#: A clip's hole this near the end of a line is its last rivet, mm. Common practice, no source.
END_MOST = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Rules:
    """Distances to keep, mm.

    Attributes:
        pitch_most: no two neighbouring rivets further apart, as the crow flies.
        spacing_least: from hole to hole in hole diameters, at least.
        seat: radius of a rivet's flange: two flanges may touch, never overlap.
        eyelet_hole: diameter of an eyelet's hole.
        keep_clear: radius that each clip's holes need level, by clip.
        crowds_itself: whether a clip's own holes stand nearer than that, by clip.
    """

    pitch_most: float
    spacing_least: float
    seat: float
    eyelet_hole: float
    keep_clear: tuple[float, ...]
    crowds_itself: tuple[bool, ...]

    @property
    def least(self) -> float:
        """From eyelet to eyelet."""
        return self.apart(self.eyelet_hole, self.eyelet_hole)

    def apart(self, one: float, other: float) -> float:
        """Return how far apart holes of two diameters stand at least."""
        return max(self.spacing_least * max(one, other), 2 * self.seat)

    def rivets(self, sites: Sites, locus: int) -> Counts:
        """Return the numbers of the places whose rivets hold the flanges together along a line.

        A rivet further out than its flange leaves the flanges open at the wall.
        """
        near = sites.rivet & (sites.locus == locus) & (sites.out <= self.seat)
        near &= (sites.held < 0) | (sites.out >= -self.seat)
        numbers = np.flatnonzero(near)
        return numbers[np.argsort(sites.along[numbers], kind="stable")].astype(np.int64)

    @staticmethod
    def holds_both(holes: list[tuple[int, ...]], one: int, other: int) -> bool:
        """Say whether two places serve two different holes of a placement."""
        first = [k for k, use in enumerate(holes) if one in use]
        second = [k for k, use in enumerate(holes) if other in use]
        return any(a != b for a in first for b in second)


def rules_of(
    wishes: tuple[ClipWish, ...],
    ground: Ground,
    pitch_most: float,
    spacing_least: float,
    hole: float,
) -> Rules:
    """Return the rules for these clips.

    Args:
        wishes: the clips.
        ground: gives the seat.
        pitch_most: mm.
        spacing_least: hole diameters.
        hole: diameter of an eyelet's hole, mm.
    """
    crowds = []
    for wish in wishes:
        holes = np.array(wish.clip.holes, dtype=np.float64)
        wide = max(spacing_least * max(wish.clip.hole.value, hole), 2 * ground.seat)
        gaps = np.hypot(*(holes[:, None] - holes[None]).transpose(2, 0, 1))
        crowds.append(bool((gaps[np.triu_indices(len(holes), 1)] < wide).any()))
    clear = tuple(wish.keep_clear for wish in wishes)
    return Rules(pitch_most, spacing_least, ground.seat, hole, clear, tuple(crowds))


def broken_pairs(
    sites: Sites,
    drilled: list[int],
    taken: list[int],
    uses: list[list[tuple[int, ...]]],
    rules: Rules,
) -> Iterator[tuple[int, int]]:
    """Yield pairs of drilled places that are too near, and are no two holes of one clip.

    What the maker put too near to one another stays so; the checks say it.
    """
    diameters = sorted({float(sites.diameter[j]) for j in drilled})
    widest = rules.apart(diameters[-1], diameters[-1])
    points = sites.points[drilled]
    for a, b in sorted(cKDTree(points).query_pairs(widest)):
        one, other = drilled[a], drilled[b]
        if sites.held[one] >= 0 and sites.held[other] >= 0:
            continue
        least = rules.apart(float(sites.diameter[one]), float(sites.diameter[other]))
        if np.hypot(*(points[a] - points[b])) >= least - 2 * SAME_LENGTH:
            continue
        if not any(rules.holds_both(uses[k], one, other) for k in taken):
            yield one, other


def broken_spans(
    ground: Ground, sites: Sites, drilled: list[int], rules: Rules
) -> Iterator[tuple[int, list[int]]]:
    """Yield each rivet too far from the next, with the places the next could stand at.

    Between held ones there may be none: the checks say it.
    """
    chosen = set(drilled)
    for number in range(len(ground.loci)):
        rivets = rules.rivets(sites, number)
        row = [int(j) for j in rivets if int(j) in chosen]
        for one, other in pairwise(row):
            if np.hypot(*(sites.points[one] - sites.points[other])) <= (
                rules.pitch_most + SAME_LENGTH
            ):
                continue
            beyond = rivets[sites.along[rivets] > sites.along[one]]
            far = np.hypot(*(sites.points[beyond] - sites.points[one]).T)
            reached = [int(j) for j in beyond[far <= rules.pitch_most + SAME_LENGTH]]
            if reached or not len(ground.held):
                yield one, reached
