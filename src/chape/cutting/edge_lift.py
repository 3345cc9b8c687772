"""How far the cutter lifts the edge of a formed part off its seat while it is trimmed.

The part is a thin shell of the formed surface, held still under the screw heads. Each place of the
edge is pushed up in turn by the cutter's lift; the seat pushes on nothing, since the sheet leaves
it. A lifted edge chatters and is left rough.

Left out: the sheet round the part, which still holds it until the cut closes; the weight; heat.
So the figure is that of the last of the cut, where the part is freest.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import Delaunay

from chape.catalog.read import catalog
from chape.cutting.choose import slot_cutter
from chape.cutting.force import HELIX
from chape.cutting.rates import rates_for
from chape.findings import Finding, Severity
from chape.solve.shell import HeldShell, ShellMesh

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.cutting.model import Setup
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.field.outline import Outline
    from chape.tooling.model import Fixture

    Integers = npt.NDArray[np.int64]

#: Length of an element, mm.
MESH = 4.0

#: Poisson's number of rigid PVC and its alloys: 0.38, from memory.
POISSON = 0.38

#: So many screws hold a part well enough (common practice, no source).
SCREWS_WANTED = 4


@dataclass(frozen=True, slots=True)
class Lift:
    """The place of an edge that gives way most: where it is, and by how much, mm."""

    x: float
    y: float
    most: float


def edge_lift(
    part: Outline,
    formed: HeightField,
    gauge: float,
    modulus: float,
    screws: Floats,
    force: float,
) -> Lift:
    """Return how far an upward force lifts a part's edge where it gives way most.

    Args:
        part: its outline.
        formed: the surface it was formed to, mm.
        gauge: thickness of the sheet, mm.
        modulus: of the sheet, N/mm².
        screws: (n, 3) x, y and head radius of what holds the part, mm.
        force: upwards on the edge, N.

    Returns:
        The lift; infinite where no screw holds the part.
    """
    shape = part.polygon()
    if len(screws) == 0:
        x, y = shape.exterior.coords[0]
        return Lift(float(x), float(y), np.inf)
    points, edge, triangles = _mesh(shape)
    z = formed.at(points)
    shell = ShellMesh(
        np.column_stack([points, z]), triangles, np.full(len(triangles), gauge), POISSON
    )
    held = HeldShell(shell, np.zeros(6 * len(points)), np.repeat(_under(points, screws), 6))
    load = np.zeros((6 * len(points), len(edge)))
    load[6 * edge + 2, np.arange(len(edge))] = force / modulus
    moved = held.displacement(load)[6 * edge + 2, np.arange(len(edge))]
    worst = int(np.argmax(np.round(moved, 9)))
    x, y = points[edge[worst]]
    return Lift(float(x), float(y), float(moved[worst]))


def check_edges(fixture: Fixture, trim: Setup) -> tuple[Finding, ...]:
    """Return how far an edge lifts where fewer than four screws hold a part.

    Args:
        fixture: with the parts and their screws.
        trim: the clamping the parts are cut in.
    """
    layout = fixture.layout
    sheet = layout.sheet
    radius = float(fixture.screw.head_diameter.value) / 2
    places = [(fixture.inserts[k].x, fixture.inserts[k].y, radius) for k in fixture.screws]
    heads = np.array(places).reshape(-1, 3)
    held = [
        heads[shapely.contains_xy(part.polygon(), heads[:, 0], heads[:, 1])]
        for part in layout.patterns
    ]
    number = min(range(len(held)), key=lambda n: len(held[n]), default=None)
    if number is None or len(held[number]) >= SCREWS_WANTED:
        return ()
    force = mean_pull(trim)
    lift = edge_lift(
        layout.patterns[number],
        layout.formed,
        float(sheet.gauge.value),
        float(sheet.flexural_modulus.value),
        held[number],
        force,
    )
    freely = not np.isfinite(lift.most)
    shown = "freely" if freely else f"by up to {lift.most:.1f} mm"
    return (
        Finding(
            "edge-lifts",
            Severity.NOTE,
            f"trim, part {number + 1} at x {lift.x:.1f}, y {lift.y:.1f}",
            f"Held by {len(held[number])} screws, the part's edge lifts {shown} under the "
            f"{force:.1f} N that the trim cutter pulls up with, once it is nearly free",
            "Screw each sheath down through more eyelets, the nearer to that place the better.",
            None if freely else lift.most,
        ),
    )


def mean_pull(trim: Setup) -> float:
    """Return how hard the trim cutter pulls the sheet up, N, over a whole turn.

    The mean force along the cut is power over surface speed; flutes that wind at an angle lift
    with its tangent.
    """
    material = trim.material or catalog().material("acrylic-PVC")
    gauge = trim.sheet_gauge
    cutter = slot_cutter(trim.cutters, np.inf, gauge, "the cut", sheet=True)
    rates = rates_for(cutter, material, trim.machine)
    removal = cutter.diameter * min(gauge, rates.depth) * rates.feed / 60
    speed = pi * cutter.diameter * rates.spindle / 60 / 1000
    return float(material.cutting_energy.value) * removal / speed * tan(HELIX)


def _mesh(shape: shapely.Polygon) -> tuple[Floats, Integers, Integers]:
    """Return points (n, 2), the numbers of those on the edge, and triangles (m, 3)."""
    ring = shape.exterior
    count = max(12, int(np.ceil(ring.length / MESH)))
    border = shapely.get_coordinates(
        shapely.line_interpolate_point(ring, np.arange(count) * ring.length / count)
    )
    x_min, y_min, x_max, y_max = shape.bounds
    rows = np.arange(y_min, y_max, MESH * np.sqrt(3) / 2)
    # Every other row is shifted by half a step, so that the triangles are nearly even.
    grid = [
        np.column_stack([x, np.full(len(x), y)])
        for n, y in enumerate(rows)
        for x in [np.arange(x_min + (n % 2) * MESH / 2, x_max, MESH)]
    ]
    points = np.vstack(grid)
    inner = shape.buffer(-0.6 * MESH)
    inside = points[shapely.contains_xy(inner, points[:, 0], points[:, 1])]
    points = np.vstack([border, inside])
    triangles = Delaunay(points).simplices
    middles = points[triangles].mean(axis=1)
    one, two = (points[triangles[:, k]] - points[triangles[:, 0]] for k in (1, 2))
    area = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    kept = shapely.contains_xy(shape, middles[:, 0], middles[:, 1]) & (area > 0.02 * MESH**2)
    return points, np.arange(count), triangles[kept].astype(np.int64)


def _under(points: Floats, screws: Floats) -> npt.NDArray[np.bool_]:
    """Return which points a screw's head holds: those under it, and at least the nearest three."""
    held = np.zeros(len(points), dtype=bool)
    for x, y, radius in screws:
        away = np.hypot(points[:, 0] - x, points[:, 1] - y)
        held |= away <= radius
        held[np.argsort(np.round(away, 6), kind="stable")[:3]] = True
    return held
