"""The hole plan: the fewest eyelets that close the flanges and serve every clip.

One plan serves the right-hand sheath and the left-hand one, which is its mirror image, and both
halves of each: ``clip_shapes`` says why that asks for the mirror image of every pattern too. Holes
go through both flanges. A clip's hole of the eyelets' size carries an eyelet, which closes the
flanges like any other; a hole of another size is drilled plain.

Once the search (``hole_search``) has said which places are drilled, holes that serve one clip move
onto its pattern, holes that serve several into the middle between their patterns, and the eyelets
that serve none are spread evenly between their neighbours.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.clip_places import ASTRAY_MOST, ClipWish, Ground, placements_of
from chape.sheath.eyelets_alone import eyelets_alone
from chape.sheath.hole_rules import broken_pairs, broken_spans, rules_of
from chape.sheath.hole_sites import Sites, sites_of, size_of, uses_of
from chape.sheath.planned_hole import PlannedHole

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.clip_places import Placement
    from chape.sheath.hole_rules import Rules
    from chape.sheath.hole_search import Found


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A clip as it lies in the plan.

    Attributes:
        placement: where the search laid it.
        holes: for each of its holes the number of the plan's hole that serves it.
        points: (k, 2) where its own holes come once it lies as well as it can, mm.
        play: furthest that one of them is from its hole in the sheath, mm.
    """

    placement: Placement
    holes: tuple[int, ...]
    points: Floats
    play: float


@dataclass(frozen=True, slots=True, eq=False)
class HolePlan:
    """Every hole of one half, and how each clip lies on them.

    Attributes:
        holes: along each line from the mouth, those off the lines among them.
        laid: of every clip, as it lies on one hand and on the other: one entry where both are the
            same placement, two where the pattern is not its own mirror image.
        holes_least: no plan over the same places has fewer.
        cost, cost_least: sheet added and clips astray (``hole_search``), and what is proved of it.
    """

    holes: tuple[PlannedHole, ...]
    laid: tuple[Laid, ...]
    holes_least: int
    cost: float
    cost_least: float


def plan(
    ground: Ground,
    wishes: tuple[ClipWish, ...],
    pitch_most: float,
    spacing_least: float,
    eyelet_hole: float,
    effort: float | None = None,
) -> HolePlan | None:
    """Return the hole plan, or None where the clips cannot all be served.

    Args:
        ground: where holes may stand.
        wishes: the clips.
        pitch_most: no two neighbouring rivets further apart, mm.
        spacing_least: from hole to hole, in hole diameters.
        eyelet_hole: diameter, mm.
        effort: of each search, in the solver's own units; None for the usual.

    Raises:
        TimeoutError: no plan was found, and none ruled out.
    """
    if not wishes:
        holes = eyelets_alone(ground, pitch_most, eyelet_hole)
        return HolePlan(holes, (), len(holes), 0.0, 0.0)
    # The solver takes longer to load than to solve.
    from chape.sheath.hole_search import EFFORT, search  # noqa: PLC0415

    placements = tuple(
        placement
        for number, wish in enumerate(wishes)
        for placement in placements_of(number, wish, ground)
    )
    if not all(_serves(placements, number) for number in range(len(wishes))):
        return None
    rules = rules_of(wishes, ground, pitch_most, spacing_least, eyelet_hole)
    sites = sites_of(ground, eyelet_hole, wishes, placements)
    uses = uses_of(sites, placements, [size_of(wish, eyelet_hole) for wish in wishes])
    effort = EFFORT if effort is None else effort
    found = search(ground, sites, placements, uses, rules, effort)
    if found is None:
        return None
    return _settled(_Draft(ground, rules, sites, placements, uses, found))


def _serves(placements: tuple[Placement, ...], number: int) -> bool:
    """Say whether a clip finds a place on one hand and on the other."""
    own = [placement for placement in placements if placement.clip == number]
    return any(one.true for one in own) and any(one.mirrored for one in own)


@dataclass(frozen=True, slots=True, eq=False)
class _Draft:
    """A plan as the search left it, on the places it chose from."""

    ground: Ground
    rules: Rules
    sites: Sites
    placements: tuple[Placement, ...]
    uses: list[list[tuple[int, ...]]]
    found: Found

    def wanted(self) -> dict[int, list[tuple[int, int]]]:
        """Return site → (placement, hole) of the clips that use it."""
        drilled = set(self.found.sites)
        wanted: dict[int, list[tuple[int, int]]] = {j: [] for j in self.found.sites}
        for k in self.found.placements:
            for hole, use in enumerate(self.uses[k]):
                own = self.placements[k].holes[hole]
                near = [j for j in use if j in drilled]
                gaps = [float(np.hypot(*(self.sites.points[j] - own))) for j in near]
                wanted[near[int(np.argmin(gaps))]].append((k, hole))
        return wanted


def _settled(draft: _Draft) -> HolePlan:
    wanted, drilled = draft.wanted(), list(draft.found.sites)
    sites = _on_patterns(draft, wanted)
    fixed = {j for j, users in wanted.items() if users or sites.held[j] >= 0}
    sites = _spread(draft, sites, fixed)
    order = sorted(drilled, key=lambda j: (sites.locus[j], sites.along[j], sites.out[j]))
    number = {j: n for n, j in enumerate(order)}
    holes = tuple(_hole(draft, sites, j, wanted[j]) for j in order)
    laid = []
    for k in draft.found.placements:
        pairs = {hole: j for j, users in wanted.items() for p, hole in users if p == k}
        own = [pairs[hole] for hole in range(len(draft.placements[k].holes))]
        points = _fitted(draft.placements[k].holes, sites.points[own])
        play = float(np.hypot(*(points - sites.points[own]).T).max())
        laid.append(Laid(draft.placements[k], tuple(number[j] for j in own), points, play))
    found = draft.found
    return HolePlan(holes, tuple(laid), found.holes_least, found.cost, found.cost_least)


def _hole(draft: _Draft, sites: Sites, j: int, users: list[tuple[int, int]]) -> PlannedHole:
    clips = tuple(sorted({draft.placements[k].clip for k, _ in users}))
    clear = max([draft.ground.seat, *(draft.rules.keep_clear[clip] for clip in clips)])
    return PlannedHole(
        sites.points[j], float(sites.along[j]), float(sites.out[j]), int(sites.locus[j]),
        float(sites.diameter[j]), bool(sites.rivet[j]), clear, clips, _held(sites, j),
    )  # fmt: skip


def _held(sites: Sites, j: int) -> int | None:
    return int(sites.held[j]) if sites.held[j] >= 0 else None


def _on_patterns(draft: _Draft, wanted: dict[int, list[tuple[int, int]]]) -> Sites:
    """Move each hole that serves clips into the middle between their patterns."""
    moved = draft.sites.points.copy()
    for j, users in wanted.items():
        if users and draft.sites.held[j] < 0:
            own = np.array([draft.placements[k].holes[hole] for k, hole in users])
            middle = (own.min(axis=0) + own.max(axis=0)) / 2
            if np.hypot(*(own - middle).T).max() <= ASTRAY_MOST:
                moved[j] = middle
    for _ in wanted:
        sites = _with_points(draft, moved)
        bad = _breaking(draft, sites)
        if not bad:
            return sites
        for j in bad:
            moved[j] = draft.sites.points[j]
    return draft.sites


def _spread(draft: _Draft, sites: Sites, fixed: set[int]) -> Sites:
    """Spread the eyelets that serve no clip evenly between those that must stay."""
    for number, locus in enumerate(draft.ground.loci):
        drilled = set(draft.found.sites)
        row = [int(j) for j in draft.rules.rivets(sites, number) if int(j) in drilled]
        stays = [n for n, j in enumerate(row) if j in fixed or n in (0, len(row) - 1)]
        for start, end in pairwise(stays):
            if end - start < 2:
                continue
            along = np.linspace(sites.along[row[start]], sites.along[row[end]], end - start + 1)[
                1:-1
            ]
            moved = sites.points.copy()
            moved[row[start + 1 : end]] = locus.at(along)
            spread = _with_points(draft, moved)
            if not _breaking(draft, spread) and not _blocked(draft, spread, row[start + 1 : end]):
                sites = spread
    return sites


def _breaking(draft: _Draft, sites: Sites) -> list[int]:
    """Return the drilled places that break a rule as they stand now."""
    drilled, taken = list(draft.found.sites), list(draft.found.placements)
    bad = {j for pair in broken_pairs(sites, drilled, taken, draft.uses, draft.rules) for j in pair}
    for one, _ in broken_spans(draft.ground, sites, drilled, draft.rules):
        row = [int(j) for j in draft.rules.rivets(sites, int(sites.locus[one])) if j in drilled]
        bad |= {one, row[row.index(one) + 1]}
    return sorted(bad)


def _blocked(draft: _Draft, sites: Sites, moved: list[int]) -> bool:
    taken = draft.ground.taken
    if taken is None:
        return False
    return bool(
        (shapely.distance(shapely.points(sites.points[moved]), taken) < draft.ground.seat).any()
    )


def _with_points(draft: _Draft, points: Floats) -> Sites:
    """Return the sites moved to other points."""
    old = draft.sites
    along, out = old.along.copy(), old.out.copy()
    for number, locus in enumerate(draft.ground.loci):
        own = [j for j in draft.found.sites if old.locus[j] == number]
        if own:
            along[own], out[own] = locus.placed(points[own])
    return Sites(points, along, out, old.locus, old.diameter, old.rivet, old.on_line, old.held)


def _fitted(pattern: Floats, holes: Floats) -> Floats:
    """Return a pattern turned and moved onto its holes, least squares, never mirrored."""
    middle = holes.mean(axis=0)
    own, wanted = pattern - pattern.mean(axis=0), holes - middle
    turn = np.arctan2(
        np.sum(own[:, 0] * wanted[:, 1] - own[:, 1] * wanted[:, 0]), np.sum(own * wanted)
    )
    matrix = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    fitted: Floats = own @ matrix.T + middle
    return fitted
