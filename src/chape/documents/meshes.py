"""Watertight meshes of what a job is made on: mould, trim fixture and dummy knife."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.to_mesh import stl_bytes, threemf_bytes
from chape.field.drilled import open_above, with_holes
from chape.field.surface import closed_body, solid_below

if TYPE_CHECKING:
    from collections.abc import Iterable

    from chape.field.surface import Solid
    from chape.tooling.model import Dummy, Fixture, Mould, RoundHole

#: The meshes follow their height fields within this, measured along the normal, mm.
FAITHFUL = 0.01


def mesh_job(mould: Mould, fixture: Fixture, dummy: Dummy) -> dict[str, bytes]:
    """Return file name -> content of every mesh, each as STL and as 3MF, in mm."""
    bodies = {
        "mould": mould_solid(mould),
        "fixture": fixture_solid(fixture),
        "dummy": closed_body(dummy.half),
    }
    files = {}
    for name, body in bodies.items():
        files[f"meshes/{name}.stl"] = stl_bytes(body)
        files[f"meshes/{name}.3mf"] = threemf_bytes(body, name)
    return files


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
