"""How documents are printed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from chape.units import LengthUnit


@dataclass(frozen=True, slots=True)
class Page:
    """How documents are printed.

    Attributes:
        paper: "a4" or "letter".
        unit: lengths are shown in it.
        date: printed on every page; None prints none, so that the same job gives the same bytes.
    """

    paper: str
    unit: LengthUnit
    date: date | None
