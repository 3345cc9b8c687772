"""How near to each other the pieces of one blank may lie, for every way of turning them.

A piece is turned by quarter turns and moved by whole steps of a lattice, whose step is a whole
number of cells of the sheath's grid: heights are then copied and never resampled. Two pieces are
*clear* of each other when

- their trimmed outlines are ``gap`` apart (the trim cutter passes between them), and
- neither's raised part comes nearer to the other than the sheet is thick: where the formed sheet
  runs on past a mouth, it must not stand on a neighbour's flange.

Raised parts less than 1.5 times their height apart tend to form webs (common practice, no
source); a layout that keeps them so far apart is preferred.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.tooling.no_fit import distances, no_fit

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt
    from shapely import Polygon

    from chape.tooling.model import BlankChoices

    Distances = npt.NDArray[np.float32]

#: Raised parts wanted this many times their height apart (common practice, no source).
WEB_RATIO = 1.5

#: Outlines more than this many gaps apart gain nothing by lying further apart.
GAPS_ENOUGH = 3.0

#: Outlines are simplified within this before they are tried, mm, and asked to lie further apart by
#: as much on either side, so that the true ones keep their distance.
OUTLINE_ERROR = 0.05

#: The same for outlines taken together with raised parts, whose rims are read from a grid.
BODY_ERROR = 0.1

#: The same for raised parts alone, whose distance is a wish.
RAISED_ERROR = 0.5

#: Aimed step of the lattice, mm: what finer steps win is below what a maker's shears keep to.
STEP = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """What of one piece counts when it is laid on a blank.

    Attributes:
        outline: as trimmed, flat frame, mm.
        raised: what of it and of its run-on stands above the flange plane, flat frame, mm.
        height: of its highest point, mm.
    """

    outline: Polygon
    raised: Polygon
    height: float

    def body(self) -> Polygon:
        """Return outline and raised part in one, hollows between them filled."""
        whole = shapely.union_all([self.outline, self.raised])
        if whole.geom_type != "Polygon":
            whole = whole.convex_hull
        return shapely.Polygon(whole.exterior)


class Room:
    """The distances of every two shapes, by quarter turns and displacement.

    Attributes:
        shapes: the kinds of piece.
        step: of the lattice, mm.
        reach: displacements up to this many steps along x and y are in the tables.
        outlines, bodies, raised: (k, k, 4, 2 reach + 1, 2 reach + 1) distances, mm, of kind p
            as drawn from kind q turned r quarters and moved by [x, y] steps; cut off at
            ``enough``.
        webs: (k, k) distance wanted between raised parts, mm.
    """

    def __init__(self, shapes: Sequence[Shape], gap: float, apart: float, step: float) -> None:
        """Prepare the tables.

        Args:
            shapes: the kinds of piece.
            gap: between trimmed outlines, mm.
            apart: raised parts stay this far from other pieces, mm: the sheet's gauge.
            step: of the lattice, mm.
        """
        self.shapes = tuple(shapes)
        self.gap = gap
        self.apart = apart
        self.step = step
        heights = np.array([shape.height for shape in shapes])
        self.webs = WEB_RATIO * np.maximum(heights[:, None], heights[None, :])
        self.enough = max(GAPS_ENOUGH * gap, float(self.webs.max())) + 1.0
        self._bodies = [shape.body() for shape in shapes]
        size = max(max(abs(edge) for edge in body.bounds) for body in self._bodies)
        self.reach = ceil((2 * size + self.enough) / step) + 1

    @cached_property
    def outlines(self) -> Distances:
        """Distances of trimmed outlines."""
        return self._table([shape.outline for shape in self.shapes], OUTLINE_ERROR)

    @cached_property
    def bodies(self) -> Distances:
        """Distances of outlines and raised parts taken together."""
        return self._table(self._bodies, BODY_ERROR)

    @cached_property
    def raised(self) -> Distances:
        """Distances of raised parts."""
        return self._table([shape.raised for shape in self.shapes], RAISED_ERROR)

    def clear(self, web_share: float = 0.0) -> npt.NDArray[np.bool_]:
        """Say, for every displacement in the tables, whether two pieces are clear of each other.

        Args:
            web_share: share of the wanted distance of raised parts that must be kept as well.
        """
        found = (self.outlines >= self.gap) & (self.bodies >= self.apart)
        if web_share > 0:
            found &= self.raised >= web_share * self.webs[:, :, None, None, None]
        return found

    def boxes(self) -> npt.NDArray[np.float64]:
        """Return (k, 4, 4): x_min, y_min, x_max, y_max of each kind at each quarter turn, mm."""
        return np.array(
            [
                [affinity.rotate(body, 90 * turn, origin=(0, 0)).bounds for turn in range(4)]
                for body in self._bodies
            ]
        )

    def places(self, blank: BlankChoices) -> npt.NDArray[np.int64]:
        """Return (k, 4, 4): least and greatest steps (i, j) at which a piece lies on a blank.

        The least stand first (i, j), then the greatest; greatest below least where none lies.
        """
        low = blank.clamp_border
        found = np.zeros((len(self.shapes), 4, 4), dtype=np.int64)
        for kind, turns in enumerate(self.boxes()):
            for turn, (x_min, y_min, x_max, y_max) in enumerate(turns):
                found[kind, turn] = (
                    ceil((low - x_min) / self.step - 1e-9),
                    ceil((low - y_min) / self.step - 1e-9),
                    floor((blank.width - low - x_max) / self.step + 1e-9),
                    floor((blank.depth - low - y_max) / self.step + 1e-9),
                )
        return found

    def _table(self, rings: Sequence[Polygon], error: float) -> Distances:
        count, side = len(rings), 2 * self.reach + 1
        table = np.full((count, count, 4, side, side), self.enough, dtype=np.float32)
        simple = [_simplified(ring, error) for ring in rings]
        for p, fixed in enumerate(simple):
            for q in range(p, count):
                for turn in range(4):
                    if p == q and turn == 3:
                        continue  # a quarter back is a quarter on, seen from the other piece
                    moving = affinity.rotate(simple[q], 90 * turn, origin=(0, 0))
                    self._fill(table[p, q, turn], no_fit(fixed, moving), error)
                    back = _seen_back(table[p, q, turn], turn)
                    table[q, p, -turn % 4] = back
        return table

    def _fill(self, cells: Distances, place: shapely.Geometry, error: float) -> None:
        """Fill in the distances from a no-fit shape where they are below ``enough``."""
        x_min, y_min, x_max, y_max = place.buffer(self.enough).bounds
        low_i = max(-self.reach, floor(x_min / self.step))
        low_j = max(-self.reach, floor(y_min / self.step))
        high_i = min(self.reach, ceil(x_max / self.step))
        high_j = min(self.reach, ceil(y_max / self.step))
        i, j = np.arange(low_i, high_i + 1), np.arange(low_j, high_j + 1)
        found = distances(place, i * self.step, j * self.step) - 2 * error
        part = cells[i[0] + self.reach :, j[0] + self.reach :]
        part[: len(i), : len(j)] = np.minimum(found, self.enough)


def _simplified(ring: Polygon, error: float) -> Polygon:
    simple = ring.simplify(error)
    return simple if isinstance(simple, shapely.Polygon) and simple.is_valid else ring


def _seen_back(cells: Distances, turn: int) -> Distances:
    """Return a table of (p, q, turn) as seen from q: displacements -R^-turn d.

    Arrays are indexed [x, y] about their middle, so that a quarter turn back is a turned array.
    """
    seen: Distances = np.rot90(cells, -turn)[::-1, ::-1]
    return seen


def lattice_step(spacing: float, aim: float = STEP) -> float:
    """Return a lattice step near ``aim``: a whole number of cells of ``spacing`` mm."""
    return spacing * max(1, round(aim / spacing))
