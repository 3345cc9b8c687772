"""Lengths as people type and read them; everything inside chape is mm."""

from __future__ import annotations

from enum import StrEnum

MM_PER_INCH = 25.4


class LengthUnit(StrEnum):
    """The unit a person types or reads lengths in."""

    MM = "mm"
    INCH = "inch"

    @property
    def in_mm(self) -> float:
        """Millimetres in one of this unit."""
        return MM_PER_INCH if self is LengthUnit.INCH else 1.0


def show_length(length: float, unit: LengthUnit = LengthUnit.MM) -> str:
    """Write a length (mm) as a person reads it: "12.50 mm", "0.492 in".

    >>> show_length(12.5)
    '12.50 mm'
    >>> show_length(12.5, LengthUnit.INCH)
    '0.492 in'
    """
    if unit is LengthUnit.INCH:
        return f"{length / MM_PER_INCH:.3f} in"
    return f"{length:.2f} mm"
