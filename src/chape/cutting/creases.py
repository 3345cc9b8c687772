"""Along the creases of the tip's way, where the ball touches on two sides at once.

There a whole fillet is cut from one line of the tip, and lines beside it leave the fillet standing:
a tip that runs ``e`` beside the crease stays as much as ``e`` off one of its sides. So a crease is
found on a coarse map first, and then on the surface itself: across it the way is two straight
slopes, and it lies where they meet.

A fillet as small as the ball is drawn in facets, and they hold the ball off before it has come to
where it would lie in what was meant: the way leaves the flatter side before the slopes meet, at the
foot of the crease. The tip runs along both lines where they lie apart.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from scipy.spatial import cKDTree
from shapely import LineString

from chape.cutting.ease import eased, evenly
from chape.cutting.locate import tip_heights
from chape.cutting.order import Stop, shortest_route
from chape.cutting.runs import LINE_FIT, from_nearest
from chape.cutting.zones import SPLIT
from chape.field.contour import level_lines

if TYPE_CHECKING:
    from chape.field.envelope import Body
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

Mask = npt.NDArray[np.bool_]

#: The way turns by this much across a crease, radians: where it turns by less, lines beside it
#: leave next to nothing, ``R (1 / cos(turn / 2) - 1)``.
KINK = 0.25

#: The two slopes meet between two nodes, or this share of their distance from the middle of it.
WITHIN = 0.8

#: Points along a crease are this far apart, mm.
PACE = 0.3

#: A crease is looked for at so many places on either side of where the map has it, this far
#: apart, mm: no more than twice the nearer of the distances that follow.
REACH, SEARCH = 7, 0.12

#: Once it is known to that, the slopes on both sides are taken between these distances, mm.
CLOSE = 0.06, 0.13

#: The flatter side is taken to be straight between these distances from where the slopes meet, mm,
FLATTER = 0.6, 0.75

#: and left where the way lies so far above it, mm; that is looked for in so many steps, no further
#: than the last figure over the steeper side, mm.
OFF, STEPS, OVER = 0.006, 18, 0.07

#: The foot of a crease this far from where the slopes meet is a line of its own, mm.
TWO_LINES = 0.08

#: Where one side is cut in contours too, the tip goes half way to the foot, but no more than this,
#: mm.
ASIDE = 0.02

#: A point this near to an earlier one, but further along than the second figure, is the same, mm.
SAME = 0.15, 1.2

#: A closed line may be begun at so many places.
PLACES = 12

#: Points are moved along with their neighbours by no more than this, mm.
CALMED = 0.005

#: Creases shorter than this are left to lines, mm.
SHORTEST = 1.5


def crease_runs(surface: HeightField, body: Body, reach: HeightField, zone: Mask) -> list[Floats]:
    """Return the creases within a zone, each (n, 2), on a short way through all of them.

    Args:
        surface: what must not be cut.
        body: the cutter.
        reach: the tip's map.
        zone: its nodes to be covered.
    """
    near = kinks(reach) & ndimage.binary_dilation(zone, iterations=2)
    ribbons = ndimage.gaussian_filter(near.astype(np.float64), 0.7)
    lines = [line for line in level_lines(reach.with_z(ribbons), 0.3) if len(line) > 3]
    if not lines:
        return []
    points = [evenly(line, PACE) for line in lines]
    owner = np.repeat(np.arange(len(points)), [len(line) for line in points])
    places, feet, found = _snapped(surface, body, points)
    kept = found & ~_again(places, owner)
    apart = np.hypot(*(feet - places).T) > TWO_LINES
    return in_order(_joined(places, kept, owner) + _joined(feet, kept & apart, owner))


def _joined(places: Floats, kept: Mask, owner: npt.NDArray[np.int64]) -> list[Floats]:
    """Return points that are kept as lines, without the short ones."""
    # Points lie close together on a crease; between two of its parts they do not.
    step = np.hypot(*np.diff(places, axis=0).T)
    joined = kept[1:] & kept[:-1] & (owner[1:] == owner[:-1]) & (step < 3 * PACE)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], joined.astype(np.int8), [0]])))
    runs = []
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        plain = LineString(_calmed(places[first : last + 1])).simplify(LINE_FIT)
        if plain.length > SHORTEST:
            runs.append(np.asarray(plain.coords, np.float64))
    return runs


def _calmed(line: Floats) -> Floats:
    """Return a crease without the jitter it was found with."""
    return eased(evenly(line, PACE), CALMED)


def kinks(reach: HeightField) -> Mask:
    """Return the nodes on either side of a crease that lies lower than its sides."""
    kinked, spacing = np.zeros(reach.grid.shape, dtype=np.bool_), reach.grid.spacing
    for z, marked in ((reach.z, kinked), (reach.z.T, kinked.T)):
        left, right = z[:, 1:-2] - z[:, :-3], z[:, 3:] - z[:, 2:-1]
        turn = np.arctan(right / spacing) - np.arctan(left / spacing)
        # Where both sides, carried on, meet, in nodes from the second of four.
        at = (z[:, 1:-2] - z[:, 2:-1] + right) / np.where(right > left, right - left, 1.0)
        sharpest = turn >= ndimage.maximum_filter1d(turn, 3, axis=1)
        here = (turn > KINK) & (np.abs(at - 0.5) <= WITHIN) & sharpest
        marked[:, 1:-2] |= here
        marked[:, 2:-1] |= here
    return kinked


def _snapped(surface: HeightField, body: Body, lines: list[Floats]) -> tuple[Floats, Floats, Mask]:
    """Return points moved across their lines onto the crease and to its foot, and which found it.

    Both (n, 2).
    """
    places = np.vstack(lines)
    across = np.vstack([_across(line) for line in lines])
    beside = SEARCH * np.arange(-REACH - 2.0, REACH + 3.0)
    z = _beside(surface, body, places, across, beside)
    rise = np.arctan(np.diff(z, axis=1) / SEARCH)
    # The turn within two steps, and half of that within four: where it is sharpest, in its middle.
    turn = 2 * (rise[:, 2:-1] - rise[:, 1:-2]) + rise[:, 3:] - rise[:, :-3]
    best = np.argmax(turn, axis=1)
    places = places + (SEARCH * (best - REACH))[:, None] * across
    near, far = CLOSE
    z = _beside(surface, body, places, across, np.array([-far, -near, near, far]))
    left, right = (z[:, 1] - z[:, 0]) / (far - near), (z[:, 3] - z[:, 2]) / (far - near)
    bend = np.where(right > left, right - left, 1.0)
    # Where the two slopes, carried on, have the same height.
    at = (z[:, 1] + left * near - z[:, 2] + right * near) / bend
    found = (np.arctan(right) - np.arctan(left) > KINK / 2) & (np.abs(at) <= SEARCH)
    met = np.where(found[:, None], places + at[:, None] * across, places)
    flatter = np.where(np.abs(left) < np.abs(right), -1.0, 1.0)
    out = flatter[:, None] * across
    foot = np.where(found, _foot(surface, body, met, out), 0.0)
    steep = np.maximum(np.abs(left), np.abs(right)) > np.tan(SPLIT)
    aside = np.where(steep, np.clip(foot / 2, -ASIDE, ASIDE), 0.0)
    return met + aside[:, None] * out, met + foot[:, None] * out, found


def _foot(surface: HeightField, body: Body, places: Floats, out: Floats) -> Floats:
    """Return (n,) how far beside points the way leaves the flatter side of their crease, mm.

    Args:
        surface: what must not be cut.
        body: the cutter.
        places: (n, 2) where the slopes meet, mm.
        out: (n, 2) unit vectors from there, over the flatter side.
    """
    near, far = FLATTER
    steps = np.linspace(near, -OVER, STEPS)
    z = _beside(surface, body, places, out, np.concatenate([[far], steps]))
    slope = (z[:, :1] - z[:, 1:2]) / (far - near)
    over = z[:, 1:] - (z[:, 1:2] + slope * (steps - near))
    past = np.maximum.accumulate(over, axis=1) > OFF
    last = np.where(past.any(axis=1), np.argmax(past, axis=1), STEPS - 1)
    rows = np.arange(len(places))
    before, then = over[rows, last - 1], over[rows, last]
    share = np.clip((OFF - before) / np.maximum(then - before, 1e-9), 0.0, 1.0)
    foot: Floats = steps[last - 1] + share * (steps[1] - steps[0])
    return foot


def _beside(
    surface: HeightField, body: Body, places: Floats, across: Floats, beside: Floats
) -> Floats:
    """Return (n, k) how low the tip may go at distances (k,) across lines from their points."""
    tried = places[:, None, :] + beside[None, :, None] * across[:, None, :]
    return tip_heights(surface, body, tried.reshape(-1, 2)).reshape(-1, len(beside))


def _across(line: Floats) -> Floats:
    """Return unit vectors (n, 2) across a line at its points."""
    if np.array_equal(line[0], line[-1]):
        way = np.vstack([line[1:], line[1:2]]) - np.vstack([line[-2:-1], line[:-1]])
    else:
        way = np.gradient(line, axis=0)
    normal = np.column_stack([-way[:, 1], way[:, 0]])
    unit: Floats = normal / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    return unit


def _again(places: Floats, owner: npt.NDArray[np.int64]) -> Mask:
    """Return which points lie where an earlier stretch of a line has been."""
    same, further = SAME
    pairs = cKDTree(places).query_pairs(same, output_type="ndarray")
    first, then = pairs.min(axis=1), pairs.max(axis=1)
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    again = np.zeros(len(places), dtype=np.bool_)
    other = (owner[first] != owner[then]) | (walked[then] - walked[first] > further)
    again[then[other]] = True
    return again


def in_order(lines: list[Floats]) -> list[Floats]:
    """Return lines on the shortest way through all of them, closed ones begun where it is near."""
    closed = [np.array_equal(line[0], line[-1]) for line in lines]
    stops = [
        Stop(line[:-1][:: max(1, len(line) // PLACES)], through=False)
        if ring
        else Stop(line[[0, -1]], through=True)
        for line, ring in zip(lines, closed, strict=True)
    ]
    runs: list[Floats] = []
    for n, place in shortest_route(stops, (0.0, 0.0)).visits:
        if closed[n]:
            runs.append(from_nearest(lines[n], stops[n].places[place]))
        else:
            runs.append(lines[n][::-1] if place else lines[n])
    return runs
