"""A knife on a flat-bed scanner: no camera, one scale.

The glass is the sheet: a pixel is 25.4 mm divided by the dots per inch that the scanner notes. A
bank card on the glass checks it. What lies on the glass is seen true; what stands off it (a blade
lifted by a thick handle) is seen a little smaller or shifted along the lamp's bar, by how much
depends on the scanner, and is not corrected here.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import cv2
import numpy as np

from chape.errors import InputError
from chape.findings import Finding, Severity
from chape.knife.card import CARD_SPREAD, LONG, SHORT, find_card
from chape.knife.edge import find_edge
from chape.knife.laying import Said, lay_outline
from chape.knife.light import light_at
from chape.knife.measured import Measured
from chape.knife.segment import Flat, silhouette
from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.card import Card
    from chape.knife.laying import LaidOutline
    from chape.knife.light import Light
    from chape.knife.picture import Picture

#: Coarser or finer than this is no scan of a knife, dots per inch.
COARSEST, FINEST = 75.0, 2400.0

#: The knife is looked for on pixels about this wide, mm.
STEP = 0.2

#: A scanner's optics blur an edge by about this, mm, as a bell's standard deviation.
BLUR = 0.08

#: How far a scanner's scale is off, as a share, where nothing checks it; and how far it may be
#: before the stated resolution is plainly wrong (common practice, no source).
SCANNER_SPREAD, WRONG_SCALE = 0.005, 0.04

#: How far an outline on the glass may be off beside its scale, mm (common practice, no source).
RESIDUAL = 0.1


def measure_scan(picture: Picture, dpi: float | None = None, said: Said | None = None) -> Measured:
    """Measure the knife on a flat-bed scan.

    Args:
        picture: the whole scan.
        dpi: its resolution; None takes what the scanner noted.
        said: directions as the picture shows them, x to the right, y up.

    Raises:
        InputError: no resolution, or one that the card on the glass belies; no knife, or more than
            one thing besides the card.
    """
    step = MM_PER_INCH / _resolution(picture, dpi)
    flat = _flat(picture, step)

    def sample(places: Floats) -> Light:
        x, y = places[..., 0], places[..., 1]
        return light_at(picture.pixels, np.stack([x / step, -y / step], axis=-1))

    card = find_card(flat, sample, BLUR)
    if card is not None:
        _check_card(card, step)
        flat = replace(flat, paper=card.covered)
    edge = find_edge(silhouette(flat), sample, BLUR)
    scale = 1.0 if card is None else card.scale
    laid = lay_outline(edge.ring * scale, said)
    mm_per_pixel = step * scale
    return Measured(
        "scan",
        laid,
        picture,
        lambda points: _pixels(laid, points, mm_per_pixel),
        SCANNER_SPREAD if card is None else CARD_SPREAD + card.apart / 2,
        RESIDUAL + edge.scatter,
        (_remark(card),),
    )


def _pixels(laid: LaidOutline, points: Floats, mm_per_pixel: float) -> Floats:
    pixels: Floats = laid.to_seen(points) / mm_per_pixel * np.array([1.0, -1.0])
    return pixels


def _resolution(picture: Picture, dpi: float | None) -> float:
    found = picture.dpi if dpi is None else dpi
    if found is None:
        raise InputError(
            "the scan does not say its resolution",
            mend="Give --dpi, as it was set on the scanner",
            field="dpi",
        )
    if not COARSEST <= found <= FINEST:
        raise InputError(
            f"a scan of {found:g} dots per inch shows no knife well",
            mend=f"Scan at 300 dots per inch, and give --dpi if the file says another; "
            f"{COARSEST:g} to {FINEST:g} are read",
            field="dpi",
        )
    return found


def _flat(picture: Picture, step: float) -> Flat:
    """Return the scan on pixels near ``STEP`` wide; its first pixel's middle is (0, 0)."""
    shrink = max(1, round(STEP / step))
    if shrink == 1:
        return Flat(picture.pixels, step, (0.0, 0.0))
    width, height = (size // shrink for size in picture.size)
    cut = picture.pixels[: height * shrink, : width * shrink]
    small = cv2.resize(cut, (width, height), interpolation=cv2.INTER_AREA)
    middle = (shrink - 1) / 2 * step
    return Flat(np.asarray(small, dtype=np.uint8), step * shrink, (middle, -middle))


def _check_card(card: Card, step: float) -> None:
    if abs(card.scale - 1) > WRONG_SCALE:
        raise InputError(
            f"the card on the glass measures {card.length:.1f} x {card.width:.1f} mm and is "
            f"{LONG} x {SHORT} mm, so the resolution of {MM_PER_INCH / step:.0f} dots per inch is "
            "wrong",
            mend=f"Give --dpi {MM_PER_INCH / step / card.scale:.0f}",
            field="dpi",
        )


def _remark(card: Card | None) -> Finding:
    if card is None:
        return Finding(
            "scan-unchecked",
            Severity.WARNING,
            "scan",
            "No card lies on the glass, so the scanner's own scale was taken.",
            f"Scan again with a bank card ({LONG} x {SHORT} mm) beside the knife, not touching it.",
            100 * SCANNER_SPREAD,
            100 * CARD_SPREAD,
            "%",
        )
    share = round(100 * (card.scale - 1), 3)
    so = f"so the scan is taken {abs(share):.2f} % {'larger' if share > 0 else 'smaller'}"
    return Finding(
        "scan-scale",
        Severity.NOTE,
        "scan",
        f"The card on the glass measures {card.length:.2f} x {card.width:.2f} mm at the stated "
        f"resolution, {so if abs(share) >= 0.005 else 'as it should'}.",
        "Nothing to mend.",
        share,
        None,
        "%",
    )
