"""What sheaths are tried with: a blunt dummy of the knife, gauges, and guides for a hand drill."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from chape.errors import CannotMakeError, InputError
from chape.findings import Finding, Severity
from chape.tooling.drill_guide import make_drill_guides
from chape.tooling.fold_gauge import make_fold_gauge
from chape.tooling.model import Dummy
from chape.tooling.mouth_gauge import make_mouth_gauge

if TYPE_CHECKING:
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath
    from chape.tooling.drill_guide import DrillGuide
    from chape.tooling.fold_gauge import FoldGauge
    from chape.tooling.mouth_gauge import MouthGauge

#: Least full thickness left anywhere on a dummy, mm: no edge that cuts.
EDGE_THICKNESS = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Gauges:
    """What a made sheath is tried with, besides the dummy.

    Attributes:
        mouth: None where no gauge would tell a good sheath from a tight one.
        fold: None for a sheath that is not folded.
        guides: plates for drilling by hand, one for each flange.
    """

    mouth: MouthGauge | None
    fold: FoldGauge | None
    guides: tuple[DrillGuide, ...]


def make_gauges(sheath: Sheath, handle_spread: float) -> Gauges:
    """Make the gauges of a sheath.

    Args:
        sheath: as designed.
        handle_spread: standard deviation of the handle's full thickness from knife to knife, mm.
    """
    try:
        mouth = make_mouth_gauge(sheath, handle_spread)
    except CannotMakeError:
        mouth = None
    return Gauges(mouth, make_fold_gauge(sheath), make_drill_guides(sheath))


def check_gauges(gauges: Gauges) -> tuple[Finding, ...]:
    """Say where a gauge cannot be made."""
    if gauges.mouth is not None:
        return ()
    return (
        Finding(
            "mouth-gauge-none",
            Severity.NOTE,
            "mouth",
            "The thickest usual knife fills the mouth, so that no gauge tells a good sheath from a "
            "tight one.",
            "Raise the handle's clearance, or lower the spread of handles if the knives vary less.",
        ),
    )


def make_dummy(knife: Knife, edge_thickness: float = EDGE_THICKNESS) -> Dummy:
    """Make a dummy that lies inside the knife everywhere.

    Where the knife is thinner than ``edge_thickness`` the dummy ends; there it has an upright
    blunt wall of that thickness. Everywhere else it is as thick as the knife. What would fall
    off, parts no longer joined to the largest, is left out.

    Args:
        knife: the knife, symmetrical about its mid-plane.
        edge_thickness: least full thickness, mm.

    Raises:
        InputError: the thickness is not above 0.
        CannotMakeError: no part of the knife is that thick.
    """
    if not (np.isfinite(edge_thickness) and edge_thickness > 0):
        raise InputError(
            f"a dummy's edge of {edge_thickness} mm is no thickness",
            mend="Give a thickness above 0 mm",
            field="edge_thickness",
        )
    thick = knife.half.z >= edge_thickness / 2
    labels, count = ndimage.label(thick)
    if count == 0:
        raise CannotMakeError(
            f"the knife is nowhere as thick as {edge_thickness:g} mm, so nothing is left of a "
            "blunt dummy",
            mend="Use a thinner edge_thickness, or check the knife's thickness",
        )
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    kept = labels == int(np.argmax(sizes))
    return Dummy(knife.half.with_z(np.where(kept, knife.half.z, 0.0)), edge_thickness)
