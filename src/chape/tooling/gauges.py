"""A blunt dummy of the knife: fitting sheaths needs no edge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from chape.errors import CannotMakeError, InputError
from chape.tooling.model import Dummy

if TYPE_CHECKING:
    from chape.knife.model import Knife

#: Least full thickness left anywhere on a dummy, mm: no edge that cuts.
EDGE_THICKNESS = 1.0


def make_dummy(knife: Knife, edge_thickness: float = EDGE_THICKNESS) -> Dummy:
    """Make a dummy that lies inside the knife everywhere.

    Where the knife is thinner than ``edge_thickness`` the dummy ends; there it has an upright
    blunt wall of that thickness. Everywhere else it is as thick as the knife. What would fall
    off, parts no longer joined to the largest, is left out.

    Args:
        knife: the knife, symmetrical about its mid-plane.
        edge_thickness: least full thickness, mm.

    Raises:
        InputError: the thickness is not above 0.
        CannotMakeError: no part of the knife is that thick.
    """
    if not (np.isfinite(edge_thickness) and edge_thickness > 0):
        raise InputError(
            f"a dummy's edge of {edge_thickness} mm is no thickness",
            mend="Give a thickness above 0 mm",
            field="edge_thickness",
        )
    thick = knife.half.z >= edge_thickness / 2
    labels, count = ndimage.label(thick)
    if count == 0:
        raise CannotMakeError(
            f"the knife is nowhere as thick as {edge_thickness:g} mm, so nothing is left of a "
            "blunt dummy",
            mend="Use a thinner edge_thickness, or check the knife's thickness",
        )
    sizes = np.bincount(labels.ravel())
    sizes[0] = 0
    kept = labels == int(np.argmax(sizes))
    return Dummy(knife.half.with_z(np.where(kept, knife.half.z, 0.0)), edge_thickness)
