"""Marks on the mould: text or a figure, raised or sunk along single lines.

The sheet comes to lie on the mould with its later inside, and is looked at from where the mould is
looked at: from above. So a mark that reads right on the mould reads right on the sheath's outside,
and nothing is mirrored; on the half that lies turned over it is turned by half a turn, so that its
letters stand with their heads towards the spine on either side of the sheath.

A stroke is what a ball of the sheath's own fillet makes: sunk, a trough of that radius; raised, a
ridge whose feet have it. So the finishing cutter reaches every mark, and a sheet thinner than the
fillet follows it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor, radians, sqrt
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import CannotMakeError, InputError
from chape.field.envelope import Body, closing
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.halves import axis_of, is_front, piece_of, side_of
from chape.tooling.layout import turned_field
from chape.tooling.marks import Rim
from chape.tooling.model import MarkChoice, Way
from chape.tooling.strokes import unwritten, written

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from chape.field.grid import Floats
    from chape.sheath.model import Piece, Sheath
    from chape.tooling.model import Layout, Placement

#: Corners of strokes stay this near to each other, mm.
STEP = 0.5

#: More strokes than this are a picture, not a mark.
MOST_POINTS = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A mark where it lies on a piece.

    Attributes:
        choice: what the maker asked for.
        number: in the file, from 1.
        upper: it lies on the upper half.
        strokes: lines (n, 2) in the piece's flat frame, mm.
        radius: inside radius of what the strokes leave, mm.
    """

    choice: MarkChoice
    number: int
    upper: bool
    strokes: tuple[Floats, ...]
    radius: float

    @property
    def reach(self) -> float:
        """How far from its strokes the mark changes the surface, mm."""
        if self.choice.way is Way.RAISED:
            return Rim.of(self.choice.depth, self.radius).run
        return sqrt(self.choice.depth * (2 * self.radius - self.choice.depth))

    @property
    def lines(self) -> shapely.Geometry:
        """The strokes as one geometry."""
        parts = [
            shapely.Point(stroke[0]) if _is_dot(stroke) else shapely.LineString(stroke)
            for stroke in self.strokes
        ]
        return shapely.GeometryCollection(parts)

    def change(self, distance: Floats) -> Floats:
        """Return by how much the surface rises at distances from the nearest stroke, mm."""
        if self.choice.way is Way.RAISED:
            heights = Rim.of(self.choice.depth, self.radius).heights(distance)
            return np.where(distance < self.reach, heights, 0.0)
        trough = self.radius - np.sqrt(np.maximum(0.0, self.radius**2 - distance**2))
        return -np.maximum(0.0, self.choice.depth - trough)


def make_marks(
    sheath: Sheath, choices: Sequence[MarkChoice], figures: Mapping[str, Sequence[Floats]]
) -> tuple[Mark, ...]:
    """Return the marks of a sheath, each where it lies on its piece.

    Args:
        sheath: what they are put on.
        choices: the maker's.
        figures: file name -> lines (n, 2) of each figure that is named, y up, any size.

    Raises:
        InputError: neither text nor figure, or both; a letter the alphabet lacks.
        CannotMakeError: a mark lies beside the sheath, or is too deep for its radius.
    """
    return tuple(
        _placed(sheath, choice, number, figures) for number, choice in enumerate(choices, start=1)
    )


def marked(piece: Piece, marks: Sequence[Mark]) -> HeightField:
    """Return a piece's formed surface with its marks, as a ball of the fillet can make it.

    Args:
        piece: without marks.
        marks: those that lie on it.
    """
    field = piece.formed
    for mark in marks:
        rows, columns = window(field.grid, mark)
        x, y = np.meshgrid(field.grid.x[columns], field.grid.y[rows])
        lines = mark.lines
        shapely.prepare(lines)
        distance = shapely.distance(lines, shapely.points(x, y))
        part = field.z[rows, columns] + mark.change(distance)
        grid = Grid(float(x[0, 0]), float(y[0, 0]), field.grid.spacing, x.shape[1], x.shape[0])
        filled = closing(HeightField(grid, part), Body.ball(mark.radius)).z
        z = field.z.copy()
        # Near the window's rim the ball rolls off; nothing was changed there.
        near = distance < mark.reach + mark.radius
        z[rows, columns] = np.where(near, filled, z[rows, columns])
        field = field.with_z(z)
    return field


def window(grid: Grid, mark: Mark) -> tuple[slice, slice]:
    """Return the rows and columns of a grid that a mark can change, with room for the ball."""
    u_min, v_min, u_max, v_max = mark.lines.bounds
    room = mark.reach + 3 * mark.radius
    rows = slice(*np.searchsorted(grid.y, (v_min - room, v_max + room)).tolist())
    columns = slice(*np.searchsorted(grid.x, (u_min - room, u_max + room)).tolist())
    return rows, columns


def _placed(
    sheath: Sheath,
    choice: MarkChoice,
    number: int,
    figures: Mapping[str, Sequence[Floats]],
) -> Mark:
    field = f"mould.marks {number}"
    strokes = _drawn(choice, figures, field)
    radius = sheath.choices.fillet
    if choice.depth >= radius:
        raise CannotMakeError(
            f"mark {number} is {choice.depth:g} mm deep, and a ball of {radius:g} mm makes no "
            "stroke so deep",
            mend=f"Set its depth below {radius / 2:g} mm",
        )
    upper = is_front(sheath, upper=True) == (choice.half == "front")
    corners = np.vstack(strokes)
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    size = choice.height / float(np.ptp(corners[:, 1])) if choice.figure else choice.height
    turn = radians(choice.angle)
    side = side_of(upper=upper)
    turned = side * np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    y = _middle_of_knife(sheath, choice.x) if choice.y is None else choice.y
    place = np.array([choice.x, side * (y - axis_of(sheath))])
    lines = tuple(((stroke - middle) * size) @ turned.T + place for stroke in strokes)
    mark = Mark(choice, number, upper, lines, radius)
    inside = piece_of(sheath, upper=upper).pattern.polygon(0.02)
    if not inside.contains(shapely.box(*mark.lines.bounds)):
        raise CannotMakeError(
            f"mark {number} reaches past the edge of the sheath",
            mend="Move it inwards, or make it smaller (mould.marks)",
        )
    return mark


def _drawn(choice: MarkChoice, figures: Mapping[str, Sequence[Floats]], field: str) -> list[Floats]:
    """Return the strokes of a mark: text with capitals of height 1, or a figure as drawn."""
    if (choice.text is None) == (choice.figure is None):
        raise InputError(
            "a mark is either a text or a figure", mend="Give it one of the two", field=field
        )
    if choice.figure is not None:
        strokes = [np.asarray(line, dtype=np.float64) for line in figures[choice.figure]]
        if not strokes or np.ptp(np.vstack(strokes)[:, 1]) <= 0:
            raise InputError(
                f'the figure "{choice.figure}" has no height',
                mend="Draw it with lines that go up as well as along",
                field=field,
            )
        if sum(len(line) for line in strokes) > MOST_POINTS:
            raise InputError(
                f'the figure "{choice.figure}" has more than {MOST_POINTS} points',
                mend="Draw it with fewer, simpler lines",
                field=field,
            )
        return strokes
    text = " ".join((choice.text or "").split())
    missing = unwritten(text)
    if missing or not text:
        raise InputError(
            f"no letters are known for {' '.join(missing)}" if missing else "the text is empty",
            mend="Write letters, digits, blanks and - + . , : / ' ! &",
            field=field,
        )
    return written(text)


def _middle_of_knife(sheath: Sheath, x: float) -> float:
    """Return the middle height of the knife at x, mm.

    Raises:
        CannotMakeError: the knife does not reach there.
    """
    across = sheath.knife.outline.intersection(shapely.LineString([(x, -1e4), (x, 1e4)]))
    if across.is_empty:
        raise CannotMakeError(
            f"there is no knife at x = {x:g} mm to put a mark over",
            mend="Give the mark's y as well, or another x (mould.marks)",
        )
    _, low, _, high = across.bounds
    return float(low + high) / 2


def _is_dot(stroke: Floats) -> bool:
    return bool(np.ptp(stroke, axis=0).max() < 1e-9)


def with_marks(layout: Layout, marks: Mapping[int, Sequence[Mark]]) -> Layout:
    """Return a layout whose blank carries marks on every copy of its sheaths.

    Args:
        layout: as laid out, without marks.
        marks: number of a sheath in the layout -> its marks.
    """
    if not any(marks.values()):
        return layout
    z = layout.formed.z.copy()
    grid = layout.formed.grid
    for part in layout.parts:
        own = [
            mark
            for mark in marks.get(part.sheath, ())
            if piece_of(layout.sheath_of(part), upper=mark.upper) is layout.piece_of(part)
        ]
        if own:
            piece = layout.piece_of(part)
            change = piece.formed.with_z(marked(piece, own).z - piece.formed.z)
            _add(z, grid, change, part.place)
    return replace(layout, formed=HeightField(grid, z), unmarked=layout.formed)


def _add(z: Floats, grid: Grid, change: HeightField, place: Placement) -> None:
    """Add a change of a piece's heights to the blank's, node for node."""
    turned, x, y = turned_field(change, place.quarter_turns)
    rows, columns = np.nonzero(turned)
    i = columns + floor((x + place.x - grid.x0) / grid.spacing + 0.5)
    j = rows + floor((y + place.y - grid.y0) / grid.spacing + 0.5)
    z[j, i] += turned[rows, columns]
