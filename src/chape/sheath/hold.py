"""What holds the knife: the draw envelope, and how deep the sheath reaches into it.

The knife leaves towards +x, so that a place x of the sheath is passed by every section of the
knife nearer the tip. The draw envelope ``E(x, y) = max over x' <= x of H(x', y)`` is what must
pass there. Where ``E > H`` the knife is undercut; a cavity that follows ``H`` there locks it, one
that follows ``E`` lets it slide freely, and one in between gives way by the snap depth.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.field.heights import HeightField


def draw_envelope(surface: HeightField) -> HeightField:
    """Return the highest that passes each node as the surface is drawn towards +x."""
    return surface.with_z(np.maximum.accumulate(surface.z, axis=1))


def snapped(
    home: HeightField, envelope: HeightField, edge_envelope: HeightField, snap_depth: float
) -> HeightField:
    """Return the cavity that reaches ``snap_depth`` into the undercuts, but never at the edge.

    ``H1 = max(H0, E - u, E_edge)``. With u = 0 that is E itself: a free draw.

    Args:
        home: H0, the cavity around the knife at home.
        envelope: E, its draw envelope.
        edge_envelope: draw envelope of the edge band alone, with its full clearance. The halves
            may give way, but nothing may ever touch the edge, so that it is not lowered.
        snap_depth: u, mm.
    """
    z: Floats = np.maximum(home.z, envelope.z - snap_depth)
    return home.with_z(np.maximum(z, edge_envelope.z))
