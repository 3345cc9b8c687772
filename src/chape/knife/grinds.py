"""Blade sections: how thick a blade is between its edge and its spine.

Symbols, all mm, thickness per side: d distance from the edge, w from edge to spine (or ridge)
through the same point, b thickness behind the edge, t thickness at the spine, a the bevel's angle
per side.

The bevel rises from 0 at the edge with slope tan a. Its face is (b/2)/sin a wide; seen from the
side of the knife it covers (b/2)/tan a. The grind runs from there, half thickness b/2, to the
spine or to the grind height, half thickness t/2. A hollow grind is the arc of the wheel through
those two points, sunk below their chord; a convex grind is the mirror image of such an arc in the
chord. Near the tip, where the blade is lower than its grind is high, the grind ends at the spine,
so that the spine is everywhere as thick as it was measured.

Where a hollow's arc would sink below the thickness behind the edge, as near a thin tip, the blade
is held at that thickness.

Not modelled: the run-out of the grind in front of the guard, and blades that are not
symmetrical.
"""

from __future__ import annotations

from math import radians, sin, tan
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError
from chape.knife.file import Grind

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.file import BladeTable


def bevel_face(behind_edge: float, bevel_angle: float) -> float:
    """Return the width of the edge's bevel measured along its face, mm: (b/2)/sin a.

    >>> round(bevel_face(0.5, 20), 4)
    0.731
    """
    return behind_edge / 2 / sin(radians(bevel_angle))


def bevel_reach(behind_edge: float, bevel_angle: float) -> float:
    """Return how far the bevel reaches from the edge in the side view, mm: (b/2)/tan a."""
    return behind_edge / 2 / tan(radians(bevel_angle))


def grind_radius(blade: BladeTable, widest: float) -> float:
    """Return the radius of the grind's arc: negative when hollow, inf when flat.

    Args:
        blade: in mm.
        widest: greatest distance from edge to spine, mm.

    Raises:
        InputError: a wheel too small to reach over the grind, or a bulge more than half a circle.
    """
    reach = bevel_reach(blade.behind_edge, blade.bevel_angle)
    if blade.grind is Grind.HOLLOW and blade.wheel_radius is not None:
        width = min(blade.grind_height or widest, widest) - reach
        if blade.wheel_radius <= width:
            raise InputError(
                f"a wheel of radius {blade.wheel_radius:g} mm cannot grind {width:.1f} mm high",
                mend="Measure the wheel's radius again, or the grind's height",
                field="blade.wheel_radius",
            )
        return -blade.wheel_radius
    if blade.grind is Grind.CONVEX and blade.bulge is not None:
        chord = max(widest - reach, 0.0)
        if blade.bulge >= chord / 4:
            raise InputError(
                f"a bulge of {blade.bulge:g} mm is too much for a grind {chord:.1f} mm high",
                mend="Give how far the grind stands out over a straight edge laid on it",
                field="blade.bulge",
            )
        return chord * chord / (8 * blade.bulge) + blade.bulge / 2
    return np.inf


def half_section(
    distance: Floats, width: Floats, spine: Floats, blade: BladeTable, radius: float
) -> Floats:
    """Return the half-thickness of a blade at points inside it.

    Args:
        distance: (n,) d of each point, mm.
        width: (n,) w through each point, mm, at least d.
        spine: (n,) full thickness t at each point's x, mm.
        blade: the blade's table, in mm.
        radius: of the grind's arc, as ``grind_radius`` gives it, mm.

    Returns:
        (n,) mm, from 0 to the greater of t/2 and b/2.
    """
    start = np.full_like(distance, bevel_reach(blade.behind_edge, blade.bevel_angle))
    low = np.full_like(distance, blade.behind_edge / 2)
    high = spine / 2
    end = np.minimum(width, blade.grind_height) if blade.grind_height is not None else width
    run = end - start
    # Where the blade is too low for a grind of its own the bevel alone is left.
    ground = run > 0
    along = np.where(ground, (distance - start) / np.where(ground, run, 1.0), 0.0)
    along = np.clip(along, 0.0, 1.0)
    grind = low + (high - low) * along
    if np.isfinite(radius):
        grind = _on_arc(along * run, np.where(ground, run, 1.0), low, high, radius)
    grind = np.clip(grind, np.minimum(low, high), np.maximum(low, high))
    grind = np.where(ground, grind, high)
    bevel = distance * tan(radians(blade.bevel_angle))
    section: Floats = np.maximum(np.minimum(np.minimum(grind, bevel), np.maximum(high, low)), 0.0)
    return section


def _on_arc(u: Floats, run: Floats, low: Floats, high: Floats, radius: float) -> Floats:
    """Return the height at u of the arc through (0, low) and (run, high).

    Its centre lies on the chord's mid-perpendicular: outside the blade for a hollow grind
    (negative radius), inside for a convex one.
    """
    size, side = abs(radius), -np.sign(radius)
    rise = high - low
    chord = np.hypot(run, rise)
    far = side * np.sqrt(np.maximum(size * size - chord * chord / 4, 0.0))
    centre_u = run / 2 - rise / chord * far
    centre_z = (low + high) / 2 + run / chord * far
    height: Floats = centre_z - side * np.sqrt(np.maximum(size * size - (u - centre_u) ** 2, 0.0))
    return height
