"""Whether a cutter is asked to cut more at once than it can clear."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence
    from chape.cutting.model import Setup
    from chape.field.grid import Floats

#: Material in front of a cutter, mm² of cross-section for each mm² of its diameter squared: a slot
#: as deep as it is wide, then twice as deep (common practice, no source).
CHIPS_NOTED = 1.0
CHIPS_MOST = 2.0
#: Shorter than this share of the diameter, a move's volume is mostly its first bite.
LONG_ENOUGH = 0.5
#: Depth beyond the flutes that is rounding, mm.
CONTACT = 0.01


def check_engagement(evidence: Evidence) -> tuple[Finding, ...]:
    """Return cuts too full, and cuts deeper than the flutes are long."""
    program, setup = evidence.program, evidence.setup
    count = len(program)
    segments = evidence.segments
    volume = np.bincount(segments.move, evidence.removal.volume, minlength=count)
    ends = segments.ends
    way = np.bincount(segments.move, way_over_piece(setup, ends), minlength=count)
    diameter = 2 * evidence.radius
    long = (way >= LONG_ENOUGH * diameter) & (diameter > 0) & evidence.cutting
    section = volume / np.where(long, way, 1.0)
    fullness = np.where(long, section / np.where(long, diameter, 1.0) ** 2, 0.0)
    worst = float(fullness.max(initial=0.0))
    limit = CHIPS_MOST if worst > CHIPS_MOST else CHIPS_NOTED
    flutes = {c.number: c.flute_length for c in setup.cutters if c.kind is not CutterKind.DRILL}
    reach = np.array([flutes.get(state.cutter, np.inf) for state in program.states])
    beyond = evidence.depth - (reach[program.state] if count else np.zeros(0))
    beyond = np.where(evidence.cutting, beyond, -np.inf)
    return (
        *evidence.worst(
            "engagement-high",
            fullness,
            fullness > limit,
            "The cutter has {value} times its diameter squared of material before it"
            f" ({{count}} moves above {limit:g})",
            "Cut in more levels, or with a smaller step aside.",
            limit=limit,
            unit="",
            severity=Severity.ERROR if worst > CHIPS_MOST else Severity.WARNING,
        ),
        *evidence.worst(
            "cut-over-flutes",
            beyond,
            beyond > CONTACT,
            "A cut is {value} mm deeper than the flutes are long ({count} moves)",
            "Cut in more levels, or take a cutter with longer flutes.",
            limit=0.0,
        ),
    )


def way_over_piece(setup: Setup, ends: Floats) -> Floats:
    """Return (n,) how much of each segment's way in the plane lies over the piece, mm."""
    enters, leaves = np.zeros(len(ends)), np.ones(len(ends))
    x_min, y_min, x_max, y_max = setup.box
    for axis, low, high in ((0, x_min, x_max), (1, y_min, y_max)):
        start, step = ends[:, axis], ends[:, axis + 3] - ends[:, axis]
        with np.errstate(divide="ignore", invalid="ignore"):
            a, b = (low - start) / step, (high - start) / step
        beside = (start < low) | (start > high)
        a = np.where(step == 0, np.where(beside, np.inf, -np.inf), a)
        b = np.where(step == 0, np.inf, b)
        enters = np.maximum(enters, np.minimum(a, b))
        leaves = np.minimum(leaves, np.maximum(a, b))
    length = np.hypot(ends[:, 3] - ends[:, 0], ends[:, 4] - ends[:, 1])
    way: Floats = np.maximum(leaves - enters, 0.0) * length
    return way
