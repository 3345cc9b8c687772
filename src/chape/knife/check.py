"""Checks whether a knife is plausible: measurements that look like slips of the pen.

All limits are common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.field.distance import distance_to_line
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.model import Knife

#: A blade thinner than this, mm, was probably measured per side.
THINNEST_BLADE = 0.8

#: A handle outside this, full thickness in mm, is unusual.
HANDLE_THICKNESS = (8.0, 40.0)

#: Angle of the edge per side, degrees.
EDGE_ANGLE = (10.0, 30.0)

#: Blade or handle, thickness that changes by more than this per mm of length jumps.
STEEPEST = 3.0

#: The edge's angle is read no nearer to its end than this, mm, where the guard begins.
END_LEFT_OUT = 3.0

#: A slope cannot be read from points nearer to the edge than this, mm, ...
NEAREST = 1e-3
#: ... nor nearer than twice the measurements' error, of which no more than this is left out: a
#: bevel is hardly three times as wide.
NEAREST_MEASURED = 0.25

#: Measured less well than this, mm, a knife cannot be held by a clearance of tenths.
WORST_UNCERTAINTY = 0.5


def check_knife(knife: Knife) -> tuple[Finding, ...]:
    """Return what looks wrong about a knife; only what is a guess yet stops a release."""
    x = knife.half.grid.x
    full = 2 * knife.half.z.max(axis=0)
    # Guard and handle may begin a little before the blade's end, and round up behind it.
    blade = (x > 0) & (x < knife.edge_band.bounds[2] - END_LEFT_OUT)
    handle = (x > knife.blade_length) & (x < knife.length)
    found = [
        _thin_blade(full[blade]),
        _thin_handle(full[blade], full[handle]),
        _odd_handle(full[handle]),
        _edge_angle(knife),
        *(
            _jump(x[part], full[part], name)
            for part, name in (((x > 3) & blade, "blade"), (_between(x, knife), "handle"))
        ),
        _uncertain(knife),
    ]
    return (*knife.remarks, *(finding for finding in found if finding is not None))


def _between(x: Floats, knife: Knife) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    inside: np.ndarray[tuple[int], np.dtype[np.bool_]] = (x > knife.blade_length + 12) & (
        x < knife.length - 12
    )
    return inside


def _thin_blade(blade: Floats) -> Finding | None:
    thickest = float(blade.max(initial=0.0))
    if thickest >= THINNEST_BLADE:
        return None
    return Finding(
        "blade-thin",
        Severity.WARNING,
        "blade",
        f"The blade is nowhere thicker than {thickest:.2f} mm.",
        "Write the full thickness at the spine, not the half.",
        thickest,
        THINNEST_BLADE,
    )


def _thin_handle(blade: Floats, handle: Floats) -> Finding | None:
    thickest, spine = float(handle.max(initial=0.0)), float(blade.max(initial=0.0))
    if thickest > spine:
        return None
    return Finding(
        "handle-thinner-than-blade",
        Severity.WARNING,
        "handle",
        f"The handle is {thickest:.2f} mm thick and the blade {spine:.2f} mm, so nothing would "
        "hold the knife.",
        "Check the handle's thickness table.",
        thickest,
        spine,
    )


def _odd_handle(handle: Floats) -> Finding | None:
    thickest = float(handle.max(initial=0.0))
    least, most = HANDLE_THICKNESS
    if least <= thickest <= most:
        return None
    return Finding(
        "handle-thickness-unusual",
        Severity.WARNING,
        "handle",
        f"The handle is at most {thickest:.1f} mm thick; handles are {least:g} to {most:g} mm.",
        "Check that its table holds full thickness in the file's own unit.",
        thickest,
        least if thickest < least else most,
    )


def _edge_angle(knife: Knife) -> Finding | None:
    angle = steepest_bevel(knife)
    least, most = EDGE_ANGLE
    if angle is None or least - 0.1 <= angle <= most + 0.1:
        return None
    return Finding(
        "edge-angle-unusual",
        Severity.WARNING,
        "edge",
        f"The edge rises at {angle:.1f} degrees per side; edges have {least:g} to {most:g}.",
        "Give the angle of one side, not of both together.",
        angle,
        least if angle < least else most,
        "degrees",
    )


def steepest_bevel(knife: Knife) -> float | None:
    """Return the angle of the edge per side, degrees, as the field shows it.

    A point of the bevel at distance d from the edge is d·tan(angle) thick per side, and every
    other point of the band is thinner for its distance. The tip is left out, where the spine is
    as near as the edge. None where no node of the grid lies on the band.
    """
    x_min, _, x_max, _ = knife.edge_band.bounds
    x, y = knife.half.grid.mesh()
    within = (x > x_min + 0.15 * (x_max - x_min)) & (x < x_max - END_LEFT_OUT)
    shapely.prepare(knife.edge_band)
    within &= shapely.intersects_xy(knife.edge_band, x, y)
    points = np.column_stack([x[within], y[within]])
    distance = distance_to_line(points, shapely.get_coordinates(knife.outline.exterior))
    clear = distance > max(NEAREST, min(2 * knife.uncertainty, NEAREST_MEASURED))
    if not clear.any():
        return None
    slope = float((knife.half.z[within][clear] / distance[clear]).max())
    return float(np.degrees(np.arctan(slope)))


def _jump(x: Floats, full: Floats, part: str) -> Finding | None:
    if len(x) < 2:
        return None
    slope = np.abs(np.diff(full) / np.diff(x))
    worst = int(np.argmax(slope))
    if slope[worst] <= STEEPEST:
        return None
    return Finding(
        "thickness-jump",
        Severity.WARNING,
        f"{part}, x = {x[worst]:.0f} mm",
        f"The thickness changes by {slope[worst]:.1f} mm per mm of length.",
        "Measure there again; a step belongs in the guard's block.",
        float(slope[worst]),
        STEEPEST,
        "mm/mm",
    )


def _uncertain(knife: Knife) -> Finding | None:
    if knife.uncertainty <= WORST_UNCERTAINTY:
        return None
    return Finding(
        "measurement-uncertain",
        Severity.WARNING,
        "knife",
        f"The measurements may be off by {knife.uncertainty:.2f} mm.",
        "Measure the knife with a caliper; every clearance grows by the uncertainty.",
        knife.uncertainty,
        WORST_UNCERTAINTY,
    )
