"""How an outline that was seen somewhere, turned anyhow, is laid into the knife frame.

1. Its longest axis, from its area's second moments.
2. The tip is at the pointed end, the edge on the side of belly, guard and finger hollow, unless
   the person says. Either is a guess from the shape alone, and says so when it is a weak one.
3. x runs along the straightest side of the blade, as with a scanned knife.

What is seen from the other face is the mirror image; a knife is taken as symmetrical about its
mid-plane, so the outline is turned over where the edge would come up.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import InputError
from chape.knife.landmarks import Landmarks, columns_of, find_landmarks, width_at
from chape.knife.model import LONGEST_KNIFE, SHORTEST_KNIFE, Edges
from chape.knife.profile import straightest

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats

#: The ends' widths are compared so far from either end, as shares of the length.
END_DEPTHS = (0.015, 0.03, 0.06, 0.1)

#: A guess is weak where the signs for it are smaller than this, as a logarithm of a ratio.
WEAK = 0.25

#: What the blade's belly says counts for no more than this, for a sheepsfoot's says the contrary of
#: what the handle says, and the handle is right.
BELLY = 0.7

#: A tip this near to the line of a side, as a share of the blade's width, lies on it.
STRAIGHT_TO_TIP = 0.2

#: Unevenness of a side below this is measuring noise, mm.
EVEN = 1.5

#: A direction the person names must lie within 70 degrees of the knife's own.
LEAST_ALONG = 0.34


@dataclass(frozen=True, slots=True, eq=False)
class Said:
    """What the person says of a knife that was seen; None where it is to be found.

    Attributes:
        tip, edge: unit vectors (2,) in the frame it was seen in: where they point.
        blade_length: from the tip to the front of guard or handle, mm.
        turn: turned by this afterwards, counter-clockwise, radians.
        edges: single or double.
    """

    tip: Floats | None = None
    edge: Floats | None = None
    blade_length: float | None = None
    turn: float = 0.0
    edges: Edges = Edges.SINGLE


@dataclass(frozen=True, slots=True, eq=False)
class LaidOutline:
    """An outline in the knife frame.

    Attributes:
        outline: tip at x = 0, lowest point at y = 0, edge down, mm.
        turned: (2, 2) and
        moved: (2,) mm: a point p of the frame it was seen in lies at ``turned @ p + moved``.
        landmarks: found, or as the person said.
        along: what x runs along: "edge", "spine" or "axis".
        doubts: what was guessed on weak signs, one sentence each.
    """

    outline: Polygon
    turned: Floats
    moved: Floats
    landmarks: Landmarks
    along: str
    doubts: tuple[str, ...]

    def to_knife(self, points: Floats) -> Floats:
        """Return points (n, 2) of the frame it was seen in, in the knife frame."""
        laid: Floats = points @ self.turned.T + self.moved
        return laid

    def to_seen(self, points: Floats) -> Floats:
        """Return points (n, 2) of the knife frame in the frame it was seen in."""
        seen: Floats = (points - self.moved) @ self.turned
        return seen


def lay_outline(ring: Floats, said: Said | None = None) -> LaidOutline:
    """Lay an outline into the knife frame.

    Args:
        ring: (n, 2) corners in any pose, mm.
        said: what the person says of it.

    Raises:
        InputError: it is no simple outline of a knife's size, or what was said does not fit it.
    """
    said = said or Said()
    outline = _checked(ring)
    turned = _axis(outline)
    turned, end_doubt = _tip_left(outline, turned, said)
    placed = _placed(outline, turned)
    rough = find_landmarks(placed, said.blade_length)
    turned, edge_doubt = _edge_down(placed, turned, rough.blade_length, said)
    placed = _placed(outline, turned)
    slope, along = _slope(placed, rough.blade_length, said)
    turned = _rotation(said.turn - atan(slope)) @ turned
    placed = _placed(outline, turned)
    marks = find_landmarks(placed, said.blade_length)
    points = shapely.get_coordinates(outline) @ turned.T
    doubts = (end_doubt, edge_doubt, marks.doubt)
    return LaidOutline(
        placed, turned, -points.min(axis=0), marks, along, tuple(each for each in doubts if each)
    )


def _checked(ring: Floats) -> Polygon:
    if len(ring) < 4 or not np.isfinite(ring).all():
        raise InputError("what was found is no outline", mend="Take the picture again")
    outline = shapely.Polygon(ring)
    if not outline.is_valid:
        whole = shapely.get_parts(shapely.make_valid(outline))
        outline = max(whole, key=lambda part: float(part.area))
        outline = shapely.Polygon(outline.exterior) if outline.geom_type == "Polygon" else outline
    if outline.geom_type != "Polygon" or outline.area <= 0:
        raise InputError("what was found is no outline", mend="Take the picture again")
    corners = shapely.get_coordinates(outline)
    far = float(np.hypot(*np.ptp(corners, axis=0)))
    if not SHORTEST_KNIFE <= far <= 1.2 * LONGEST_KNIFE:
        raise InputError(
            f"what was found is {far:.0f} mm long, and a knife is {SHORTEST_KNIFE:.0f} to "
            f"{LONGEST_KNIFE:.0f} mm",
            mend="Check what lies in the picture, and its scale",
        )
    return shapely.geometry.polygon.orient(outline)


def _axis(outline: Polygon) -> Floats:
    """Return the rotation (2, 2) that lays the longest axis along x (second moments, Green)."""
    x, y = (shapely.get_coordinates(outline.exterior)[:-1] - outline.centroid.coords[0]).T
    x2, y2 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y2 - x2 * y
    xx = float((cross * (x * x + x * x2 + x2 * x2)).sum()) / 12
    yy = float((cross * (y * y + y * y2 + y2 * y2)).sum()) / 12
    xy = float((cross * (x * y2 + 2 * x * y + 2 * x2 * y2 + x2 * y)).sum()) / 24
    return _rotation(-0.5 * float(np.arctan2(2 * xy, xx - yy)))


def _rotation(angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s], [s, c]])


def _placed(outline: Polygon, turned: Floats) -> Polygon:
    ring = shapely.get_coordinates(outline.exterior)[:-1] @ turned.T
    return shapely.geometry.polygon.orient(shapely.Polygon(ring - ring.min(axis=0)))


def _tip_left(outline: Polygon, turned: Floats, said: Said) -> tuple[Floats, str]:
    """Return the rotation with the tip on the left, and a doubt where it is a weak guess."""
    if said.tip is not None:
        left = _agrees(-turned[0], said.tip, "tip", "along")
        return (turned if left else -turned), ""
    placed = _placed(outline, turned)
    length = placed.bounds[2]
    depths = length * np.array(END_DEPTHS)
    from_left, from_right = width_at(placed, depths), width_at(placed, length - depths)
    sign = float(np.log(from_right / from_left).mean())
    doubt = "" if abs(sign) >= WEAK else "which end is the tip: both are about as pointed"
    return (turned if sign >= 0 else -turned), doubt


def _edge_down(
    placed: Polygon, turned: Floats, blade_length: float, said: Said
) -> tuple[Floats, str]:
    """Return the rotation, mirrored if need be, with the edge down, and a doubt."""
    over = np.diag([1.0, -1.0]) @ turned
    if said.edge is not None:
        return (turned if _agrees(-turned[1], said.edge, "edge", "across") else over), ""
    columns = columns_of(placed)
    x, low, high = columns.x, columns.low, columns.high
    # The belly falls away from the tip faster than the spine rises from it ...
    tip = (low[0] + high[0]) / 2
    near = (x > 0.06 * blade_length) & (x < 0.12 * blade_length)
    belly = float(np.log(max(tip - low[near].mean(), 0.1) / max(high[near].mean() - tip, 0.1)))
    # ... and guard, heel and finger hollow are on the edge's side.
    behind = (x > 0.9 * blade_length) & (x < 0.95 * x[-1])
    below, above = (float(np.abs(np.diff(side[behind])).sum()) for side in (low, high))
    grip = float(np.log((below + EVEN) / (above + EVEN)))
    sign = float(np.clip(belly, -BELLY, BELLY) + grip)
    weak = abs(sign) < WEAK or (belly * grip < 0 and min(abs(belly), abs(grip)) > WEAK)
    # A blade with one side straight to the tip may be of either kind: that side may be either.
    blade = x < blade_length
    lowest, highest = float(low[blade].min()), float(high[blade].max())
    level = (tip - lowest) / (highest - lowest)
    weak |= abs(grip) < WEAK and not STRAIGHT_TO_TIP <= level <= 1 - STRAIGHT_TO_TIP
    # With two edges either side may be down; the longer side of the guard is taken.
    doubt = "which side is the edge: the outline's two sides are much alike" if weak else ""
    return (turned if sign >= 0 else over), ("" if said.edges is Edges.DOUBLE else doubt)


def _slope(placed: Polygon, blade_length: float, said: Said) -> tuple[float, str]:
    """Return the slope of what x shall run along, and its name, as ``straightest`` tells it."""
    columns = columns_of(placed)
    on = (columns.x > 0.15 * blade_length) & (columns.x < 0.93 * blade_length)
    single = said.edges is Edges.SINGLE
    return straightest(columns.x[on], columns.low[on], columns.high[on], single=single)


def _agrees(direction: Floats, wanted: Floats, key: str, how: str) -> bool:
    """Say whether a direction points as the person says rather than the other way."""
    share = float(direction @ wanted)
    if abs(share) < LEAST_ALONG:
        raise InputError(
            f"the knife does not lie {how} the way that was said of its {key}",
            mend=f"Look at the picture, and say the direction nearest to where the {key} points",
            field=key,
        )
    return share > 0
