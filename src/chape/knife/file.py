"""The knife file: what a maker writes down about one knife.

Every length in the file is in the file's own unit; ``KnifeFile.in_mm`` turns them into mm.
"""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from chape.catalog.model import LONGEST, Length, Positive, PositiveLength, Record
from chape.errors import InputError
from chape.knife.model import Edges
from chape.units import LengthUnit

Number = Annotated[float, Field(ge=-LONGEST, le=LONGEST)]

#: A thickness table: rows of x and full thickness.
ThicknessRows = Annotated[tuple[tuple[Number, Number], ...], Field(min_length=1), "length"]

#: What a file may hold a guess of until it is measured, dotted.
Guessable = Literal["blade.length", "blade.spine_thickness", "handle.thickness"]

#: Rows of x, y of the edge side, y of the spine side.
StationRows = tuple[tuple[Number, Number, Number], ...]


class Grind(StrEnum):
    """How the blade tapers from its spine (or ridge) to the edge."""

    FULL_FLAT = "full flat"
    PARTIAL_FLAT = "partial flat"
    HOLLOW = "hollow"
    CONVEX = "convex"


class TipShape(StrEnum):
    """How edge and spine meet at the tip."""

    SHARP = "sharp"
    ROUND = "round"


class Direction(StrEnum):
    """A direction on a drawing."""

    LEFT = "left"
    RIGHT = "right"
    UP = "up"
    DOWN = "down"

    @property
    def vector(self) -> tuple[float, float]:
        """The direction as (x, y), y up."""
        return {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, 1.0), "down": (0.0, -1.0)}[
            self.value
        ]


class KnifeTable(Record):
    """The ``[knife]`` table.

    Attributes:
        name: what the maker calls it.
        unit: what every length in this file is written in.
        edges: single or double.
        source: how it was measured.
        measured: the day it was measured.
        uncertainty: the measurements may be off by this; clearances add it.
        unmeasured: keys of this file that hold guesses, to be measured yet.
    """

    name: Annotated[str, Field(min_length=1, max_length=80)]
    unit: LengthUnit = LengthUnit.MM
    edges: Edges = Edges.SINGLE
    source: Annotated[str, Field(max_length=200)] = "caliper"
    measured: date | None = None
    uncertainty: Annotated[float, Field(ge=0, le=5), "length"] = 0.1
    unmeasured: tuple[Guessable, ...] | None = None


class OutlineTable(Record):
    """The ``[outline]`` table: either stations or a drawing.

    Attributes:
        stations: x from the tip, y of the edge side, y of the spine side, from any straight
            base line along the knife.
        tip_shape: sharp, or round like the butt; only for stations.
        drawing: a .dxf or .svg file beside this one.
        unit: what the drawing is drawn in, where it does not say so itself.
        scale: the drawing is multiplied by this.
        layer: only what lies on this DXF layer is read.
        tip: where the tip points on the drawing.
        edge: where the edge points on the drawing.
    """

    stations: Annotated[StationRows | None, "length"] = None
    tip_shape: TipShape = TipShape.SHARP
    drawing: Annotated[str, Field(min_length=1)] | None = None
    unit: LengthUnit | Literal["cm"] | None = None
    scale: Positive = 1.0
    layer: str | None = None
    tip: Direction = Direction.LEFT
    edge: Direction = Direction.DOWN

    @field_validator("stations")
    @classmethod
    def _check_stations(
        cls, rows: tuple[tuple[float, float, float], ...] | None
    ) -> tuple[tuple[float, float, float], ...] | None:
        if rows is None:
            return rows
        if len(rows) < 3:
            raise InputError(
                f"an outline needs at least 3 stations, and here are {len(rows)}",
                mend="Measure more stations along the knife",
            )
        if rows[0][0] != 0:
            raise InputError(
                f"the first station stands at x = {rows[0][0]:g}",
                mend="Measure x from the tip, so that the first station is at 0",
            )
        _check_rising([row[0] for row in rows], "station")
        for number, (x, edge, spine) in enumerate(rows, start=1):
            if edge > spine:
                raise InputError(
                    f"at station {number} (x = {x:g}) the edge side, y = {edge:g}, lies above the "
                    f"spine side, y = {spine:g}",
                    mend="Write x, then y of the edge side, then y of the spine side",
                )
            if edge == spine and 1 < number < len(rows):
                raise InputError(
                    f"at station {number} (x = {x:g}) edge and spine lie at the same y = {edge:g}",
                    mend="Only the first and last station may close in a point; measure it again",
                )
        return rows

    @model_validator(mode="after")
    def _check_source(self) -> Self:
        if (self.stations is None) == (self.drawing is None):
            raise InputError(
                "the outline needs either stations or a drawing",
                mend='Write "stations = [...]" or "drawing = ...", one of the two',
            )
        only_drawing = {"unit", "scale", "layer", "tip", "edge"} & self.model_fields_set
        if self.stations is not None and only_drawing:
            raise InputError(
                f'"{min(only_drawing)}" tells how to read a drawing, but the outline has stations',
                mend="Remove it",
            )
        if self.drawing is not None and "tip_shape" in self.model_fields_set:
            raise InputError(
                '"tip_shape" belongs to stations, but the outline is a drawing', mend="Remove it"
            )
        across = self.tip.vector[0] * self.edge.vector[0] + self.tip.vector[1] * self.edge.vector[1]
        if across != 0:
            raise InputError(
                f'tip = "{self.tip}" and edge = "{self.edge}" point along the same line',
                mend="Say where the tip points, and where the edge faces, across it",
            )
        return self


class BladeTable(Record):
    """The ``[blade]`` table.

    Attributes:
        length: from the tip to the front of guard or handle.
        spine_thickness: rows of x and full thickness at the spine (at the ridge when double).
        grind: how the blade tapers.
        grind_height: how far from the edge a partial flat or hollow grind reaches.
        wheel_radius: of the wheel a hollow grind was made on.
        bulge: how far a convex grind stands out over the straight line, where it is widest.
        behind_edge: full thickness just above the edge's bevel.
        bevel_angle: of the edge's bevel, per side, degrees.
        edge_margin: the edge band reaches this far past the bevel.
    """

    length: PositiveLength
    spine_thickness: ThicknessRows
    grind: Grind = Grind.FULL_FLAT
    grind_height: Annotated[Positive | None, "length"] = None
    wheel_radius: Annotated[Positive | None, "length"] = None
    bulge: Annotated[Positive | None, "length"] = None
    behind_edge: Length = 0.5
    bevel_angle: Annotated[float, Field(ge=2, le=60)] = 20.0
    edge_margin: PositiveLength = 0.5

    @field_validator("spine_thickness")
    @classmethod
    def _check_thickness(
        cls, rows: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        return _checked_thickness(rows)

    @model_validator(mode="after")
    def _check_grind(self) -> Self:
        wanted = {
            Grind.FULL_FLAT: (),
            Grind.PARTIAL_FLAT: ("grind_height",),
            Grind.HOLLOW: ("grind_height", "wheel_radius"),
            Grind.CONVEX: ("bulge",),
        }[self.grind]
        for key in ("grind_height", "wheel_radius", "bulge"):
            given = getattr(self, key) is not None
            if key in wanted and not given:
                raise InputError(
                    f'a "{self.grind}" grind needs {key}, and it is missing', mend=f"Add {key}"
                )
            if given and key not in wanted:
                raise InputError(
                    f'{key} is given, but a "{self.grind}" grind has none',
                    mend=f"Remove {key}, or choose the grind that has it",
                )
        return self


class GuardTable(Record):
    """The ``[guard]`` table: a block across the knife.

    Attributes:
        start, to: from and to this x.
        thickness: full thickness.
        reach: y of its lower and upper end; the whole outline when left out.
        rounding: radius of its edges.
    """

    start: Annotated[float, Field(alias="from", gt=0, le=LONGEST), "length"]
    to: PositiveLength
    thickness: PositiveLength
    reach: Annotated[tuple[Number, Number] | None, "length"] = None
    rounding: Length = 2.0

    @model_validator(mode="after")
    def _check_block(self) -> Self:
        if self.start >= self.to:
            raise InputError(
                f"the guard starts at x = {self.start:g} and ends at x = {self.to:g}",
                mend='Give "from" the smaller x',
            )
        if self.reach is not None and self.reach[0] >= self.reach[1]:
            raise InputError(
                f"the guard reaches from y = {self.reach[0]:g} to y = {self.reach[1]:g}",
                mend="Write the lower y first",
            )
        return self


class HandleTable(Record):
    """The ``[handle]`` table.

    Attributes:
        thickness: rows of x and full thickness.
        roundness: superellipse exponent of the section: 2 an ellipse, 4 a rounded box.
    """

    thickness: ThicknessRows
    roundness: Annotated[float, Field(ge=1, le=20)] = 2.4

    @field_validator("thickness")
    @classmethod
    def _check_thickness(
        cls, rows: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        return _checked_thickness(rows)


class KnifeFile(Record):
    """A whole knife file."""

    knife: KnifeTable
    outline: OutlineTable
    blade: BladeTable
    guard: GuardTable | None = None
    handle: HandleTable

    def in_mm(self) -> KnifeFile:
        """Return the same knife with every length in mm; what was left out keeps its default.

        Raises:
            pydantic.ValidationError: never for a file that was valid in its own unit.
        """
        factor = self.knife.unit.in_mm
        if factor == 1.0:
            return self
        tables = scaled_tables(self, factor)
        tables["knife"]["unit"] = LengthUnit.MM
        return KnifeFile.model_validate(tables)


def scaled_tables(record: Record, factor: float) -> dict[str, Any]:
    """Return what was written into a record as tables, with every length times ``factor``."""
    tables: dict[str, Any] = {}
    for name in record.model_fields_set:
        field, value = type(record).model_fields[name], getattr(record, name)
        if isinstance(value, Record):
            value = scaled_tables(value, factor)
        elif "length" in field.metadata and value is not None:
            value = _times(value, factor)
        tables[field.alias or name] = value
    return tables


def _times(value: Any, factor: float) -> Any:  # noqa: ANN401 - a number, or rows of numbers
    if isinstance(value, tuple):
        return tuple(_times(part, factor) for part in value)
    return value * factor


def _checked_thickness(rows: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    _check_rising([row[0] for row in rows], "row")
    for number, (x, thickness) in enumerate(rows, start=1):
        if thickness <= 0:
            raise InputError(
                f"in row {number} (x = {x:g}) the thickness is {thickness:g}",
                mend="Write the full thickness there, more than 0",
            )
    return rows


def _check_rising(x: list[float], row: str) -> None:
    for number in range(1, len(x)):
        if x[number] == x[number - 1]:
            raise InputError(
                f"{row}s {number} and {number + 1} both stand at x = {x[number]:g}",
                mend="Remove one of them",
            )
        if x[number] < x[number - 1]:
            raise InputError(
                f"{row} {number + 1} stands at x = {x[number]:g}, before {row} {number} at "
                f"x = {x[number - 1]:g}",
                mend="Write the rows in order of x",
            )
