"""Regular grids of nodes in a plane."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor
from typing import Self

import numpy as np
import numpy.typing as npt

from chape.errors import CannotMakeError

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

#: A finer or wider grid than this many nodes would take more memory than a workshop's computer
#: has: a job holds some hundred numbers for each node of its blank.
MOST_NODES = 12_000_000


@dataclass(frozen=True, slots=True)
class Grid:
    """Nodes at ``(x0 + i * spacing, y0 + j * spacing)``, arrays indexed ``[j, i]``.

    Attributes:
        x0, y0: the first node, mm.
        spacing: distance of neighbouring nodes, mm, the same both ways.
        nx, ny: number of nodes along x and along y.

    Raises:
        CannotMakeError: more nodes than ``MOST_NODES``.
    """

    x0: float
    y0: float
    spacing: float
    nx: int
    ny: int

    def __post_init__(self) -> None:
        """Refuse a grid that no memory would hold, before any array is made of it."""
        if self.nx * self.ny > MOST_NODES:
            raise CannotMakeError(
                f"at a spacing of {self.spacing:g} mm an area of "
                f"{self.spacing * (self.nx - 1):.0f} x {self.spacing * (self.ny - 1):.0f} mm has "
                f"{self.nx * self.ny / 1e6:.0f} million grid nodes, and chape works with at most "
                f"{MOST_NODES / 1e6:.0f} million",
                mend="Write a wider sheath.spacing, or use a smaller blank",
            )

    @classmethod
    def over(cls, x_min: float, y_min: float, x_max: float, y_max: float, spacing: float) -> Self:
        """Return the smallest grid over a box whose nodes lie on multiples of ``spacing``."""
        i, j = floor(x_min / spacing + 1e-9), floor(y_min / spacing + 1e-9)
        nx = ceil(x_max / spacing - 1e-9) - i + 1
        ny = ceil(y_max / spacing - 1e-9) - j + 1
        return cls(i * spacing, j * spacing, spacing, nx, ny)

    @property
    def shape(self) -> tuple[int, int]:
        """Array shape (ny, nx)."""
        return self.ny, self.nx

    @property
    def x(self) -> Floats:
        """Node abscissae, (nx,)."""
        return self.x0 + self.spacing * np.arange(self.nx, dtype=np.float64)

    @property
    def y(self) -> Floats:
        """Node ordinates, (ny,)."""
        return self.y0 + self.spacing * np.arange(self.ny, dtype=np.float64)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(x_min, y_min, x_max, y_max) of the nodes."""
        return (
            self.x0,
            self.y0,
            self.x0 + self.spacing * (self.nx - 1),
            self.y0 + self.spacing * (self.ny - 1),
        )

    def mesh(self) -> tuple[Floats, Floats]:
        """Return x and y of every node, each (ny, nx)."""
        x, y = np.meshgrid(self.x, self.y)
        return x, y

    def scaled(self, factor: float) -> Grid:
        """Return the grid scaled about the origin."""
        return Grid(self.x0 * factor, self.y0 * factor, self.spacing * factor, self.nx, self.ny)
