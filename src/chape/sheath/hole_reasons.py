"""Why no hole plan serves every clip, and the nearest plan that drops or moves one thing.

What stands in the way is found by easing one rule at a time and planning again: a clip left out,
holes allowed nearer to one another, a clip allowed further from where it is wanted or at other
angles. Each easing that works is offered, with the number of holes it comes to.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError
from chape.sheath.clip_places import placements_of
from chape.sheath.clip_shapes import shapes_of
from chape.sheath.hole_plan import plan

if TYPE_CHECKING:
    from chape.sheath.clip_places import ClipWish, Ground
    from chape.sheath.held_eyelets import HeldEyelets
    from chape.sheath.hole_plan import HolePlan

#: Of each search in an eased plan, in the solver's own units: it need not be the very best.
EFFORT = 1.0

#: Spacings tried, in hole diameters: down to where rivets in metal begin to count as crowded.
SPACINGS = (2.75, 2.5, 2.25, 2.0, 1.75, 1.5)

#: Pitches tried, in shares of the one asked for.
PITCHES = (1.03, 1.07, 1.15, 1.3)

#: Angles tried for a clip that finds no place at its own, degrees.
ANGLES = (0.0, 5.0, -5.0, 10.0, -10.0, 15.0, -15.0, 30.0, -30.0, 90.0, 180.0)

#: Distances tried from where a clip is wanted, mm.
DISTANCES = (10.0, 20.0, 30.0, 45.0, 60.0, 90.0)


def why_not(
    ground: Ground,
    wishes: tuple[ClipWish, ...],
    pitch_most: float,
    spacing_least: float,
    hole: float,
    *,
    proved: bool,
) -> CannotMakeError:
    """Return the error that says which clip cannot be served, why, and what would do.

    Args:
        ground: where holes may stand.
        wishes: the clips.
        pitch_most: no two neighbouring rivets further apart, mm.
        spacing_least: from hole to hole, in hole diameters.
        hole: diameter of an eyelet's hole, mm.
        proved: the search ruled every plan out; else it came to its end without one.
    """
    for number, wish in enumerate(wishes):
        error = _homeless(number, wish, ground)
        if error is not None:
            return error
    asked = _Asked(ground, wishes, pitch_most, spacing_least, hole)
    offers = [
        *asked.released(),
        *asked.without_one(),
        *asked.nearer(),
        *asked.further(),
        *asked.moved(),
        *asked.turned(),
    ]
    names = ", ".join(f'"{name}"' for name in dict.fromkeys(w.clip.name for w in wishes))
    mend = "; or ".join(offers) if offers else "leave out two of them, or choose smaller eyelets"
    what = "the clip" if len(wishes) == 1 else "all of the clips"
    found = "no hole plan serves" if proved else "no hole plan was found in the time allowed for"
    mend = mend[0].upper() + mend[1:]
    return CannotMakeError(f"{found} {what} {names}{asked.obstacle()}", mend=mend)


def _homeless(number: int, wish: ClipWish, ground: Ground) -> CannotMakeError | None:
    """Return why one clip finds no place at all, even alone; None where it does."""
    if _finds_place(number, wish, ground):
        return None
    name = wish.clip.name
    reach = max(float(np.hypot(*(locus.points[0] - locus.points[-1]))) for locus in ground.loci)
    span = min(shape.length for shape in shapes_of(wish.clip, wish.angles))
    if span > reach:
        return CannotMakeError(
            f'the clip "{name}" needs {span:.1f} mm from its first hole to its last, and the '
            f"eyelet line from mouth to tip has {reach:.1f} mm",
            mend=f"Choose a clip no longer than {reach:.0f} mm, or let the sheath wrap more of "
            "the handle",
        )
    if _finds_place(number, replace(wish, within=inf), ground):
        off = max(
            min(p.astray for p in placements_of(number, replace(wish, within=inf), ground)
                if (p.mirrored if mirrored else p.true))
            for mirrored in (False, True)
        )  # fmt: skip
        return CannotMakeError(
            f'the clip "{name}" fits nowhere within {wish.within:g} mm of where it is wanted',
            mend=f'Set "within" of that clip to {np.ceil(off):.0f} mm, or move it with "along"',
        )
    for angle in ANGLES:
        if _finds_place(number, replace(wish, within=inf, angles=(angle,)), ground):
            return CannotMakeError(
                f'the clip "{name}" fits nowhere at its permitted angles, '
                f"{_listed(wish.angles or wish.clip.angles)}",
                mend=f'Permit it an angle of {angle:g} degrees with "angles", or choose a clip '
                "with a smaller pattern",
            )
    return CannotMakeError(
        f'the clip "{name}" finds no room along the line of eyelets, which is {reach:.0f} mm long',
        mend="Choose a clip with a smaller pattern, or let the sheath wrap more of the handle",
    )


def _finds_place(number: int, wish: ClipWish, ground: Ground) -> bool:
    places = placements_of(number, wish, ground)
    return any(p.true for p in places) and any(p.mirrored for p in places)


def _listed(angles: tuple[float, ...]) -> str:
    return ", ".join(f"{angle:g}" for angle in angles) + " degrees"


class _Asked:
    """What was asked for, with one rule at a time eased."""

    def __init__(
        self,
        ground: Ground,
        wishes: tuple[ClipWish, ...],
        pitch_most: float,
        spacing_least: float,
        hole: float,
    ) -> None:
        self._ground, self._wishes = ground, wishes
        self._pitch_most, self._spacing_least, self._hole = pitch_most, spacing_least, hole

    def obstacle(self) -> str:
        """Return ": " and the two holes that come too near, or nothing where that is not why."""
        least = 2 * self._ground.seat / self._hole
        crowded = self._plan(self._wishes, least)
        if crowded is None or self._spacing_least <= least:
            return ""
        pairs = [
            (float(np.hypot(*(one.point - other.point))), one, other)
            for k, one in enumerate(crowded.holes)
            for other in crowded.holes[:k]
            if not set(one.clips) & set(other.clips)
        ]
        gap, one, other = min(pairs, key=lambda pair: pair[0], default=(inf, None, None))
        if one is None or other is None or gap >= self._spacing_least * self._hole:
            return ""
        return (
            f": a hole for {self._whose(one.clips)} would stand {gap:.1f} mm from one for "
            f"{self._whose(other.clips)}, where {self._spacing_least * self._hole:.1f} mm is asked"
        )

    def released(self) -> list[str]:
        """Return which held eyelet could be let go, or that all of them could."""
        held = self._ground.held
        ways = [([k], f"the eyelet held at {_at(held, k)}") for k in range(len(held))]
        if len(held) > 1:
            ways.append((list(range(len(held))), "all eyelets that are held"))
        for gone, words in ways:
            ground = replace(self._ground, held=held.without(gone))
            found = self._plan(self._wishes, self._spacing_least, ground=ground)
            if found is not None:
                return [f"let {words} be placed again ({_holes(found)})"]
        return []

    def without_one(self) -> list[str]:
        """Return which clip could be left out."""
        offers = []
        for k, wish in enumerate(self._wishes):
            rest = self._wishes[:k] + self._wishes[k + 1 :]
            found = self._plan(rest, self._spacing_least) if rest else None
            if found is not None:
                offers.append(f'leave out "{wish.clip.name}" ({_holes(found)})')
        return offers

    def nearer(self) -> list[str]:
        """Return how near holes would have to come."""
        for spacing in SPACINGS:
            if spacing < self._spacing_least:
                found = self._plan(self._wishes, spacing)
                if found is not None:
                    return [f"set eyelets.spacing_least to {spacing:g} ({_holes(found)})"]
        return []

    def further(self) -> list[str]:
        """Return how far apart rivets would have to be allowed."""
        for share in PITCHES:
            pitch = float(np.ceil(share * self._pitch_most))
            found = self._plan(self._wishes, self._spacing_least, pitch)
            if found is not None:
                return [f"set eyelets.pitch_most to {pitch:g} mm ({_holes(found)})"]
        return []

    def moved(self) -> list[str]:
        """Return which clip could stand further from where it is wanted."""
        offers = []
        for k, wish in enumerate(self._wishes):
            for distance in (d for d in DISTANCES if wish.within < d < inf):
                eased = replace(wish, within=distance)
                found = self._plan(self._swapped(k, eased), self._spacing_least)
                if found is not None:
                    name = f'"{wish.clip.name}"'
                    offers.append(f'set "within" of {name} to {distance:g} mm ({_holes(found)})')
                    break
        return offers

    def turned(self) -> list[str]:
        """Return which clip could lie at another angle."""
        offers = []
        for k, wish in enumerate(self._wishes):
            permitted = wish.angles or wish.clip.angles
            more = tuple(angle for angle in ANGLES if angle not in permitted)
            eased = replace(wish, angles=(*permitted, *more))
            found = self._plan(self._swapped(k, eased), self._spacing_least)
            if found is not None:
                angles = {p.placement.shape.angle for p in found.laid if p.placement.clip == k}
                said = _listed(tuple(sorted(angles)))
                offers.append(f'permit "{wish.clip.name}" {said} ({_holes(found)})')
        return offers

    def _swapped(self, k: int, wish: ClipWish) -> tuple[ClipWish, ...]:
        return (*self._wishes[:k], wish, *self._wishes[k + 1 :])

    def _plan(
        self,
        wishes: tuple[ClipWish, ...],
        spacing: float,
        pitch: float | None = None,
        ground: Ground | None = None,
    ) -> HolePlan | None:
        pitch = self._pitch_most if pitch is None else pitch
        ground = self._ground if ground is None else ground
        try:
            return plan(ground, wishes, pitch, spacing, self._hole, EFFORT)
        except TimeoutError:
            return None

    def _whose(self, clips: tuple[int, ...]) -> str:
        if not clips:
            return "an eyelet"
        return " and ".join(f'"{self._wishes[k].clip.name}"' for k in clips)


def _at(held: HeldEyelets, k: int) -> str:
    x, y = held.points[k]
    return f"x = {x:.0f} mm, y = {y:.0f} mm"


def _holes(found: HolePlan) -> str:
    return f"{len(found.holes)} holes then"
