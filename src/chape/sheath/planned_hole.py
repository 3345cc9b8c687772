"""A hole of the hole plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chape.field.grid import Floats


@dataclass(frozen=True, slots=True, eq=False)
class PlannedHole:
    """A hole of the plan, sheath frame, mm.

    Attributes:
        point: (2,) its middle.
        along, out: along its line and out of it.
        locus: which line, from 0.
        diameter: to drill.
        rivet: it carries an eyelet.
        keep_clear: radius that lies level round it.
        clips: wishes it serves, from 0, in order; none for an eyelet that only closes.
        held: which of the maker's own places it is; None for a planned one.
    """

    point: Floats
    along: float
    out: float
    locus: int
    diameter: float
    rivet: bool
    keep_clear: float
    clips: tuple[int, ...] = ()
    held: int | None = None
