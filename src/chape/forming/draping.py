"""The sheet drawn down over its mould: how thin it gets, where it webs, where it bridges.

The hot sheet is held by its frame above the mould, the frame comes down onto the plate, and the
air presses the sheet on. It is a membrane that sticks where it touches (``solve.membrane``); the
mould's own height field is what it touches. The result is the share of its gauge the sheet keeps
at every place of the blank.

The finest sheet of nodes that was tried still finds thinner single places than a coarser one, so
the raw minimum is shown beside the figure to trust: what 99 % of the formed sheet exceeds.

Not modelled: sag before the frame comes down, uneven heat, cooling on the way, a plug or a helping
hand. The hot modulus decides how far the sheet reaches into corners; no figure of it is published
for acrylic-PVC, so measure one formed part and adjust ``hot_shear_modulus``.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage
from scipy.interpolate import LinearNDInterpolator

from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.forming.model import Drape, Place
from chape.solve.membrane import Drawn, Membrane, press, stretches

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.solve.membrane import Flags, Indices

#: Distance of the sheet's nodes, mm: for the figures, and for the preview.
FINE, COARSE = 2.0, 4.0

#: Steps of the frame's way down and of the pressure, and what each is given to settle.
LOWERINGS, LOWERING_STEPS = 20, 55
PRESSURES, PRESSURE_STEPS = 30, 60

#: Below this product λ1 λ2² the sheet is pushed together across its pull: it will fold (a web).
WEB = 0.97

#: A sheet farther than this above the mould has not come down, mm: less cannot be told from the
#: chord between two nodes on a wall.
BRIDGE = 0.2

#: The frame starts this far above the highest place, mm.
ABOVE = 0.3


def drape(
    mould: HeightField, hot_pressure: float, border: float, spacing: float = FINE, slowness: int = 1
) -> Drape:
    """Return the sheet drawn down over a mould.

    Args:
        mould: its surface over the blank, the flange plane at z = 0.
        hot_pressure: difference of pressure over (hot shear modulus times gauge), 1/mm.
        border: what the frame holds all round, mm.
        spacing: of the sheet's nodes, mm.
        slowness: how many times as many steps are taken; to see that enough were.

    Raises:
        CannotMakeError: the frame leaves no sheet free.
    """
    sheet, fixed = blank_sheet(mould.grid, border, spacing)
    # Fewer nodes hand on a pull in fewer steps.
    pace = slowness * min(1.0, FINE / spacing)
    lowering, pressing = round(pace * LOWERING_STEPS), round(pace * PRESSURE_STEPS)
    top = max(float(mould.z.max()), 0.0) + ABOVE
    drawn = Drawn.at_rest(sheet, fixed, top)
    for height in np.linspace(top, 0.0, LOWERINGS + 1)[1:]:
        drawn.nodes[fixed, 2] = height
        press(sheet, drawn, mould, (0.0, 0.0), lowering)
    trapped = _air_under(sheet, drawn.nodes, mould)
    # Corners are reached last, and by the last of the pressure: it rises as a square.
    rises = hot_pressure * np.linspace(0.0, 1.0, PRESSURES + 1) ** 2
    for rise in pairwise(rises.tolist()):
        press(sheet, drawn, mould, rise, pressing)
    return _seen(sheet, drawn.nodes, fixed, mould, (spacing, trapped))


def blank_sheet(over: Grid, border: float, spacing: float) -> tuple[Membrane, Flags]:
    """Return a flat sheet over a grid's area, and which of its nodes (n,) the frame holds."""
    x_min, y_min, x_max, y_max = over.bounds
    nx = max(2, round((x_max - x_min) / spacing)) + 1
    ny = max(2, round((y_max - y_min) / spacing)) + 1
    x, y = np.meshgrid(np.linspace(x_min, x_max, nx), np.linspace(y_min, y_max, ny))
    rest = np.column_stack([x.ravel(), y.ravel(), np.zeros(x.size)])
    inside = (np.minimum(x - x_min, x_max - x) > border) & (
        np.minimum(y - y_min, y_max - y) > border
    )
    if not inside[1:-1, 1:-1].any():
        raise CannotMakeError(
            f"a frame of {border:g} mm all round leaves no sheet free",
            mend="Write a smaller blank.clamp_border, or use a larger blank",
        )
    inside[[0, -1]] = inside[:, [0, -1]] = False
    return Membrane.of(rest, _crossed(nx, ny)), ~inside.ravel()


def _crossed(nx: int, ny: int) -> Indices:
    """Return the triangles (m, 3) of a grid, the diagonals alternating so that none leads."""
    j, i = np.mgrid[0 : ny - 1, 0 : nx - 1]
    a = (j * nx + i).ravel()
    b, c, d = a + 1, a + nx + 1, a + nx
    even = ((i + j) % 2 == 0).ravel()[:, None]
    first = np.where(even, np.column_stack([a, b, c]), np.column_stack([a, b, d]))
    second = np.where(even, np.column_stack([a, c, d]), np.column_stack([b, c, d]))
    return np.concatenate([first, second]).astype(np.int32)


def _air_under(sheet: Membrane, nodes: Floats, mould: HeightField) -> float:
    """Return the volume between a sheet and its mould, litres."""
    gaps = np.maximum(nodes[:, 2] - mould.at(nodes[:, :2]), 0.0)
    a, b, c = (nodes[sheet.triangles[:, n], :2] for n in range(3))
    plan = np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]) / 2
    return float((plan * gaps[sheet.triangles].mean(axis=1)).sum()) * 1e-6


def _seen(
    sheet: Membrane,
    nodes: Floats,
    fixed: Flags,
    mould: HeightField,
    known: tuple[float, float],
) -> Drape:
    """Return what the sheet looks like once it is down; known are node spacing and trapped air."""
    spacing, trapped = known
    larger, smaller = stretches(sheet, nodes)
    kept = 1 / (larger * smaller)
    corners = sheet.triangles
    free = ~fixed[corners].all(axis=1)
    area = sheet.area / kept
    weight = np.bincount(corners.ravel(), np.repeat(area, 3), len(nodes))
    node_kept = np.bincount(corners.ravel(), np.repeat(area * kept, 3), len(nodes)) / weight
    grid = Grid.over(*mould.grid.bounds, spacing / 2)
    middles = nodes[corners].mean(axis=1)
    pushed = larger * smaller**2
    gaps = nodes[:, 2] - mould.at(nodes[:, :2])
    spread = LinearNDInterpolator(nodes[:, :2], np.column_stack([node_kept, gaps]))
    plans = spread(*grid.mesh())
    rest_area = weight / 3
    order = np.argsort(kept[free])
    share = np.cumsum(area[free][order]) / area[free].sum()
    return Drape(
        kept=HeightField(grid, np.nan_to_num(plans[..., 0], nan=1.0)),
        gap=HeightField(grid, np.nan_to_num(plans[..., 1], nan=0.0)),
        thinnest=float(kept[free][order][np.searchsorted(share, 0.01)]),
        least=float(kept[free].min()),
        draw_ratio=float(area[free].sum() / sheet.area[free].sum()),
        webs=_places(
            middles[free], area[free], pushed[free], pushed[free] < WEB, spacing, least=True
        ),
        bridges=_places(nodes, rest_area, gaps, gaps > BRIDGE, spacing, least=False),
        trapped=trapped,
        spacing=spacing,
        volume_error=float(abs((area * kept).sum() / sheet.area.sum() - 1)),
    )


def _places(
    points: Floats,
    area: Floats,
    value: Floats,
    wrong: Flags,
    spacing: float,
    *,
    least: bool,
) -> tuple[Place, ...]:
    """Return connected places of points that are wrong, the largest first."""
    if not wrong.any():
        return ()
    at = points[wrong, :2]
    cells = np.floor((at - at.min(axis=0)) / (1.5 * spacing)).astype(int)
    picture = np.zeros(cells.max(axis=0) + 1, dtype=bool)
    picture[tuple(cells.T)] = True
    labels, count = ndimage.label(picture, structure=np.ones((3, 3)))
    of = labels[tuple(cells.T)]
    places = []
    for label in range(1, count + 1):
        mine = of == label
        x, y = np.average(at[mine], axis=0, weights=area[wrong][mine])
        values = value[wrong][mine]
        worst = values.min() if least else values.max()
        places.append(Place(float(x), float(y), float(area[wrong][mine].sum()), float(worst)))
    return tuple(sorted(places, key=lambda place: -place.area))
