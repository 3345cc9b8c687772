"""How sharply light changes in a picture of paper, against what is only noise, shadow or JPEG.

A sharp edge is one where light changes faster in a tenth of a millimetre or two than over a whole
one. Brightness and warmth each have their say, at every place and along lines every way: an edge
too faint for any one place is seen by its length. A JPEG keeps colour half as finely as light, in
blocks of 16 pixels, so warmth is looked at on a coarser scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from chape.knife.light import light_of

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.knife.light import Light

    Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Look:
    """One way to look for edges.

    Attributes:
        sharp, soft: widths over which changes are compared, mm.
        line: how long an edge is followed, mm.
        ways: in how many directions.
        faintest: changes of light this small per mm are no edge, as a share.
        noises: nor are those within so many times the noise, at one place and along a line (whose
            largest of many is larger anyway).
        coarser: the picture is first shrunk so many times.
    """

    sharp: float
    soft: float
    line: float
    ways: int
    faintest: float
    noises: tuple[float, float]
    coarser: int = 1


NEAR = _Look(0.25, 1.0, 2.4, 8, 0.02, (5.0, 2.6))
COLOUR = _Look(0.8, 2.4, 6.0, 8, 0.02, (5.0, 2.6), coarser=2)
FAR = _Look(0.45, 1.5, 9.0, 18, 0.005, (6.0, 2.8), coarser=2)

#: Noise is what is usual on the paper, or this percentile's share of what is rare there: a JPEG
#: gathers noise in a few of its blocks.
RARE, RARE_TO_USUAL = 95.0, 2.0

#: The softest edge of a shadow that is taken for one changes sharply by this share of its soft
#: change: a bell of 1.5 mm seen through bells of 0.45 and 1.5 mm.
SHADOW = 1.4

#: Along a line no place counts for more than so many times the least that is an edge.
STRONG = 6.0

#: Bells reach so many of their standard deviations.
TAIL = 5.0

#: What differs from the paper's light by more than this factor, or lies so near to that, mm, says
#: nothing of its noise.
DARKER, BESIDE = 2.0, 2.0


def sharpness(pixels: npt.NDArray[np.uint8], step: float) -> Light:
    """Return how sharply light changes at every pixel, 1 where it is just an edge.

    Args:
        pixels: (h, w, 3) of a picture that is mostly paper.
        step: side of a pixel, mm.
    """
    # What is added keeps the noise of black from being taken for edges.
    level = np.log(light_of(pixels) + 0.03)
    brightness = level.mean(axis=-1)
    warmth = level[..., 0] - level[..., 2]
    paper = _mostly_paper(brightness, step)
    largest = _seen(brightness, paper, step, NEAR)
    for channel, look in ((warmth, COLOUR), (brightness, FAR)):
        np.maximum(largest, _seen(channel, paper, step, look), out=largest)
    return largest


def _mostly_paper(brightness: Light, step: float) -> Mask:
    """Return what is nearly as bright as the paper and away from all else."""
    usual = float(np.median(brightness))
    other = (np.abs(brightness - usual) > np.log(DARKER)).astype(np.uint8)
    size = 2 * round(BESIDE / step) + 1
    wide = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    return np.asarray(cv2.dilate(other, wide) == 0)


def _seen(channel: Light, paper: Mask, step: float, look: _Look) -> Light:
    """Return the sharpness that one look shows."""
    height, width = channel.shape
    if look.coarser > 1:
        small = (width // look.coarser, height // look.coarser)
        channel = np.asarray(cv2.resize(channel, small, interpolation=cv2.INTER_AREA))
        paper = cv2.resize(paper.astype(np.uint8), small, interpolation=cv2.INTER_NEAREST) > 0
        step *= look.coarser
    soft = _slope(channel, look.soft / step)
    sharp = _slope(channel, look.sharp / step)
    # Beside a strong edge only the soft change is large, and that is no edge.
    edge = (np.hypot(*sharp) > np.hypot(*soft)).astype(np.float32)
    more = (sharp[0] - soft[0], sharp[1] - soft[1])
    least = look.faintest * step
    place = _weighed(edge * np.hypot(*more), paper, look.noises[0], least)
    # A strong edge is seen by itself: lines that only touch its end do not count it in full.
    strength = np.maximum(np.hypot(*sharp) / (STRONG * least), 1.0).astype(np.float32)
    capped = (sharp[0] / strength, sharp[1] / strength)
    along = _along_lines(capped, soft, look.line / step, look.ways)
    lines = _weighed(edge * along, paper, look.noises[1], least)
    seen = np.maximum(place, lines)
    if look.coarser > 1:
        seen = np.asarray(cv2.resize(seen, (width, height), interpolation=cv2.INTER_LINEAR))
    return seen


def _weighed(change: Light, paper: Mask, noises: float, least: float) -> Light:
    """Return changes per pixel as multiples of the least that is an edge."""
    quiet = change[paper][::7]
    if quiet.size == 0:
        return np.asarray(change / least, dtype=np.float32)
    usual = float(np.median(quiet))
    rare = float(np.percentile(quiet, RARE)) / RARE_TO_USUAL
    return np.asarray(change / max(least, noises * max(usual, rare)), dtype=np.float32)


def _slope(level: Light, width: float) -> tuple[Light, Light]:
    """Return how light changes to the right and downwards per pixel, smoothed over a width."""
    # A bell cut off where it is not yet nothing has an edge of its own.
    wide = 2 * int(np.ceil(TAIL * width)) + 1
    smooth = cv2.GaussianBlur(level, (wide, wide), width)
    across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=1) / 2
    down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=1) / 2
    return np.asarray(across, dtype=np.float32), np.asarray(down, dtype=np.float32)


def _along_lines(
    sharp: tuple[Light, Light], soft: tuple[Light, Light], length: float, ways: int
) -> Light:
    """Return the largest sharp change across any line of a length, less what a shadow's would be.

    Both are means along the line.
    """
    half = max(1, round(length / 2))
    largest = np.zeros_like(sharp[0])
    for turn in np.arange(ways) * np.pi / ways:
        line = np.zeros((2 * half + 1, 2 * half + 1), dtype=np.float32)
        end = half * np.array([np.cos(turn), np.sin(turn)])
        first, last = np.rint(half - end).astype(int), np.rint(half + end).astype(int)
        cv2.line(line, first.tolist(), last.tolist(), 1.0)
        line /= line.sum()
        means = []
        for across, down in (sharp, soft):
            change = down * np.float32(np.cos(turn)) - across * np.float32(np.sin(turn))
            means.append(np.abs(cv2.filter2D(change, cv2.CV_32F, line)))
        np.maximum(largest, means[0] - SHADOW * means[1], out=largest)
    return largest
