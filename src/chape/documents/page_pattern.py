"""A clip's pattern of holes at 1:1, to lay over the hardware before anything is drilled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.page_template import shortened, tiled_pdf
from chape.documents.picture_clip import clip_pattern
from chape.units import show_length

if TYPE_CHECKING:
    from chape.catalog.hardware import Clip
    from chape.units import LengthUnit


def pattern_pdf(clip: Clip, paper: str, unit: LengthUnit) -> bytes:
    """Return the page, or pages where the pattern is larger than one.

    Args:
        clip: of the catalogue.
        paper: "a4" or "letter".
        unit: lengths are told in.
    """
    angles = ", ".join(f"{angle:g}°" for angle in clip.angles)
    words = {
        "name": shortened(clip.name, 40),
        "said": shortened(f"{clip.title}; {clip.source}", 120),
        "print-said": "Print at 100 %, no fitting to the page. Lay the clip on it, its outside up:",
        "holes-said": "every hole must show its ring all round. "
        f"Holes ø {show_length(clip.hole.value, unit)}; angles {angles}.",
    }
    return tiled_pdf(clip_pattern(clip, unit), words, paper, unit)
