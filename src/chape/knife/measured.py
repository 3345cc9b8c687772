"""A knife's outline as a picture tells it, before the person has confirmed it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from collections.abc import Callable

    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.knife.landmarks import Landmarks
    from chape.knife.laying import LaidOutline
    from chape.knife.picture import Picture


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """A knife as a photograph or a flat-bed scan shows it.

    Attributes:
        how: "photo" or "scan", for the knife file's source.
        laid: outline and landmarks in the knife frame, and how it lay.
        picture: what it was measured from.
        to_pixels: points (n, 2) of the knife frame, mm -> where the picture shows them, (n, 2)
            pixels; the first pixel's middle is (0, 0).
        scale_error: how far every length may be off, as a share.
        residual: how far the outline may be off beside that, mm.
        remarks: what was seen on the way.
    """

    how: str
    laid: LaidOutline
    picture: Picture
    to_pixels: Callable[[Floats], Floats]
    scale_error: float
    residual: float
    remarks: tuple[Finding, ...] = ()

    @property
    def outline(self) -> Polygon:
        """In the knife frame, mm."""
        return self.laid.outline

    @property
    def landmarks(self) -> Landmarks:
        """Found, or as the person said."""
        return self.laid.landmarks

    @property
    def length(self) -> float:
        """Tip to butt, mm."""
        return float(self.outline.bounds[2])

    @property
    def width(self) -> float:
        """Greatest height of the outline, mm."""
        return float(self.outline.bounds[3])

    @property
    def uncertainty(self) -> float:
        """How far a point of the outline may be off, mm.

        A wrong scale moves both ends apart: the sheath takes half of it at either end.
        """
        return float(self.residual + self.scale_error * self.length / 2)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was seen on the way, and what of the landmarks is a weak guess."""
        return (*self.remarks, *(_unsure(doubt) for doubt in self.laid.doubts))


def _unsure(doubt: str) -> Finding:
    return Finding(
        "landmark-unsure",
        Severity.WARNING,
        "outline",
        f"The shape hardly tells {doubt}.",
        "Look at the overlay: the tip belongs left, the edge down; else measure again with --tip, "
        "--edge or --blade-length.",
    )
