"""Gentle ground finished with the flat cutter, while it is still in the spindle.

Up and down a slope θ the rim of a flat cutter of radius R is as blunt as a ball of ``R / tan θ``,
so that its lines may lie far apart: on a plane whose gradient g makes an angle β with the lines,
what the rim leaves beside a line is ``R |g| (1 − cos(φ − β))`` at ``R sin φ`` from it. For a ridge
h both neighbours may stand off by δ with ``cos δ = 1 − h / (R |g|)``, and lines lie
``R (sin min(β + δ, 90°) − sin(β − δ))`` apart. Ground that falls off to both sides with curvature
κ asks for ``1/s² = 1/s_plane² + κ / (8 h)``. (Plane geometry; derived here.)
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from shapely import LineString

from chape.cutting.link import APPROACH, Track
from chape.cutting.locate import FIRST_STEP, follow, lean_of, stepped, tip_map
from chape.cutting.pace import EXACT, feed_along
from chape.cutting.rates import RAMP_SLOPE
from chape.cutting.runs import LINE_FIT, line_runs, on_short_way, smoothed, without_specks
from chape.field.envelope import Body
from chape.field.heights import HeightField

if TYPE_CHECKING:
    from chape.cutting.ground import Ground
    from chape.cutting.left import Standing
    from chape.cutting.pace import Flat
    from chape.field.grid import Floats

Mask = npt.NDArray[np.bool_]

#: Nodes of the maps, mm: coarse, for paths are located afresh on the surface itself.
MAP_SPACING = 0.4

#: Where lines of the flat cutter would have to lie closer than this share of its diameter the ball
#: is as quick.
WORTH_STEP = 0.27

#: Less than this stands on ground that is done, mm.
DONE = 0.02

#: The flat cutter leaves hollow ground to the ball where it would bridge it by more than this, mm.
BRIDGED = 0.06

#: The share of a line on which more may stay than the wanted ridge.
FEW = 0.15

#: So are strips narrower than twice this, mm.
NARROW = 2.5

#: Patches of gentle ground smaller than this are left to the ball, mm².
SMALLEST = 150.0

#: Ends of lines nearer than this are joined along the surface, mm.
JOIN = 30.0

#: Turns between two lines are rounded over this length, mm.
ROUNDED = 0.7

#: A way down along a line goes to and fro over so much of it, mm.
RAMP_WAY = 20.0


def cut_gentle(
    standing: Standing, ground: Ground, cutter: Flat, scallop: float, safe: float
) -> Track:
    """Plan lines of the flat cutter over gentle ground, and eat them out of what stands.

    Args:
        standing: what stands over the wanted surface; changed.
        ground: the same for ways across; changed.
        cutter: a flat one.
        scallop: ridge that may stay between two lines, mm.
        safe: height at which nothing can be met, mm.
    """
    surface, body = standing.surface, Body.flat(cutter.radius)
    track = Track(safe)
    reach = tip_map(surface, body, max(MAP_SPACING, surface.grid.spacing))
    apart = permitted(surface, reach, cutter, scallop)
    runs = _runs(standing, reach, apart, cutter)
    if not runs:
        return track
    runs, track.saved = on_short_way(_joined(runs, cutter.step))
    lean = lean_of(reach)
    joins = [
        np.array([before[-1], after[0]]) if np.hypot(*(after[0] - before[-1])) <= JOIN else None
        for before, after in pairwise(runs)
    ]
    paths = follow(surface, body, runs, first_step=FIRST_STEP, lean=lean)
    across = [join for join in joins if join is not None]
    ways = iter(follow(surface, body, across, first_step=0.5, lean=lean))
    for n, path in enumerate(paths):
        if n and joins[n - 1] is not None:
            feed_along(track, ground, cutter, next(ways), fit=EXACT)
        else:
            track.leave(ground, cutter.radius, cutter.rates.feed)
            enter_down(track, ground, cutter, path)
        feed_along(track, ground, cutter, path, fit=EXACT)
    track.leave(ground, cutter.radius, cutter.rates.feed)
    track.lift()
    standing.cut(paths, body)
    return track


def _joined(runs: list[Floats], step: float) -> list[Floats]:
    """Return neighbouring lines as one that turns round smoothly at their ends."""
    chains: list[list[Floats]] = [[runs[0]]]
    for run in runs[1:]:
        if np.hypot(*(run[0] - chains[-1][-1][-1])) <= 2 * step:
            chains[-1].append(run)
        else:
            chains.append([run])
    rounded = [smoothed(np.vstack(chain), ROUNDED) for chain in chains]
    return [np.asarray(LineString(line).simplify(LINE_FIT).coords, np.float64) for line in rounded]


def permitted(
    surface: HeightField, reach: HeightField, cutter: Flat, scallop: float
) -> tuple[Floats, Floats]:
    """Return how far apart (mm) lines along x, and along y, may lie at every node of a map."""
    x, y = reach.grid.mesh()
    z = surface.at(np.column_stack([x.ravel(), y.ravel()])).reshape(reach.grid.shape)
    spacing = reach.grid.spacing
    by_y, by_x = np.gradient(z, spacing)
    apart = []
    for along, across, axis in ((by_x, by_y, 0), (by_y, by_x, 1)):
        slope = np.maximum(np.hypot(along, across), 1e-9)
        off = np.arcsin(np.minimum(np.abs(across) / slope, 1.0))
        stray = np.arccos(np.maximum(1 - scallop / (cutter.radius * slope), -1.0))
        level = stray >= np.pi / 2
        right = np.sin(np.minimum(off + stray, np.pi / 2))
        left = np.sin(np.maximum(off - stray, -np.pi / 2))
        plane = np.where(level, 2 * cutter.radius, cutter.radius * (right - left))
        rise: Floats = np.asarray(np.gradient(across, spacing, axis=axis))
        bent = ndimage.uniform_filter(np.maximum(-rise, 0.0), 3)
        wide = 1 / np.sqrt(1 / np.maximum(plane, 1e-6) ** 2 + bent / (8 * scallop))
        apart.append(np.minimum(wide, cutter.step))
    return apart[0], apart[1]


def _runs(
    standing: Standing, reach: HeightField, apart: tuple[Floats, Floats], cutter: Flat
) -> list[Floats]:
    """Return the lines over all gentle ground, in the order they are cut."""
    surface, spacing = standing.surface, reach.grid.spacing
    x, y = reach.grid.mesh()
    nodes = np.column_stack([x.ravel(), y.ravel()])
    left = HeightField(surface.grid, standing.left()).at(nodes).reshape(reach.grid.shape)
    wanted = surface.at(nodes).reshape(reach.grid.shape)
    size = round(cutter.radius / spacing)
    disc = np.hypot(*np.mgrid[-size : size + 1, -size : size + 1]) <= size
    bridged = ndimage.minimum_filter(reach.z, footprint=disc) - wanted > BRIDGED
    open_ = (left > DONE) & ~bridged
    least = WORTH_STEP * 2 * cutter.radius
    runs: list[Floats] = []
    for zone, along_y in _zones(open_, apart, least, spacing):
        centres = _centres(zone, reach, cutter.radius)
        wide = _by_line(apart[along_y], centres, along_y, cutter.step)
        runs.extend(line_runs(reach, centres, wide, along_y=bool(along_y)))
    return runs


def _by_line(apart: Floats, centres: Mask, along_y: int, widest: float) -> Floats:
    """Return distances of lines that suit most of each line: the ball does the rest."""
    turned, inside = (apart.T, centres.T) if along_y else (apart, centres)
    wide = np.full(turned.shape, widest)
    for n in np.flatnonzero(inside.any(axis=1)):
        wide[n] = np.quantile(turned[n, inside[n]], FEW)
    return wide.T if along_y else wide


def _zones(
    open_: Mask, apart: tuple[Floats, Floats], least: float, spacing: float
) -> list[tuple[Mask, int]]:
    """Return the ground to be covered by lines, and whether they run along y."""
    zones: list[tuple[Mask, int]] = []
    fewest = int(SMALLEST / spacing**2)
    gentle = _opened(open_ & (np.maximum(*apart) >= least), NARROW / spacing)
    for _ in range(2):
        labels, count = ndimage.label(without_specks(gentle, fewest))
        for n, place in enumerate(ndimage.find_objects(labels), start=1):
            part = labels[place] == n
            good = [part & (wide[place] >= least) for wide in apart]
            # What a direction cannot do is done later, more slowly.
            cost = [
                float((1 / wide[place][fit]).sum()) + 2 / least * float((part & ~fit).sum())
                for wide, fit in zip(apart, good, strict=True)
            ]
            along_y = int(cost[1] < cost[0])
            zone = np.zeros_like(open_)
            zone[place] = without_specks(_opened(good[along_y], NARROW / spacing), fewest)
            if zone.any():
                zones.append((zone, along_y))
                gentle = gentle & ~zone
        if not count:
            break
    return zones


def _opened(mask: Mask, radius: float) -> Mask:
    """Return a mask without what a disc of a radius, in nodes, does not fit into."""
    framed = np.pad(mask, 1)
    core = ndimage.distance_transform_edt(framed) > radius
    if not core.any():
        return np.zeros_like(mask)
    opened: Mask = ndimage.distance_transform_edt(~core) <= radius
    return opened[1:-1, 1:-1] & mask


def _centres(zone: Mask, reach: HeightField, radius: float) -> Mask:
    """Return where the cutter's middle is while its rim touches a zone, uphill of it."""
    grid = reach.grid
    by_y, by_x = np.gradient(reach.z, grid.spacing)
    slope = np.hypot(by_x, by_y)
    share = np.where(slope > 1e-3, radius / np.maximum(slope, 1e-9), 0.0) / grid.spacing
    rows, columns = np.indices(grid.shape)
    j = np.clip(np.rint(rows + share * by_y).astype(np.int64), 0, grid.ny - 1)
    i = np.clip(np.rint(columns + share * by_x).astype(np.int64), 0, grid.nx - 1)
    return ndimage.binary_closing(zone[j, i], iterations=2)


def enter_down(track: Track, ground: Ground, cutter: Flat, path: Floats) -> None:
    """Come to the start of a path: through air, or down a ramp to and fro over its beginning."""
    x, y, z = path[0].tolist()
    track.go(x, y, ground, cutter.radius)
    top = float(ground.highest(path[:1, :2], cutter.radius)[0])
    if top <= z + 1e-6:
        track.down(z + APPROACH)
        track.lines(path[:1], cutter.rates.feed)
        return
    along = stepped(path, 0.5)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(along[:, :2], axis=0).T))])
    first = along[: max(int(np.searchsorted(run, RAMP_WAY)), 2)]
    start = top + 0.2
    track.down(start)
    passes = [first]
    drop = RAMP_SLOPE * run[len(first) - 1]
    while start - drop * len(passes) > float(first[:, 2].min()):
        passes.append(passes[-1][::-1])
    if len(passes) % 2:
        # It ends where it began, all of it at the path's own height.
        passes.append(passes[-1][::-1])
    way = np.vstack([passes[0], *[p[1:] for p in passes[1:]]])
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(way[:, :2], axis=0).T))])
    way[:, 2] = np.maximum(way[:, 2], start - RAMP_SLOPE * gone)
    way[-1, 2] = z
    feed_along(track, ground, cutter, way, fit=EXACT)
