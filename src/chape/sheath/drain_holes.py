"""The drains of one half: at the lowest point of every hollow that water would stand in.

Carried tip down that is the cavity's nose. Carried tip up water runs out at the mouth; horizontally
it runs along the edge or the fold, as the sheath tips, to the mouth or to a hollow at the tip. The
fold's channel is open at both ends. Where nothing would stay there is no hole.
"""

from __future__ import annotations

from math import cos, pi, sin
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.drain import clear_of, drained, pockets
from chape.sheath.holes import Spot
from chape.sheath.model import Carry, HoleUse

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

    from chape.sheath.drain import Pocket
    from chape.sheath.holes import Foot
    from chape.sheath.model import Fold, SheathChoices

#: A drain covers the lowest point by this, mm.
OVERLAP = 0.2

#: A hollow this near to a held drain is that drain's, in its radii: one that is moved a little
#: aside shall not call for a second. Whether it drains the hollow, the checks say.
BESIDE = 6.0

#: Carried level, a sheath tips to and fro by this, radians. Common practice, no source.
TIP = pi / 12

#: The ways water runs, in the sheath frame; a level sheath also tips towards its tip and mouth.
DOWN: dict[Carry, tuple[tuple[float, float], ...]] = {
    Carry.TIP_DOWN: ((-1.0, 0.0),),
    Carry.TIP_UP: ((1.0, 0.0),),
    Carry.HORIZONTAL: tuple((sin(turn), -cos(turn)) for turn in (0.0, -TIP, TIP)),
    Carry.SPINE_DOWN: tuple((sin(turn), cos(turn)) for turn in (0.0, -TIP, TIP)),
}


def plan_drains(
    foot: Foot,
    fold: Fold | None,
    rivets: Sequence[Spot],
    choices: SheathChoices,
    ends: tuple[float, float],
) -> tuple[Spot, ...]:
    """Return the drains of one half, sheath frame; none where the maker wants none.

    A hollow at the fold gets its one hole on the fold line. Drains that the maker holds stay where
    they are, and a hollow beside one of them gets no other.

    Args:
        foot: of the walls.
        fold: None for a sheath that is not folded.
        rivets: the half's other holes, which need room.
        choices: give carry and diameter.
        ends: x at which the sheath is trimmed, at the tip and at the mouth, mm.
    """
    radius = choices.drain.diameter / 2
    if radius == 0:
        return ()
    region, openings = inside_of(foot, fold, ends), openings_of(foot, fold, ends)
    clear = np.array([(s.x, s.y, s.keep_clear) for s in rivets]).reshape(-1, 3)
    overlap = min(OVERLAP, radius / 2)
    spots = _held(fold, choices)
    held = shapely.MultiPoint([(spot.x, spot.y) for spot in spots])
    for down in DOWN[choices.carry]:
        made = [shapely.Point(spot.x, spot.y).buffer(radius) for spot in spots]
        for pocket in drained(region, [*openings, *made], down, radius):
            low = (pocket.x, pocket.y)
            if shapely.dwithin(held, shapely.Point(low), BESIDE * radius):
                continue
            if fold is not None and pocket.y >= fold_end(fold, pocket.x):
                low = (pocket.x, fold.line)
            elif choices.carry is Carry.TIP_DOWN:
                # The tip's wall is low: the hole may take all of it, and keeps off the edge.
                low = (pocket.x + radius - overlap, pocket.y)
            else:
                low = clear_of(low, down, radius, clear, overlap)
            spots.append(Spot(*low, 2 * radius, HoleUse.DRAIN, radius))
    return tuple(spots)


def _held(fold: Fold | None, choices: SheathChoices) -> list[Spot]:
    """Return the drains that stand where the maker wants them; past the bend, on the fold line."""
    radius = choices.drain.diameter / 2
    spots = []
    for number, (x, y) in enumerate(choices.drain.at):
        on_fold = fold is not None and y >= fold_end(fold, x)
        at = fold.line if fold is not None and on_fold else y
        spots.append(Spot(x, at, 2 * radius, HoleUse.DRAIN, radius, number))
    return spots


def left_standing(
    foot: Foot,
    fold: Fold | None,
    drains: Sequence[BaseGeometry],
    carry: Carry,
    ends: tuple[float, float],
) -> tuple[Pocket, ...]:
    """Return where water stays in the closed sheath although it has these drains, deepest first."""
    region = inside_of(foot, fold, ends)
    openings = [*openings_of(foot, fold, ends), *drains]
    found = [pocket for down in DOWN[carry] for pocket in pockets(region, openings, down)]
    return tuple(sorted(found, key=lambda pocket: -pocket.depth))


def inside_of(foot: Foot, fold: Fold | None, ends: tuple[float, float]) -> Polygon:
    """Return the inside of the closed sheath seen from the side, between its trimmed ends."""
    first, last = ends
    region = foot.region.intersection(shapely.box(first, -1e4, last, 1e4))
    if fold is not None:
        x = np.concatenate([[first], fold.x[(fold.x > first) & (fold.x < last)], [last]])
        end = np.interp(x, fold.x, fold.end)
        apex = end + np.interp(x, fold.x, fold.height)
        low = shapely.Polygon(
            [(first, -1e4), (last, -1e4), (last, end[-1]), *zip(x[::-1], end[::-1], strict=True),
             (first, end[0])]
        )  # fmt: skip
        bend = shapely.Polygon(
            [*zip(x, end - 0.1, strict=True), *zip(x[::-1], apex[::-1], strict=True)]
        )
        region = region.intersection(low).union(bend)
    return max(shapely.get_parts(region), key=lambda part: float(part.area))


def openings_of(
    foot: Foot, fold: Fold | None, ends: tuple[float, float]
) -> list[shapely.LineString]:
    """Return the mouth and, of a folded sheath, the end of the fold's channel at the tip."""
    first, last = ends
    inside = inside_of(foot, fold, ends)
    _, low, _, high = inside.bounds
    mouth = shapely.LineString([(last, low), (last, high)])
    if fold is None:
        return [mouth]
    return [mouth, shapely.LineString([(first, foot.strip_y), (first, high)])]


def fold_end(fold: Fold, x: float) -> float:
    """Return y where the rigid half ends and the bend begins at one station, mm."""
    return float(np.interp(x, fold.x, fold.end))
