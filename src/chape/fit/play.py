"""Free play: how far the knife can be moved in the closed sheath before it touches.

Knife and sheath are taken as rigid. Points all over the knife, close together where its surface
is steep, are held against the formed surface that is milled (``sheath.closed``); how far they let
the knife go is worked out in ``freedom``. What touches at home, such as tip pads, may stay in
touch and slide. Not modelled: pads that give way, and the few newtons of friction that hold a
light knife still.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import degrees
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.fit.freedom import furthest_shift, furthest_turn
from chape.sheath.closed import edge_points, nearest, walls_of

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.fit.freedom import Obstacles, Reach
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath

#: Points lie so far apart on level parts of the knife, and on steep ones, mm. With 4 mm a trial
#: missed its walls and saw 1.28 mm of play where there was 0.30.
LEVEL_STEP, STEEP_STEP = 2.0, 0.6

#: Steeper than this (dz over distance) is steep.
STEEP = 0.4

#: Points this far outside the mouth may still come in, mm.
BEYOND = 5.0

#: What lies further away than this does not stop one step of the knife, mm.
SEEN = 1.5

#: Edge points are this far apart, mm.
EDGE_STEP = 1.0


class Way(StrEnum):
    """Ways the knife can be moved, in words for someone who holds the sheath mouth up."""

    TIP_SPINE = "tip towards the spine side"
    TIP_EDGE = "tip towards the edge side"
    TIP_FRONT = "tip to the front"
    TIP_BACK = "tip to the back"
    BUTT_SPINE = "butt towards the spine side"
    BUTT_EDGE = "butt towards the edge side"
    BUTT_FRONT = "butt to the front"
    BUTT_BACK = "butt to the back"
    IN = "further in"
    OUT = "out"
    ROCK = "rock in its own plane"
    SWAY = "sway from front to back"
    TWIST = "twist about its length"


_SHIFTS = {
    Way.TIP_SPINE: ("tip", (0.0, 1.0, 0.0)),
    Way.TIP_EDGE: ("tip", (0.0, -1.0, 0.0)),
    Way.TIP_FRONT: ("tip", (0.0, 0.0, 1.0)),
    Way.TIP_BACK: ("tip", (0.0, 0.0, -1.0)),
    Way.BUTT_SPINE: ("butt", (0.0, 1.0, 0.0)),
    Way.BUTT_EDGE: ("butt", (0.0, -1.0, 0.0)),
    Way.BUTT_FRONT: ("butt", (0.0, 0.0, 1.0)),
    Way.BUTT_BACK: ("butt", (0.0, 0.0, -1.0)),
    Way.IN: ("tip", (-1.0, 0.0, 0.0)),
    Way.OUT: ("butt", (1.0, 0.0, 0.0)),
}
_TURNS = {Way.ROCK: (0.0, 0.0, 1.0), Way.SWAY: (0.0, 1.0, 0.0), Way.TWIST: (1.0, 0.0, 0.0)}


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """The furthest the knife gets one way.

    Attributes:
        way: which.
        amount: mm; degrees for rock, sway and twist, both senses added up.
        touches: (k, 3) points of the knife at home that stop it, mm; z > 0 is the front half.
        edge: least distance of the edge band from the sheath in any pose that far out, mm.
        overlap: how far its points reach into the sheath there, mm: what the answer is worth.
        free: nothing stopped it as far as it was followed.
    """

    way: Way
    amount: float
    touches: Floats
    edge: float
    overlap: float
    free: bool


@dataclass(frozen=True, slots=True, eq=False)
class Play:
    """Free play of a knife in its closed sheath.

    Attributes:
        motions: one for every way.
        pressed: how far points of the knife reach into the sheath at home, mm: pads that touch.
    """

    motions: dict[Way, Motion]
    pressed: float

    @property
    def rattle(self) -> float:
        """How far the tip can be knocked to and fro across the flats, mm."""
        return self.motions[Way.TIP_FRONT].amount + self.motions[Way.TIP_BACK].amount

    @property
    def wag(self) -> float:
        """How far the tip can be knocked to and fro between spine side and edge side, mm."""
        return self.motions[Way.TIP_SPINE].amount + self.motions[Way.TIP_EDGE].amount

    @property
    def edge_least(self) -> float:
        """Least distance of the edge band from the sheath in any of the motions, mm."""
        return min(motion.edge for motion in self.motions.values())


def free_play(sheath: Sheath) -> Play:
    """Return how far the knife can be moved in the closed sheath, every way."""
    front = contact_points(sheath.knife, sheath.mouth_x + BEYOND)
    back = front * np.array([1.0, 1.0, -1.0])
    points = np.vstack([front, back])
    obstacles = halves_of(sheath, len(front))
    pivot = np.array([points[:, 0].mean(), points[:, 1].mean(), 0.0])
    edge = edge_points(sheath.knife, EDGE_STEP)
    edges = np.vstack([edge, edge * np.array([1.0, 1.0, -1.0])])
    edge_obstacles = halves_of(sheath, len(edge))

    def motion(way: Way, reaches: tuple[Reach, ...], unit: float) -> Motion:
        touched = sorted({index for reach in reaches for index in reach.touches})
        return Motion(
            way,
            unit * sum(reach.amount for reach in reaches),
            points[touched],
            min(float(edge_obstacles(reach.pose.of(edges))[0].min()) for reach in reaches),
            max(reach.overlap for reach in reaches),
            any(reach.free for reach in reaches),
        )

    motions = {}
    for way, (end, along) in _SHIFTS.items():
        marked = end_point(sheath.knife, tip=end == "tip")
        reach = furthest_shift(points, obstacles, pivot, marked, np.array(along))
        motions[way] = motion(way, (reach,), 1.0)
    for way, axis in _TURNS.items():
        senses = tuple(
            furthest_turn(points, obstacles, pivot, sense * np.array(axis)) for sense in (1.0, -1.0)
        )
        motions[way] = motion(way, senses, degrees(1.0))
    return Play(motions, max(0.0, -float(obstacles(points)[0].min())))


def halves_of(sheath: Sheath, count: int) -> Obstacles:
    """Return what measures ``count`` points against the front half, and those after it, the back.

    Points of the front half have z >= 0 at home.
    """
    front, back = walls_of(sheath), walls_of(sheath, upper=True)
    turned = np.array([1.0, 1.0, -1.0])

    def measure(points: Floats) -> tuple[Floats, Floats]:
        gaps, ways = nearest(front, points[:count], SEEN)
        back_gaps, back_ways = nearest(back, points[count:] * turned, SEEN)
        return np.concatenate([gaps, back_gaps]), np.vstack([ways, back_ways * turned])

    return measure


def contact_points(knife: Knife, x_most: float) -> Floats:
    """Return (n, 3) points of the knife's front, closer together where it is steep, and its rim."""
    grid = knife.half.grid
    slope = np.hypot(*np.gradient(knife.half.z, grid.spacing))
    j, i = np.indices(grid.shape)
    level, steep = (max(1, round(step / grid.spacing)) for step in (LEVEL_STEP, STEEP_STEP))
    kept = (j % level == 0) & (i % level == 0)
    kept |= (slope > STEEP) & (j % steep == 0) & (i % steep == 0)
    x, y = grid.mesh()
    kept &= (knife.half.z > 0) & (x <= x_most)
    inside = np.column_stack([x[kept], y[kept], knife.half.z[kept]])
    rim = knife.outline.exterior
    along = np.arange(0.0, rim.length, STEEP_STEP)
    places = shapely.get_coordinates(shapely.line_interpolate_point(rim, along))
    places = places[places[:, 0] <= x_most]
    return np.vstack([inside, np.column_stack([places, knife.half.at(places)])])


def end_point(knife: Knife, *, tip: bool) -> Floats:
    """Return the tip of the knife, or its butt, (3,)."""
    rim = shapely.get_coordinates(knife.outline.exterior)
    end = rim[np.argmin(rim[:, 0]) if tip else np.argmax(rim[:, 0])]
    return np.array([end[0], end[1], 0.0])
