"""The colours every page and picture is drawn in.

Chosen to print well on a plain office printer and to stay apart for most colour-blind eyes:
knife in steel blue-grey, sheath in warm clay, measures in ink, warnings in copper.
"""

from __future__ import annotations

from typing import NamedTuple


class Colour(NamedTuple):
    """Red, green and blue, 0 to 255."""

    red: int
    green: int
    blue: int

    @property
    def hex(self) -> str:
        """The colour as drawings and pages write it, "#1f2a30"."""
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"


INK = Colour(0x1E, 0x2B, 0x2F)
SLATE = Colour(0x5A, 0x6B, 0x70)
HAIRLINE = Colour(0xC8, 0xCD, 0xCA)
WASH = Colour(0xF4, 0xF1, 0xEA)
PAPER = Colour(0xFF, 0xFF, 0xFF)

COPPER = Colour(0xB1, 0x53, 0x2A)
MOSS = Colour(0x4C, 0x6B, 0x45)
BRASS = Colour(0xA9, 0x7C, 0x1F)

STEEL = Colour(0x9D, 0xAF, 0xB8)
STEEL_DARK = Colour(0x4F, 0x66, 0x72)
EDGE = Colour(0xC2, 0x3B, 0x22)
SHEET = Colour(0xD9, 0xC3, 0xA0)
SHEET_DARK = Colour(0x8A, 0x6A, 0x3C)
FOLD = Colour(0x2F, 0x6F, 0x77)
