"""How many pieces lie on a blank, and how: candidate patterns, tried with their true shapes.

A copy is turned by quarter turns and moved by whole grid cells, so that its heights are copied
and never resampled. Two copies are *clear* of each other when

- their trimmed outlines are ``gap`` apart (the trim cutter passes between them), and
- neither's raised part comes nearer to the other's outline than the sheet is thick: where the
  formed sheet runs on past a mouth, it must not stand on a neighbour's flange.

Raised parts less than 1.5 times their height apart tend to form webs (common practice, no
source). Patterns that keep that distance are preferred; where none does, the widest is taken and
``check_tooling`` says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import TYPE_CHECKING

import shapely
from shapely import affinity

from chape.field.contour import regions_above

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.sheath.model import Piece
    from chape.tooling.model import BlankChoices

#: What stands higher than this above the flange plane counts as raised, mm.
RAISED = 0.05

#: Raised parts wanted this many times their height apart (common practice, no source).
WEB_RATIO = 1.5

#: Shapes are flattened and simplified within this before they are tried, mm; distances are asked
#: to be larger by as much, so that the true shapes keep theirs.
SHAPE_ERROR = 0.05

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Copy:
    """One copy of a piece: quarter turns, then a move by whole cells (i, j) of the grid."""

    turns: int
    i: int
    j: int
    piece: int = 0

    def moved(self, i: int, j: int) -> Copy:
        """Return the copy moved on by whole cells."""
        return Copy(self.turns, self.i + i, self.j + j, self.piece)


Unit = tuple[Copy, ...]


class Shapes:
    """Outline and raised part of every piece at each quarter turn, and how copies get along.

    ``outlines``, ``raised`` and ``boxes`` are listed by piece and by turns.
    """

    def __init__(self, pieces: Sequence[Piece], gauge: float, blank: BlankChoices) -> None:
        self.spacing = pieces[0].formed.grid.spacing
        self.gap = blank.gap
        self.apart = gauge
        self.height = max(float(piece.formed.z.max()) for piece in pieces)
        self.outlines = [_turned(piece.pattern.polygon(SHAPE_ERROR / 4)) for piece in pieces]
        self.raised = [_turned(raised_part(piece)) for piece in pieces]
        self.boxes: list[list[Box]] = [
            [shapely.union_all(both).bounds for both in zip(outlines, raised, strict=True)]
            for outlines, raised in zip(self.outlines, self.raised, strict=True)
        ]
        self._clear: dict[tuple[int, ...], bool] = {}

    @cached_property
    def area(self) -> float:
        """Area of the trimmed outlines of one sheath, mm²."""
        return float(sum(turned[0].area for turned in self.outlines))

    def widest(self, turns: int) -> float:
        """Return the width of the widest piece at a number of quarter turns, mm."""
        return max(boxes[turns][2] - boxes[turns][0] for boxes in self.boxes)

    def box(self, copy: Copy) -> Box:
        """Return (x_min, y_min, x_max, y_max) of a copy's outline and raised part, mm."""
        x_min, y_min, x_max, y_max = self.boxes[copy.piece][copy.turns]
        x, y = copy.i * self.spacing, copy.j * self.spacing
        return x_min + x, y_min + y, x_max + x, y_max + y

    def box_of(self, unit: Unit) -> Box:
        """Return the box around several copies, mm."""
        boxes = [self.box(copy) for copy in unit]
        return (
            min(box[0] for box in boxes),
            min(box[1] for box in boxes),
            max(box[2] for box in boxes),
            max(box[3] for box in boxes),
        )

    def between(self, one: Copy, other: Copy) -> float:
        """Return the distance of the boxes of two copies, mm; 0 where they overlap."""
        a, b = self.box(one), self.box(other)
        aside = max(b[0] - a[2], a[0] - b[2], 0.0)
        along = max(b[1] - a[3], a[1] - b[3], 0.0)
        return float((aside**2 + along**2) ** 0.5)

    def clear(self, one: Copy, other: Copy) -> bool:
        """Say whether two copies leave each other the room they need."""
        room = max(self.gap, self.apart) + 2 * SHAPE_ERROR
        if self.between(one, other) >= room:
            return True
        i, j = other.i - one.i, other.j - one.j
        key = (one.piece, one.turns, other.piece, other.turns, i, j)
        if key not in self._clear:
            self._clear[key] = self._look(one, other)
        return self._clear[key]

    def _look(self, one: Copy, other: Copy) -> bool:
        x, y = (other.i - one.i) * self.spacing, (other.j - one.j) * self.spacing
        mine, mine_raised = self.of(one)
        its, its_raised = (affinity.translate(shape, x, y) for shape in self.of(other))
        if not _apart(mine, its, self.gap + SHAPE_ERROR):
            return False
        if not _apart(mine_raised, its, self.apart):
            return False
        return _apart(mine, its_raised, self.apart) and _apart(mine_raised, its_raised, self.apart)

    def of(self, copy: Copy) -> tuple[shapely.Geometry, shapely.Geometry]:
        """Return outline and raised part of a copy, turned but not moved."""
        return self.outlines[copy.piece][copy.turns], self.raised[copy.piece][copy.turns]

    def all_clear(self, unit: Unit) -> bool:
        """Say whether every two copies are clear of each other."""
        return all(self.clear(one, other) for one, other in combinations(unit, 2))

    def placed_raised(self, unit: Unit) -> shapely.Geometry:
        """Return the raised parts of several copies, where they lie."""
        return shapely.union_all(
            [
                affinity.translate(self.of(copy)[1], copy.i * self.spacing, copy.j * self.spacing)
                for copy in unit
            ]
        )

    def distances(self, unit: Unit) -> tuple[float, float]:
        """Return the least distances (outlines, raised parts) of any two copies, mm.

        Both are infinite for a single copy; pairs far beyond both rules are not measured.
        """
        enough = max(3 * self.gap, WEB_RATIO * self.height)
        outlines = raised = float("inf")
        for one, other in combinations(unit, 2):
            if self.between(one, other) > enough:
                continue
            x, y = (other.i - one.i) * self.spacing, (other.j - one.j) * self.spacing
            mine, mine_raised = self.of(one)
            its, its_raised = (affinity.translate(shape, x, y) for shape in self.of(other))
            outlines = min(outlines, mine.distance(its))
            raised = min(raised, mine_raised.distance(its_raised))
        return outlines, raised


def _apart(one: shapely.Geometry, other: shapely.Geometry, distance: float) -> bool:
    return not bool(shapely.dwithin(one, other, distance))


def _turned(shape: shapely.Geometry) -> list[shapely.Geometry]:
    """Return a shape at every quarter turn."""
    return [affinity.rotate(shape, 90 * turn, origin=(0, 0)) for turn in range(4)]


def raised_part(piece: Piece) -> shapely.Geometry:
    """Return what of a piece's formed field stands above the flange plane, flat frame.

    Hollows inside it are filled; the shape is never smaller than the contour.
    """
    regions = regions_above(piece.formed, RAISED)
    filled = shapely.union_all([shapely.Polygon(part.exterior) for part in regions.geoms])
    return filled.simplify(SHAPE_ERROR).buffer(SHAPE_ERROR, quad_segs=2)


def stacked(shapes: Shapes, units: list[Unit], axis: int) -> Unit:
    """Push units against each other along x (axis 0) or y (axis 1), as near as they go.

    Each unit's box is first brought level with the first one's low side on the other axis.
    """
    placed = list(units[0])
    for unit in units[1:]:
        placed.extend(_pushed(shapes, tuple(placed), unit, axis))
    return tuple(placed)


def _pushed(shapes: Shapes, before: Unit, unit: Unit, axis: int) -> Unit:
    """Return ``unit`` moved next to ``before``: from well clear, inwards until it is not."""
    other = 1 - axis
    still, mine = shapes.box_of(before), shapes.box_of(unit)
    spacing = shapes.spacing
    room = max(shapes.gap, shapes.apart) + 2 * SHAPE_ERROR
    level = round((still[other] - mine[other]) / spacing)
    far = -int((mine[axis] - still[axis + 2] - room) // spacing)
    nearest = round((still[axis] - mine[axis]) / spacing)

    def at(steps: int) -> Unit:
        move = (steps, level) if axis == 0 else (level, steps)
        return tuple(copy.moved(*move) for copy in unit)

    def is_clear(steps: int) -> bool:
        return all(shapes.clear(one, another) for one in before for another in at(steps))

    stride = max(1, round(1.0 / spacing))
    while far - stride > nearest and is_clear(far - stride):
        far -= stride
    while far - 1 > nearest and is_clear(far - 1):
        far -= 1
    return at(far)
