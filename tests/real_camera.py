"""A camera for drawn photographs: pose, lens distortion, a middle that is not the picture's."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class RealCamera:
    """Lens and pose: ``focal`` in pixels, ``stands`` and ``looks`` in mm of the sheet's frame."""

    size: tuple[int, int]
    focal: float
    stands: tuple[float, float, float]
    looks: tuple[float, float]
    roll: float = 0.0
    off_middle: tuple[float, float] = (0.0, 0.0)
    k1: float = 0.0
    k2: float = 0.0

    def axes(self):
        """Right, down and forward of the camera as rows."""
        forward = np.array([*self.looks, 0.0]) - np.array(self.stands)
        forward /= np.linalg.norm(forward)
        right = np.cross(forward, [0.0, 1.0, 0.0])
        right /= np.linalg.norm(right)
        down = np.cross(forward, right)
        c, s = np.cos(self.roll), np.sin(self.roll)
        return np.array([c * right + s * down, -s * right + c * down, forward])

    def rays(self, u, v):
        """Directions (..., 3) in the sheet's frame of pixels, pixel middles at whole numbers."""
        x = (u - (self.size[0] - 1) / 2 - self.off_middle[0]) / self.focal
        y = (v - (self.size[1] - 1) / 2 - self.off_middle[1]) / self.focal
        a, b = x.copy(), y.copy()
        for _ in range(30):
            r2 = a * a + b * b
            bend = 1 + self.k1 * r2 + self.k2 * r2 * r2
            a, b = x / bend, y / bend
        return np.stack([a, b, np.ones_like(a)], axis=-1) @ self.axes()

    def sees(self, points):
        """Pixels (n, 2) of points (n, 3)."""
        q = (points - np.array(self.stands)) @ self.axes().T
        a, b = q[:, 0] / q[:, 2], q[:, 1] / q[:, 2]
        r2 = a * a + b * b
        bend = self.focal * (1 + self.k1 * r2 + self.k2 * r2 * r2)
        u = (self.size[0] - 1) / 2 + self.off_middle[0] + bend * a
        v = (self.size[1] - 1) / 2 + self.off_middle[1] + bend * b
        return np.column_stack([u, v])
