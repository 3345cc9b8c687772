"""Whether trimmed parts come free, whole, and to their outline."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.cutting.check_space import screw_stop
from chape.cutting.remove import remove
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence, Mask
    from chape.cutting.model import Setup
    from chape.field.grid import Floats

#: A part may be cut inside its outline by this, mm.
PART_CUT = 0.05
#: A part may stay larger than its outline by this, mm.
PART_LARGE = 0.15
#: Points along an outline at which its edge is measured, mm apart.
PITCH = 1.0
#: Outlines are flattened within this before distances are measured, mm.
FLAT = 0.001
#: Sheet thinner than this after the cut is through, mm.
THROUGH = 0.02


def check_trim(evidence: Evidence) -> tuple[Finding, ...]:
    """Return parts cut into, left too large, still attached, or freed before they are held."""
    setup = evidence.setup
    if not setup.outlines:
        return ()
    parts = [outline.polygon(FLAT) for outline in setup.outlines]
    low = _low(evidence)
    return (
        *_cut_into(evidence, parts, low),
        *_too_large(evidence, parts, low),
        *_attached(evidence, parts),
        *_freed_early(evidence, parts),
    )


def _low(evidence: Evidence) -> Mask:
    """Return the segments that meet the sheet."""
    segments, stock = evidence.segments, evidence.setup.stock
    met = evidence.depth[segments.move] > 0
    for first in (0, 3):
        tip = segments.ends[:, first : first + 3]
        met |= tip[:, 2] < stock.at(tip[:, :2]) - PART_CUT
    chosen: Mask = met & ~segments.rapid
    return chosen


def _lines(ends: Floats) -> shapely.Geometry:
    return shapely.linestrings(np.stack([ends[:, :2], ends[:, 3:5]], axis=1))


def _in_an_opening(evidence: Evidence, chosen: Mask) -> Mask:
    """Return which of the chosen segments stay inside a hole or a slot of the setup."""
    ends = evidence.segments.ends[chosen]
    radius = evidence.radius[evidence.segments.move[chosen]]
    inside = np.zeros(len(ends), dtype=np.bool_)
    for hole in evidence.setup.holes:
        away = np.maximum(
            np.hypot(ends[:, 0] - hole.x, ends[:, 1] - hole.y),
            np.hypot(ends[:, 3] - hole.x, ends[:, 4] - hole.y),
        )
        inside |= away + radius <= hole.diameter / 2 + PART_CUT
    for slot in evidence.setup.grooves:
        room = slot.width / 2 + PART_CUT - radius
        for a, b in pairwise(slot.points):
            # What both ends keep of a straight slot, the way between them keeps.
            way = shapely.LineString([a, b])
            away = np.maximum(
                *(shapely.distance(shapely.points(ends[:, k : k + 2]), way) for k in (0, 3))
            )
            inside |= away <= room
    return inside


def _cut_into(evidence: Evidence, parts: list[shapely.Polygon], low: Mask) -> tuple[Finding, ...]:
    """The distance of the path from the part, less the cutter's radius, exactly."""
    chosen = low.copy()
    chosen[low] = ~_in_an_opening(evidence, low)
    ends = evidence.segments.ends[chosen]
    move = evidence.segments.move[chosen]
    radius = evidence.radius[move]
    lines = _lines(ends)
    into = np.zeros(len(evidence.program))
    for part in parts:
        shapely.prepare(part)
        room = shapely.distance(lines, part)
        near = room < radius
        if not near.any():
            continue
        deep = np.zeros(len(ends))
        deep[near] = radius[near] - room[near]
        inside = np.flatnonzero(near & (room == 0))
        if len(inside):
            ring = part.exterior
            ways = [shapely.distance(shapely.points(ends[inside, k : k + 2]), ring) for k in (0, 3)]
            deep[inside] += np.maximum(*ways)
        np.maximum.at(into, move, deep)
    return evidence.worst(
        "part-cut",
        into,
        into > PART_CUT,
        "The cutter goes {value} mm inside the outline of a part ({count} moves)",
        "Keep the path a cutter's radius outside the outline.",
        limit=PART_CUT,
    )


def _too_large(evidence: Evidence, parts: list[shapely.Polygon], low: Mask) -> tuple[Finding, ...]:
    """The kerf must touch the outline all round."""
    setup = evidence.setup
    found = []
    ends = evidence.segments.ends[low]
    radius = evidence.radius[evidence.segments.move[low]]
    tree = shapely.STRtree(_lines(ends)) if len(ends) else None
    for number, part in enumerate(parts, start=1):
        ring = part.exterior
        count = max(8, int(ring.length / PITCH))
        points = shapely.line_interpolate_point(ring, np.arange(count) * ring.length / count)
        room = np.full(count, np.inf)
        if tree is not None:
            (which, _), away = tree.query_nearest(points, return_distance=True, all_matches=True)
            _, lines = tree.query_nearest(points, all_matches=True)
            np.minimum.at(room, which, away - radius[lines])
        worst = int(np.argmax(room))
        if room[worst] > PART_LARGE:
            x, y = points[worst].x, points[worst].y
            size = float(room[worst])
            shown = f"by {size:.3f} mm" if np.isfinite(size) else "all round"
            found.append(
                Finding(
                    "part-too-large",
                    Severity.ERROR,
                    f"{setup.name}, part {number} at x {x:.2f}, y {y:.2f}",
                    f"The part stays larger than its outline {shown}",
                    "Bring the path to a cutter's radius from the outline.",
                    size if np.isfinite(size) else None,
                    PART_LARGE,
                )
            )
    return tuple(found)


def _free(setup: Setup, stock: Floats, part: shapely.Polygon) -> bool:
    """Return whether no sheet joins the inside of a part to anything outside it."""
    grid = setup.stock.grid
    before = setup.stock.z
    there = (stock > before - setup.sheet_gauge + THROUGH) & _on_piece(setup)
    pieces, _ = ndimage.label(there, structure=np.ones((3, 3)))
    x, y = grid.mesh()
    x_min, y_min, x_max, y_max = part.bounds
    box = (x >= x_min) & (x <= x_max) & (y >= y_min) & (y <= y_max)
    shapely.prepare(part)
    inside = np.zeros(grid.shape, dtype=np.bool_)
    inside[box] = shapely.contains_xy(part, x[box], y[box])
    own = np.unique(pieces[inside & there])
    # Half a cell of the part's own edge may lie outside its outline.
    wide = part.buffer(2 * grid.spacing)
    shapely.prepare(wide)
    beyond = np.ones(grid.shape, dtype=np.bool_)
    near = ndimage.binary_dilation(box, iterations=4)
    beyond[near] = ~shapely.contains_xy(wide, x[near], y[near])
    outside = np.unique(pieces[beyond & there])
    return len(np.intersect1d(own[own > 0], outside)) == 0


def _on_piece(setup: Setup) -> Mask:
    grid = setup.stock.grid
    x_min, y_min, x_max, y_max = setup.box
    on: Mask = ((grid.x >= x_min) & (grid.x <= x_max))[None, :] & (
        (grid.y >= y_min) & (grid.y <= y_max)
    )[:, None]
    return on


def _attached(evidence: Evidence, parts: list[shapely.Polygon]) -> tuple[Finding, ...]:
    setup = evidence.setup
    found = []
    for number, part in enumerate(parts, start=1):
        if not _free(setup, evidence.removal.stock.z, part):
            found.append(
                Finding(
                    "part-attached",
                    Severity.ERROR,
                    f"{setup.name}, part {number}",
                    "The part is not cut free of the sheet round it",
                    "Cut through the sheet all round the outline.",
                )
            )
    return tuple(found)


def _freed_early(evidence: Evidence, parts: list[shapely.Polygon]) -> tuple[Finding, ...]:
    """A part that comes free before its screws are in is thrown."""
    setup = evidence.setup
    later = [post for post in setup.keep_outs if post.after_stop]
    stop = screw_stop(evidence, later) if later else None
    if stop is None:
        return ()
    segments = evidence.segments
    early = remove(setup.stock, segments.chosen(segments.move < stop), setup.cutters)
    loose = [n for n, part in enumerate(parts, 1) if _free(setup, early.stock.z, part)]
    if not loose:
        return ()
    return (
        Finding(
            "part-free-before-screws",
            Severity.ERROR,
            f"{setup.name}, part {loose[0]}",
            f"{len(loose)} parts are cut free before the stop for the screws that hold them",
            "Cut the outlines after the stop.",
            float(len(loose)),
            0.0,
            unit="",
        ),
    )
