"""Where the trim fixture holds the sheet down: eyelets of each sheath, and the blank's corners."""

from __future__ import annotations

from itertools import combinations
from math import comb
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Screw
    from chape.field.grid import Floats
    from chape.sheath.model import Piece
    from chape.tooling.model import BlankChoices, Placement

#: Room between a screw's head and the cutter passing it, mm.
HEAD_CLEARANCE = 1.0

#: Every set of eyelets is tried up to this many; beyond it the farthest is added one at a time.
SETS_MOST = 20000

#: Least wall between an insert hole and the plate's edge, mm (common practice, no source).
INSERT_WALL = 2.0

#: Corner screws are tried on this raster, mm, within this share of the blank from its corner.
STEP = 1.0
CORNER_SHARE = 0.25


def keep_out_radius(screw: Screw, cutter: float) -> float:
    """Return how far a cutter's centre must stay from a screw's axis, mm.

    Half the head, half the cutter and a clearance: 8.7625 mm for a 1/4 in socket head of 9.525 mm
    and a 6 mm cutter (arithmetic).
    """
    return float(screw.head_diameter.value) / 2 + cutter / 2 + HEAD_CLEARANCE


def spread_out(points: Floats, count: int) -> tuple[int, ...]:
    """Choose points whose least distance to each other is the largest.

    Args:
        points: (n, 2), mm.
        count: how many; all of them when there are no more.

    Returns:
        Indices in rising order; the first of several equal choices.
    """
    if count <= 0:
        return ()
    if count >= len(points):
        return tuple(range(len(points)))
    distance = np.hypot(*(points[:, None, :] - points[None, :, :]).transpose(2, 0, 1))
    if comb(len(points), count) > SETS_MOST:
        return _farthest_in_turn(distance, count)
    best, chosen = -1.0, tuple(range(count))
    for members in combinations(range(len(points)), count):
        apart = distance[np.ix_(members, members)]
        least = float(apart[np.triu_indices(count, 1)].min(initial=np.inf))
        if least > best + 1e-9:
            best, chosen = least, members
    return chosen


def _farthest_in_turn(distance: Floats, count: int) -> tuple[int, ...]:
    first = int(np.unravel_index(int(np.argmax(distance)), distance.shape)[0])
    chosen = [first]
    while len(chosen) < count:
        chosen.append(int(np.argmax(distance[:, chosen].min(axis=1))))
    return tuple(sorted(chosen))


def screwed_eyelets(piece: Piece, place: Placement, count: int, off: float) -> Floats:
    """Return the eyelets of one part that are screwed down, (n, 2), blank frame, mm.

    Args:
        piece: what it is made as.
        place: where it lies.
        count: how many screws.
        off: distance from the outline below which a head stands in the trim cutter's way, mm;
            such eyelets are only taken when there are not enough others.
    """
    eyelets = eyelet_points(piece)
    edge = piece.pattern.polygon(0.01).exterior
    away = shapely.distance(shapely.points(eyelets), edge)
    free = np.flatnonzero(away >= off)
    order = np.argsort(-away, kind="stable")
    allowed = free if len(free) >= count else np.sort(order[:count])
    chosen = eyelets[allowed][list(spread_out(eyelets[allowed], count))]
    return place.placed(chosen)


def eyelet_points(piece: Piece) -> Floats:
    """Return the centres of a piece's eyelet holes, (n, 2), flat frame, mm."""
    points = [(hole.u, hole.v) for hole in piece.holes if hole.use is HoleUse.EYELET]
    return np.array(points, dtype=np.float64).reshape(-1, 2)


def corner_screws(
    blank: BlankChoices,
    screw: Screw,
    paths: Sequence[shapely.Polygon],
    taken: shapely.Geometry,
    keep_out: float,
) -> Floats:
    """Return a hold-down screw near each corner of the blank, (4, 2), mm.

    The nearest place to the corner where the head is clear of the trim cutter's paths and of
    ``taken``; where there is none, the place farthest from the paths.
    """
    lines = shapely.union_all([path.exterior for path in paths])
    insert = float(screw.insert_hole.value) / 2 + INSERT_WALL
    head = float(screw.head_diameter.value) / 2
    # A head may hang over the edge of the blank, its insert may not.
    x = np.arange(insert, blank.width * CORNER_SHARE, STEP)
    y = np.arange(insert, blank.depth * CORNER_SHARE, STEP)
    across, along = (part.ravel() for part in np.meshgrid(x, y))
    order = np.lexsort((across, along, np.hypot(across, along)))
    across, along = across[order], along[order]
    inside = shapely.union_all(list(paths))
    blocked = taken.buffer(head + HEAD_CLEARANCE)
    for geometry in (lines, inside, blocked):
        shapely.prepare(geometry)
    chosen = []
    for right, back in ((False, False), (True, False), (True, True), (False, True)):
        px = blank.width - across if right else across
        py = blank.depth - along if back else along
        away = shapely.distance(shapely.points(px, py), lines)
        waste = ~shapely.contains_xy(inside, px, py) & ~shapely.contains_xy(blocked, px, py)
        free = np.flatnonzero(waste & (away >= keep_out))
        farthest = int(np.argmax(np.where(waste, away, -1.0)))
        pick = int(free[0]) if len(free) > 0 else farthest
        chosen.append((float(px[pick]), float(py[pick])))
    return np.array(chosen)
