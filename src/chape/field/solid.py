"""Closed bodies made of triangles."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from chape.field.grid import Floats

Indices = npt.NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class Solid:
    """A closed body.

    Attributes:
        vertices: (n, 3) float64, mm.
        triangles: (m, 3) int32 vertex numbers, counter-clockwise seen from outside. Every edge is
            shared by exactly two triangles.
    """

    vertices: Floats
    triangles: Indices

    @property
    def volume(self) -> float:
        """Enclosed volume, mm^3."""
        # About the middle of the body, so that far-off bodies lose no digits.
        middle = self.vertices.mean(axis=0)
        a, b, c = (self.vertices[self.triangles[:, k]] - middle for k in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6

    @property
    def bounds(self) -> tuple[Floats, Floats]:
        """Least and greatest corner of the box around it, each (3,)."""
        return self.vertices.min(axis=0), self.vertices.max(axis=0)

    def moved(self, x: float, y: float, z: float) -> Solid:
        """Return the body moved."""
        return Solid(self.vertices + np.array([x, y, z]), self.triangles)
