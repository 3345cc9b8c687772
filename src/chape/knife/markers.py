"""The markers of a reference sheet in a picture, and how sharp their edges are.

The corners that the marker library finds are only a start: blur rounds a corner off. Each side of
the square is therefore found where light is half way between black and white, at many places away
from its ends, and the corners are where the four lines meet. Light is read along straight lines, so
a side bent by the lens is taken as its chord; over a marker that is a few hundredths of a pixel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from chape.knife.light import light_at
from chape.knife.reference_sheet import PER_SHEET

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.light import Light
    from chape.knife.picture import Picture

    Bools = npt.NDArray[np.bool_]

#: Where along a side its edge is looked for, as shares of its length.
ALONG = np.linspace(0.15, 0.85, 25)

#: How far to either side it is looked for: most of a cell, as a share of the marker's side.
REACH, STEPS = 0.13, 41


@dataclass(frozen=True, slots=True, eq=False)
class Markers:
    """What was found.

    Attributes:
        corners: marker number -> (4, 2) pixels: upper left, upper right, lower right, lower left
            as printed; the first pixel's middle is (0, 0).
        blur: width of an edge's blur, as the standard deviation of a bell, pixels; the widest
            direction of the picture counts. 0 without markers.
        paper: light of the white round the markers, 0 to 1; 0 without markers.
    """

    corners: dict[int, Floats]
    blur: float
    paper: float

    @property
    def sheets(self) -> tuple[int, ...]:
        """The sheets whose markers are seen, those with the most first."""
        counts: dict[int, int] = {}
        for number in self.corners:
            counts[number // PER_SHEET] = counts.get(number // PER_SHEET, 0) + 1
        return tuple(sorted(counts, key=lambda index: (-counts[index], index)))


def find_markers(picture: Picture) -> Markers:
    """Return the markers of reference sheets in a picture."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    detector = cv2.aruco.ArucoDetector(dictionary, cv2.aruco.DetectorParameters())
    grey = cv2.cvtColor(picture.pixels, cv2.COLOR_RGB2GRAY)
    rough, numbers, _ = detector.detectMarkers(grey)
    squares = np.asarray(rough, dtype=float).reshape(-1, 4, 2)
    if len(squares) == 0:
        return Markers({}, 0.0, 0.0)
    corners, trusted, blur, paper = _refined(np.asarray(grey, dtype=np.uint8), squares)
    names = np.ravel(np.asarray(numbers))[trusted]
    found = {int(name): corner for name, corner in zip(names, corners[trusted], strict=True)}
    return Markers(found, blur, paper)


def _refined(grey: npt.NDArray[np.uint8], squares: Floats) -> tuple[Floats, Bools, float, float]:
    """Return where each marker's sides meet, which to trust, the blur, and the white's light."""
    corners = squares
    for _ in range(2):
        places, away = _places(corners)
        light = light_at(grey, places)
        share, shift, good, white = _edges(light, away)
        corners, trusted = _meeting(corners, shift, good)
    blur = _blur(share, good, away)
    ways = [float(np.median(blur[at])) for at in _ways(squares, np.isfinite(blur)) if at.any()]
    return corners, trusted, max(ways, default=0.0), float(np.median(white))


def _places(squares: Floats) -> tuple[Floats, Floats]:
    """Return places across every side, (n, 4, along, steps, 2), and how far out each is, pixels."""
    start, end = squares, np.roll(squares, -1, axis=1)
    side = end - start
    length = np.hypot(side[..., 0], side[..., 1])
    # Corners run clockwise on the picture, whose y points down: outwards is to the left of a side.
    out = np.stack([side[..., 1], -side[..., 0]], axis=-1) / length[..., None]
    reach = np.linspace(-REACH, REACH, STEPS) * length[..., None]
    on = start[:, :, None] + ALONG[:, None] * side[:, :, None]
    places = on[:, :, :, None] + reach[:, :, None, :, None] * out[:, :, None, None]
    return places, reach


def _edges(light: Light, away: Floats) -> tuple[Floats, Floats, Bools, Floats]:
    """Return profiles from 0 black to 1 white, their edges, which are clear, and their white.

    The edge stands where a step of the same light would, whatever the blur: what the profile sums
    to says how much of it is white. Shapes (n, 4, along, steps) and (n, 4, along), pixels outwards.
    """
    black = light[..., :6].mean(axis=-1, keepdims=True)
    white = light[..., -6:].mean(axis=-1, keepdims=True)
    share = (light - black) / np.maximum(white - black, 1e-6)
    step = (away[..., 1] - away[..., 0])[:, :, None]
    place = away[:, :, -1:] - step * (share.sum(axis=-1) - 0.5)
    good = (white - black)[..., 0] > 0.1 * np.max(white)
    good &= np.abs(place) < 0.7 * away[:, :, -1:]
    return share, place, good, white


def _blur(share: Floats, good: Bools, away: Floats) -> Floats:
    """Return (n, 4) widths of the edges' blur, pixels: half of what lies between 16 % and 84 %."""
    weight = good[..., None] / np.maximum(good.sum(axis=-1), 1)[..., None, None]
    profile = (share * weight).sum(axis=2)
    found = np.full(profile.shape[:2], np.nan)
    for marker, side in np.argwhere(good.any(axis=-1)):
        rising = np.maximum.accumulate(profile[marker, side])
        low, high = np.interp([0.16, 0.84], rising, away[marker, side])
        found[marker, side] = (high - low) / 2
    return found


def _meeting(squares: Floats, shift: Floats, good: Bools) -> tuple[Floats, Bools]:
    """Return the corners where lines through the edges' places meet, and which squares have all."""
    start, end = squares, np.roll(squares, -1, axis=1)
    side = end - start
    length = np.hypot(side[..., 0], side[..., 1])
    out = np.stack([side[..., 1], -side[..., 0]], axis=-1) / length[..., None]
    weight = good.astype(float)
    for _ in range(3):
        offset, slope = _line(shift, weight)
        apart = np.abs(shift - offset[..., None] - slope[..., None] * ALONG)
        usual = np.median(apart, axis=-1, keepdims=True)
        weight = good * (apart < np.maximum(3 * usual, 0.05))
    first = start + offset[..., None] * out
    way = side + slope[..., None] * out
    before, before_way = np.roll(first, 1, axis=1), np.roll(way, 1, axis=1)
    cross = before_way[..., 0] * way[..., 1] - before_way[..., 1] * way[..., 0]
    gap = first - before
    along = (gap[..., 0] * way[..., 1] - gap[..., 1] * way[..., 0]) / cross
    corners = before + along[..., None] * before_way
    whole = (weight.sum(axis=-1) > 0.6 * len(ALONG)).all(axis=1)
    whole &= np.isfinite(corners).all(axis=(1, 2))
    return np.where(whole[:, None, None], corners, squares), whole


def _line(shift: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Fit ``offset + slope * ALONG`` to shifts, weighted."""
    total = np.maximum(weight.sum(axis=-1), 1e-9)
    middle = (weight * ALONG).sum(axis=-1) / total
    level = (weight * shift).sum(axis=-1) / total
    from_middle = ALONG - middle[..., None]
    spread = np.maximum((weight * from_middle**2).sum(axis=-1), 1e-9)
    slope = (weight * from_middle * shift).sum(axis=-1) / spread
    return level - slope * middle, slope


def _ways(squares: Floats, good: Bools) -> list[Bools]:
    """Split the sides by the way they run on the picture, so that a blur by motion is seen."""
    side = np.roll(squares, -1, axis=1) - squares
    turn = np.degrees(np.arctan2(side[..., 1], side[..., 0])) % 180
    sector = np.floor(((turn + 22.5) % 180) / 45)
    return [(sector == each) & good for each in range(4)]
