"""The knife file of a scanned knife: how its mesh lies, and what the person says of it."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np
from pydantic import Field

from chape.catalog.model import LONGEST, NotNegative, Positive, PositiveLength, Record
from chape.knife.file import KnifeTable, scaled_tables
from chape.units import MM_PER_INCH, LengthUnit

if TYPE_CHECKING:
    from chape.field.grid import Floats

Angle = Annotated[float, Field(strict=True, ge=-45, le=45)]


class Heading(StrEnum):
    """A direction along an axis of the mesh's own file."""

    PLUS_X = "+x"
    MINUS_X = "-x"
    PLUS_Y = "+y"
    MINUS_Y = "-y"
    PLUS_Z = "+z"
    MINUS_Z = "-z"

    @property
    def vector(self) -> Floats:
        """The direction as a unit vector, (3,)."""
        axis: Floats = np.eye(3)["xyz".index(self.value[1])]
        return axis if self.value[0] == "+" else -axis

    @classmethod
    def nearest(cls, direction: Floats) -> Heading:
        """Return the heading that lies nearest to a direction (3,)."""
        return max(cls, key=lambda heading: float(heading.vector @ direction))


class MeshUnit(StrEnum):
    """What a mesh is drawn in."""

    MM = "mm"
    CM = "cm"
    INCH = "inch"
    M = "m"

    @property
    def in_mm(self) -> float:
        """Millimetres in one of this unit."""
        return {"mm": 1.0, "cm": 10.0, "inch": MM_PER_INCH, "m": 1000.0}[self.value]


class Keep(StrEnum):
    """Which pieces of a mesh are the knife."""

    KNIFE = "knife"
    ALL = "all"


class MeshTable(Record):
    """The ``[mesh]`` table.

    Attributes:
        file: a .stl, .ply, .obj or .3mf file beside this one.
        unit: what the mesh is drawn in; None takes its own word, or the size of a knife.
        tip, edge: where tip and edge point, along the axes of the mesh's file; None finds them.
        turn: the knife is turned by this in its own plane, counter-clockwise, degrees.
        roll: and about its length, the spine towards the front.
        pitch: and about its width, the butt towards the front.
        shift: and moved towards the front.
        blade_length: from the tip to the front of guard or handle; None finds it.
        bevel_width: how far the bevel reaches from the edge, seen from the side; None finds it.
        edge_margin: the edge band reaches this far past the bevel.
        keep: the largest piece and closed ones that touch it, or all.
    """

    file: Annotated[str, Field(min_length=1)]
    unit: MeshUnit | None = None
    tip: Heading | None = None
    edge: Heading | None = None
    turn: Angle = 0.0
    roll: Angle = 0.0
    pitch: Angle = 0.0
    shift: Annotated[float, Field(strict=True, ge=-LONGEST, le=LONGEST), "length"] = 0.0
    blade_length: Annotated[Positive | None, "length"] = None
    bevel_width: Annotated[NotNegative | None, "length"] = None
    edge_margin: PositiveLength = 0.5
    keep: Keep = Keep.KNIFE


class MeshKnifeFile(Record):
    """A whole knife file of a scanned knife."""

    knife: KnifeTable
    mesh: MeshTable

    def in_mm(self) -> MeshKnifeFile:
        """Return the same knife with every length in mm; what was left out keeps its default."""
        factor = self.knife.unit.in_mm
        if factor == 1.0:
            return self
        tables: dict[str, Any] = scaled_tables(self, factor)
        tables["knife"]["unit"] = LengthUnit.MM
        return MeshKnifeFile.model_validate(tables)
