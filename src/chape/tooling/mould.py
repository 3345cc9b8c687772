"""The forming mould: the blank's formed surface, scaled, with vents, back grooves and dowels.

Scaling is about the blank's origin, its front-left corner, so that the corner every frame is
counted from stays where it is; the far corner moves outwards by the shrinkage. The plate keeps
the blank's size.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.boards import flip_dowels
from chape.tooling.grooves import Table, groove_runs
from chape.tooling.model import Groove, Mould, RoundHole
from chape.tooling.vents import vent_points

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.tooling.model import BlankChoices, Layout, MouldChoices

#: A groove is cut deeper where its vents would otherwise be longer than this many diameters, which
#: is about what a long drill clears (common practice, no source) ...
VENT_REACH = 22.0

#: ... but no deeper than a narrow cutter reaches, in groove widths (common practice, no source).
GROOVE_DEEPEST = 3.5

#: Plate kept between a back groove and the plate's edge, so that the vacuum holds, mm.
TIGHT_EDGE = 2.5

#: Least plate left above the back grooves, mm (common practice, no source).
PLATE_LEFT = 8.0


def make_mould(layout: Layout, choices: MouldChoices) -> Mould:
    """Make the mould of a layout.

    Raises:
        CannotMakeError: the grooves leave too little plate, vents do not fit their grooves, the
            scaled sheaths outgrow the plate, or no place is left for the dowels.
    """
    left = choices.plate - choices.groove_depth
    if left < PLATE_LEFT:
        raise CannotMakeError(
            f"back grooves of {choices.groove_depth:g} mm leave {left:g} mm of a plate of "
            f"{choices.plate:g} mm; {PLATE_LEFT:g} mm are needed",
            mend="Use a thicker plate or shallower grooves (mould.plate, mould.groove_depth)",
        )
    sheet = layout.sheet
    shrink = choices.shrink if choices.shrink is not None else sheet.shrinkage.value
    surface = scaled_surface(layout, 1 + shrink)
    blank = layout.blank
    z_bottom = -choices.plate
    floor = z_bottom + choices.groove_depth
    diameter = float(sheet.largest_vent.value)
    # No vent for a mark: it is too shallow to hold air, and a vent in a letter would be read.
    plain = layout if layout.unmarked is None else replace(layout, formed=layout.unmarked)
    vented = surface if plain is layout else scaled_surface(plain, 1 + shrink)
    points = vent_points(vented, diameter, choices.vent_pitch_most)
    points = points[_off_edges(points, layout.blank, TIGHT_EDGE + diameter / 2)]
    margin = TIGHT_EDGE + choices.groove_width / 2
    table = Table(blank.width, blank.depth, choices.grid_pitch, margin)
    runs = groove_runs(points, choices.groove_width, diameter, table)
    tops = _highest_within(surface, points, diameter / 2)
    # Vents in high hollows would be too long for a drill: their grooves come to meet them.
    deepest = min(z_bottom + GROOVE_DEEPEST * choices.groove_width, -PLATE_LEFT)
    bottoms = np.full(len(points), floor)
    grooves = []
    for run in runs:
        members = list(run.vents)
        wanted = float(tops[members].max()) - VENT_REACH * diameter
        run_floor = max(floor, min(wanted, deepest))
        bottoms[members] = run_floor
        grooves.append(Groove(run.points, choices.groove_width, run_floor))
    vents = tuple(
        RoundHole(float(x), float(y), diameter, float(top), float(bottom), "vent")
        for (x, y), top, bottom in zip(points, tops, bottoms, strict=True)
    )
    return Mould(
        layout=layout,
        surface=surface,
        width=blank.width,
        depth=blank.depth,
        z_bottom=z_bottom,
        z_stock=float(surface.z.max()) + choices.allowance,
        vents=vents,
        grooves=tuple(grooves),
        dowels=flip_dowels(surface, blank.width, blank.depth, z_bottom, grooves),
        scale=1 + shrink,
        grid_pitch=choices.grid_pitch,
    )


def scaled_surface(layout: Layout, scale: float) -> HeightField:
    """Return the formed blank scaled about its origin, over a grid that just covers the plate.

    Raises:
        CannotMakeError: what is raised would reach past the plate's edge.
    """
    scaled = layout.formed.scaled(scale)
    width, depth = layout.blank.width, layout.blank.depth
    spacing = scaled.grid.spacing
    nx, ny = (ceil(size / spacing - 1e-9) + 1 for size in (width, depth))
    lost = max(
        float(scaled.z[:, scaled.grid.x > width].max(initial=0.0)),
        float(scaled.z[scaled.grid.y > depth].max(initial=0.0)),
    )
    if lost > 0:
        raise CannotMakeError(
            f"scaled by {scale:g} for shrinkage, the sheaths reach past the plate's edge",
            mend="Use a larger blank, or a wider clamp border",
        )
    z = np.zeros((ny, nx))
    rows, columns = min(ny, scaled.grid.ny), min(nx, scaled.grid.nx)
    z[:rows, :columns] = scaled.z[:rows, :columns]
    return HeightField(Grid(scaled.grid.x0, scaled.grid.y0, spacing, nx, ny), z)


def _off_edges(points: Floats, blank: BlankChoices, off: float) -> npt.NDArray[np.bool_]:
    """Say which points are at least ``off`` mm from the plate's edges: no vent may leak."""
    x, y = points[:, 0], points[:, 1]
    nearest = np.minimum(np.minimum(x, blank.width - x), np.minimum(y, blank.depth - y))
    inside: npt.NDArray[np.bool_] = nearest >= off
    return inside


def _highest_within(surface: HeightField, points: Floats, radius: float) -> Floats:
    """Return the highest ground at each point or on the circle around it, mm."""
    angles = np.arange(8) * np.pi / 4
    around = [points] + [points + radius * np.array([np.cos(a), np.sin(a)]) for a in angles]
    highest: Floats = np.max([surface.at(ring) for ring in around], axis=0)
    return highest
