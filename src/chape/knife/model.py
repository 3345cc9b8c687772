"""A knife, as every later stage sees it.

Knife frame: x from the blade tip (x = 0) towards the butt, along the draw; y towards the spine;
z across the blade, mid-plane z = 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from shapely import MultiPolygon, Polygon

    from chape.field.heights import HeightField
    from chape.findings import Finding

#: Shorter or longer than this, mm, is no knife but a wrong unit.
SHORTEST_KNIFE, LONGEST_KNIFE = 40.0, 700.0


class Edges(StrEnum):
    """How many edges a blade has."""

    SINGLE = "single"
    DOUBLE = "double"


@dataclass(frozen=True, slots=True, eq=False)
class Knife:
    """A measured knife, symmetrical about its mid-plane.

    Attributes:
        name: what the maker calls it.
        outline: closed, simple, counter-clockwise; blade, guard and handle together.
        half: half-thickness h(x, y) >= 0; exactly 0 outside the outline.
        edge_band: the region of the outline nothing may touch: the bevel plus a margin.
        edges: single or double.
        blade_length: x where the blade ends and guard or handle begins, mm.
        uncertainty: the measurement may be off by this, mm; clearances add it.
        source: how it was measured.
        measured: the day it was measured, where given.
        remarks: what was seen while it was read, such as a scan's holes.
    """

    name: str
    outline: Polygon
    half: HeightField
    edge_band: MultiPolygon
    edges: Edges
    blade_length: float
    uncertainty: float
    source: str
    measured: date | None
    remarks: tuple[Finding, ...] = ()

    @property
    def length(self) -> float:
        """Tip to butt, mm."""
        x_min, _, x_max, _ = self.outline.bounds
        return float(x_max - x_min)

    @property
    def thickness(self) -> float:
        """Greatest full thickness, mm."""
        return 2 * float(self.half.z.max())
