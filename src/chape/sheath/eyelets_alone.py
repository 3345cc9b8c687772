"""Eyelets that serve no clip: from end to end of each line, evenly, as few as the pitch allows.

Those that the maker holds stay, and the others are spread evenly between them and the ends. An end
beside a held one has no eyelet of its own; where two held ones leave room for none between them,
none is put there, however far they stand apart.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.planned_hole import PlannedHole
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.field.grid import Bools, Floats
    from chape.sheath.clip_places import Ground
    from chape.sheath.locus import Locus

#: Places beside what stands in the way are looked for this finely, mm.
STEP = 0.25

#: So many eyelets more than the pitch asks for are tried to keep off what stands in the way.
MORE = 3


def eyelets_alone(ground: Ground, pitch_most: float, hole: float) -> tuple[PlannedHole, ...]:
    """Return the eyelets of every line, each line from the mouth to the tip.

    Args:
        ground: where they may stand.
        pitch_most: no two neighbours further apart, mm.
        hole: diameter, mm.
    """
    found: list[PlannedHole] = []
    for number in range(len(ground.loci)):
        row = [*_held(ground, number, hole), *_planned(ground, number, pitch_most, hole)]
        found += sorted(row, key=lambda each: (each.along, each.out))
    return tuple(found)


def _held(ground: Ground, number: int, hole: float) -> Iterator[PlannedHole]:
    held, seat = ground.held, ground.seat
    for k in np.flatnonzero(held.locus == number):
        yield PlannedHole(
            held.points[k], float(held.along[k]), float(held.out[k]), number, hole,
            rivet=True, keep_clear=seat, held=int(k),
        )  # fmt: skip


def _planned(ground: Ground, number: int, pitch_most: float, hole: float) -> Iterator[PlannedHole]:
    locus = ground.loci[number]
    for along in _stations(ground, number, pitch_most):
        point = locus.at(np.array([along]))[0]
        yield PlannedHole(point, along, 0.0, number, hole, rivet=True, keep_clear=ground.seat)


def _stations(ground: Ground, number: int, pitch_most: float) -> Iterator[float]:
    """Yield how far along a line its planned eyelets stand, mm."""
    locus, held = ground.loci[number], ground.held
    # One that stands further from the line than its flange reaches closes nothing at the wall.
    past = np.maximum(-held.along, held.along - locus.length)
    near = np.flatnonzero(
        (held.locus == number) & (np.abs(held.out) <= ground.seat) & (past <= ground.seat)
    )
    stops = [(float(held.along[k]), held.points[k]) for k in near]
    ends = np.array([0.0, locus.length])
    for end, point in zip(ends, locus.at(ends), strict=True):
        if not held.beside(point[None], ground.clear)[0]:
            stops.append((float(end), point))
            yield float(end)
    stops.sort(key=lambda stop: stop[0])
    for (start, first), (end, last) in pairwise(stops):
        if end > start:
            yield from _between(ground, locus, (start, end), (first, last), pitch_most)


def _between(
    ground: Ground,
    locus: Locus,
    reach: tuple[float, float],
    ends: tuple[Floats, Floats],
    pitch_most: float,
) -> tuple[float, ...]:
    """Return evenly spread places between two that stay; none where there is no room for one."""
    start, end = reach
    least = 1
    # A held one may stand aside of the line by more than a very short pitch.
    while (end - start) / least > STEP and not _near_enough(
        _points(locus, reach, ends, least), pitch_most
    ):
        least += 1
    if len(ground.held) and ground.clear > 0:
        least = max(1, min(least, int((end - start + SAME_LENGTH) // ground.clear)))
    for gaps in range(least, least + MORE + 1):
        if _free(ground, locus, reach, ends, gaps):
            return tuple(float(each) for each in np.linspace(start, end, gaps + 1)[1:-1])
    return _round_it(ground, locus, reach, ends, pitch_most)


def _round_it(
    ground: Ground,
    locus: Locus,
    reach: tuple[float, float],
    ends: tuple[Floats, Floats],
    pitch_most: float,
) -> tuple[float, ...]:
    """Return places as near as may be to either side of what stands in the way, and the rest."""
    start, end = reach
    along = np.arange(start, end, STEP)
    points = locus.at(along)
    blocked = np.flatnonzero(_in_the_way(ground, points))
    if not len(blocked):
        return ()
    # The first stretch that is blocked; what lies beyond it is spread by itself.
    last = blocked[np.append(np.diff(blocked) > 1, True)][0]
    sides = (float(along[blocked[0]]) - STEP, float(along[last]) + STEP)
    stops = [(start, ends[0])]
    found: list[float] = []
    for side in sides:
        room = min(side - start, end - side)
        if room >= ground.clear and side - stops[-1][0] >= ground.clear:
            found.append(side)
            stops.append((side, locus.at(np.array([side]))[0]))
    stops.append((end, ends[1]))
    for (first, one), (second, other) in pairwise(stops):
        if (first, second) != sides and (first, second) != reach:
            found += _between(ground, locus, (first, second), (one, other), pitch_most)
    return tuple(sorted(found))


def _in_the_way(ground: Ground, points: Floats) -> Bools:
    """Say which places an eyelet may not stand at."""
    blocked = ground.held.beside(points, ground.clear)
    if ground.taken is not None:
        blocked |= np.asarray(shapely.distance(shapely.points(points), ground.taken) < ground.seat)
    return blocked


def _points(
    locus: Locus, reach: tuple[float, float], ends: tuple[Floats, Floats], gaps: int
) -> Floats:
    between = locus.at(np.linspace(*reach, gaps + 1)[1:-1])
    return np.vstack([ends[0], between, ends[1]])


def _free(
    ground: Ground,
    locus: Locus,
    reach: tuple[float, float],
    ends: tuple[Floats, Floats],
    gaps: int,
) -> bool:
    """Say whether the places keep off held eyelets, each other and what is taken."""
    points = _points(locus, reach, ends, gaps)
    steps = np.hypot(*np.diff(points, axis=0).T)
    if len(ground.held) and steps.min() < ground.clear - SAME_LENGTH:
        return gaps == 1
    return not _in_the_way(ground, points[1:-1]).any()


def _near_enough(points: Floats, pitch_most: float) -> bool:
    steps = np.hypot(*np.diff(points, axis=0).T)
    return bool(steps.max() <= pitch_most + SAME_LENGTH)
