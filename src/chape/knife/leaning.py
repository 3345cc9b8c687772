"""A knife's mid-plane above the paper it lies on, and an outline seen at its height.

A knife lies on its handle and its tip: its mid-plane stands at half the handle's thickness over the
butt and comes down to the paper at the tip. A ray through a point of the outline is followed to
that plane; lengths are then measured along it. With a the height, H the camera's and p the place
on the paper where the ray would end, the point lies a/H of the way from p to the foot of the
camera.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.camera import Camera


@dataclass(frozen=True, slots=True, eq=False)
class Leaning:
    """A plane above the sheet.

    Attributes:
        tip: (2,) mm on the sheet, under the knife's tip.
        along: (2,) unit vector on the sheet, from tip to butt.
        tip_height: of the mid-plane at the tip, mm.
        rise: of the mid-plane per mm on the sheet.
    """

    tip: Floats
    along: Floats
    tip_height: float
    rise: float

    def height(self, points: Floats) -> Floats:
        """Return the plane's height over points (n, 2) of the sheet, (n,) mm."""
        height: Floats = self.tip_height + self.rise * ((points - self.tip) @ self.along)
        return height

    def seen(self, pixels: Floats, camera: Camera) -> Floats:
        """Return the points of the sheet, (n, 2) mm, over which rays of pixels meet the plane."""
        # The plane's height is linear along a ray, so that two heights tell where they meet.
        low, high = camera.to_plane(pixels, 0.0), camera.to_plane(pixels, 1.0)
        gap, rate = self.height(low), self.height(high) - self.height(low)
        reach = gap / (1 - rate)
        seen: Floats = low + reach[:, None] * (high - low)
        return seen

    def to_pixels(self, points: Floats, camera: Camera) -> Floats:
        """Return where the picture shows the plane over points (n, 2) of the sheet."""
        return camera.to_pixels(np.column_stack([points, self.height(points)]))

    def stretched(self, points: Floats) -> Floats:
        """Return points (n, 2) of the sheet as measured along the plane, from the tip, mm."""
        far = (points - self.tip) @ self.along
        longer: Floats = points + np.outer(far * (np.hypot(1, self.rise) - 1), self.along)
        return longer

    def shrunk(self, points: Floats) -> Floats:
        """Undo ``stretched``."""
        far = (points - self.tip) @ self.along
        shorter: Floats = points + np.outer(far * (1 / np.hypot(1, self.rise) - 1), self.along)
        return shorter


def leaning_between(tip: Floats, butt: Floats, tip_height: float, butt_height: float) -> Leaning:
    """Return the plane that stands at two heights over two points of the sheet, (2,) mm each."""
    far = float(np.hypot(*(butt - tip)))
    return Leaning(tip, (butt - tip) / far, tip_height, (butt_height - tip_height) / far)
