"""Watertight meshes of what a job is made on and tried with: mould, fixture, dummy and gauges."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.to_mesh import stl_bytes, threemf_bytes
from chape.field.drilled import open_above, with_holes
from chape.field.extruded import plate
from chape.field.surface import closed_body, solid_below
from chape.tooling import drill_guide, fold_gauge

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from chape.field.surface import Solid
    from chape.tooling.gauges import Gauges
    from chape.tooling.model import Dummy, Fixture, Mould, RoundHole
    from chape.tooling.mouth_gauge import MouthGauge

#: The meshes follow their height fields within this, measured along the normal, mm.
FAITHFUL = 0.01


def mesh_job(mould: Mould, fixture: Fixture, dummy: Dummy, gauges: Gauges) -> dict[str, bytes]:
    """Return file name -> content of every mesh, each as STL and as 3MF, in mm."""
    bodies = {
        "mould": mould_solid(mould),
        "fixture": fixture_solid(fixture),
        **tried_with(dummy, gauges),
    }
    return mesh_files(bodies)


def tried_with(dummy: Dummy, gauges: Gauges) -> dict[str, Solid]:
    """Return the solids that a made sheath is tried with, by name."""
    bodies = {"dummy": closed_body(dummy.half)}
    if gauges.mouth is not None:
        bodies["mouth-gauge"] = mouth_solid(gauges.mouth)
    if gauges.fold is not None:
        bodies["fold-gauge"] = plate(gauges.fold.shape, 0.0, fold_gauge.THICKNESS)
    for guide in gauges.guides:
        bodies[f"drill-guide-{guide.name}"] = plate(guide.shape, 0.0, drill_guide.THICKNESS)
    return bodies


def mesh_files(bodies: Mapping[str, Solid]) -> dict[str, bytes]:
    """Return file name -> content of solids, each as STL and as 3MF, in mm."""
    files = {}
    for name, body in bodies.items():
        files[f"meshes/{name}.stl"] = stl_bytes(body)
        files[f"meshes/{name}.3mf"] = threemf_bytes(body, name)
    return files


def mouth_solid(gauge: MouthGauge) -> Solid:
    """Return the mouth's gauge with the holes that tell its ends apart."""
    body = closed_body(gauge.half)
    low, high = (float(corner[2]) for corner in body.bounds)
    return with_holes(body, [(x, y, diameter, high, low) for x, y, diameter in gauge.holes])


def mould_solid(mould: Mould) -> Solid:
    """Return the mould with its vents, dowel holes and back grooves."""
    block = solid_below(mould.surface, mould.z_bottom, FAITHFUL)
    holes = open_above(mould.surface, _cuts((*mould.vents, *mould.dowels)))
    grooves = [(groove.points, groove.width, groove.z_floor) for groove in mould.grooves]
    return with_holes(block, holes, grooves)


def fixture_solid(fixture: Fixture) -> Solid:
    """Return the trim fixture with its holes for inserts and pins, and its reliefs."""
    block = solid_below(fixture.surface, fixture.z_bottom, FAITHFUL)
    holes = (*fixture.inserts, *fixture.pins, *fixture.reliefs)
    return with_holes(block, open_above(fixture.surface, _cuts(holes)))


def _cuts(holes: Iterable[RoundHole]) -> list[tuple[float, float, float, float, float]]:
    return [(hole.x, hole.y, hole.diameter, hole.z_top, hole.z_bottom) for hole in holes]
