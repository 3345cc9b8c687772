"""Eyelets that stand where the maker put them, on the lines that the others are planned on.

A held eyelet is never moved. The others keep away from it, a clip may be screwed through it, and
where it stands badly the checks say so; nothing is refused for it but what is no place on a sheath.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Bools, Floats
    from chape.sheath.locus import Locus

    Counts = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class HeldEyelets:
    """Places of eyelets that stay as they are.

    Attributes:
        points: (k, 2) sheath frame, mm.
        along, out: (k,) along the line each belongs to, and out of it, mm.
        locus: (k,) which line.
    """

    points: Floats
    along: Floats
    out: Floats
    locus: Counts

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.along)

    def without(self, gone: list[int]) -> HeldEyelets:
        """Return the others."""
        keep = np.setdiff1d(np.arange(len(self)), gone)
        return HeldEyelets(self.points[keep], self.along[keep], self.out[keep], self.locus[keep])

    def beside(self, points: Floats, clear: float) -> Bools:
        """Say which of (m, 2) places lie nearer than ``clear`` to one of them."""
        if not len(self):
            return np.zeros(len(points), dtype=np.bool_)
        apart = np.hypot(*(points[:, None] - self.points[None]).transpose(2, 0, 1))
        near: Bools = apart.min(axis=1) < clear - 1e-6
        return near


NONE_HELD = HeldEyelets(np.zeros((0, 2)), np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64))


def held_on(loci: tuple[Locus, ...], places: tuple[tuple[float, float], ...]) -> HeldEyelets:
    """Return held eyelets, each with the line that it stands nearest to.

    Args:
        loci: lines of eyelets.
        places: (x, y) in the sheath frame, mm.
    """
    if not places:
        return NONE_HELD
    points = np.array(places, dtype=np.float64)
    placed = [locus.placed(points) for locus in loci]
    away = [
        np.hypot(out, np.maximum(0.0, np.maximum(-along, along - locus.length)))
        for (along, out), locus in zip(placed, loci, strict=True)
    ]
    nearest = np.argmin(away, axis=0)
    rows = np.arange(len(points))
    along = np.array([each for each, _ in placed])[nearest, rows]
    out = np.array([each for _, each in placed])[nearest, rows]
    return HeldEyelets(points, along, out, nearest.astype(np.int64))
