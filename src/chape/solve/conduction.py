"""Heat through a stack of layers, one-dimensional.

Symbols: T temperature, k conductivity, ρ density, c specific heat, h conductance, q flux, t time.

Each layer is cut into cells (finite volumes). Between the middles of two cells heat meets half of
each cell and, between layers, the resistance of their contact; at both faces it meets a conductance
to the surroundings. That is a chain C dT/dt = s − K T of capacities C and conductances K, symmetric
once scaled by √C, so that its modes are known and the temperatures at any time follow without
time steps: only the cells' size is an approximation.

Not modelled: properties that change with temperature, heat along the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq

if TYPE_CHECKING:
    from collections.abc import Callable

    from chape.field.grid import Floats

#: Times looked at in the search for the first one that reaches a temperature.
SEARCHED = 160


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a stack.

    Attributes:
        thickness: mm.
        conductivity: W/(m K).
        density: kg/m³.
        specific_heat: J/(kg K).
        cells: how many it is cut into.
    """

    thickness: float
    conductivity: float
    density: float
    specific_heat: float
    cells: int = 20

    @property
    def cell_capacity(self) -> float:
        """Heat one cell takes up per kelvin, J/(m² K)."""
        return self.density * self.specific_heat * self.thickness / 1000 / self.cells

    @property
    def half_cell(self) -> float:
        """Conductance from a cell's middle to its side, W/(m² K)."""
        return 2 * self.conductivity * self.cells / (self.thickness / 1000)


@dataclass(frozen=True, slots=True)
class Face:
    """What a stack meets on one side.

    Attributes:
        temperature: of the surroundings, °C.
        conductance: to them, W/(m² K); 0 insulates.
        flux: heat absorbed besides, W/m².
    """

    temperature: float
    conductance: float
    flux: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Warming:
    """How a stack's temperatures run.

    Attributes:
        start: (n,) cells, °C.
        rates: (n,) of the modes, 1/s, none negative.
        modes: (n, n) a mode in each column, scaled by the root of the capacities.
        root: (n,) roots of the capacities.
        source: (n,) heat that does not depend on the temperatures, W/m².
        front, back: what is met on either side, with the conductance of the outer half cell.
    """

    start: Floats
    rates: Floats
    modes: Floats
    root: Floats
    source: Floats
    front: tuple[Face, float]
    back: tuple[Face, float]

    def cells(self, times: Floats) -> Floats:
        """Return (m, n) temperatures of the cells at times (m,) s."""
        along = self.modes.T @ (self.root * self.start)
        driven = self.modes.T @ (self.source / self.root)
        faded = np.exp(-np.outer(times, self.rates))
        # (1 - exp(-rate t)) / rate, which is t where a mode does not fade.
        slow = self.rates < 1e-14
        rates = np.where(slow, 1.0, self.rates)
        grown = -np.expm1(-np.outer(times, rates)) / rates
        grown = np.where(slow, times[:, None], grown)
        found: Floats = (faded * along + grown * driven) @ self.modes.T / self.root
        return found

    def front_face(self, times: Floats) -> Floats:
        """Return (m,) temperatures of the face before the first layer, °C."""
        return _face_temperature(*self.front, self.cells(times)[:, 0])

    def back_face(self, times: Floats) -> Floats:
        """Return (m,) temperatures of the face behind the last layer, °C."""
        return _face_temperature(*self.back, self.cells(times)[:, -1])


def warming(
    layers: tuple[Layer, ...],
    contacts: tuple[float, ...],
    front: Face,
    back: Face,
    start: float | Floats,
) -> Warming:
    """Return how a stack warms or cools from its start.

    Args:
        layers: from front to back.
        contacts: conductance between each layer and the next, W/(m² K).
        front: what it meets before the first layer.
        back: what it meets behind the last.
        start: temperature of all cells, or of each cell, °C.
    """
    capacity = np.concatenate([np.full(layer.cells, layer.cell_capacity) for layer in layers])
    between: list[float] = []
    for n, layer in enumerate(layers):
        between += [layer.half_cell / 2] * (layer.cells - 1)
        if n + 1 < len(layers):
            after = layers[n + 1].half_cell
            between.append(1 / (1 / layer.half_cell + 1 / contacts[n] + 1 / after))
    links = np.array(between)
    diagonal = np.zeros(len(capacity))
    diagonal[:-1] += links
    diagonal[1:] += links
    source = np.zeros(len(capacity))
    for cell, face, half in ((0, front, layers[0].half_cell), (-1, back, layers[-1].half_cell)):
        passing = half * face.conductance / (half + face.conductance)
        diagonal[cell] += passing
        source[cell] += passing * face.temperature
        source[cell] += face.flux * half / (half + face.conductance)
    root: Floats = np.sqrt(capacity)
    rates, modes = eigh_tridiagonal(diagonal / capacity, -links / (root[:-1] * root[1:]))
    return Warming(
        np.broadcast_to(np.asarray(start, dtype=float), capacity.shape),
        np.maximum(rates, 0.0),
        np.asarray(modes, dtype=float),
        root,
        source,
        (front, layers[0].half_cell),
        (back, layers[-1].half_cell),
    )


def first_time(reading: Callable[[Floats], Floats], target: float, longest: float) -> float | None:
    """Return the first time (s) at which a reading crosses a target; None before ``longest``.

    Args:
        reading: temperatures (m,) at times (m,).
        target: temperature, °C, reached from either side; 0 s where it starts on the far side
            cannot be told from a start at the target.
        longest: the search ends here, s.
    """
    # Early times lie closer together: a thin sheet answers within the first of them.
    times = longest * np.linspace(0.0, 1.0, SEARCHED) ** 2
    above = reading(times) - target
    if above[0] == 0:
        return 0.0
    for n, (before, after) in enumerate(pairwise(above)):
        if before * after <= 0:
            found = brentq(
                lambda t: float(reading(np.array([t]))[0]) - target, times[n], times[n + 1]
            )
            return float(found)
    return None


def _face_temperature(face: Face, half: float, cell: Floats) -> Floats:
    driven = face.conductance * face.temperature + face.flux
    found: Floats = (half * cell + driven) / (half + face.conductance)
    return found
