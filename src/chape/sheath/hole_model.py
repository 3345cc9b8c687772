"""The rules of a hole plan as a constraint solver reads them.

A model of yes-or-no choices: each place for a hole is drilled or not, each placement of a clip is
taken or not. What it asks:

- every clip lies somewhere, and so does its mirror image (``clip_shapes`` says why);
- each hole of a clip that lies somewhere is drilled within the play of its screw;
- of neighbouring rivets along a line none is further from the next than the pitch;
- a rivet stands at the line's beginning at the mouth and at its end at the tip, or a clip's hole
  within 3 mm: further off the flanges would gape at the mouth;
- two holes keep their distance, unless they are holes of one and the same clip.

Written down once and for all is what holds for stretches and discs of places; what is left, pair by
pair, is added by ``hole_search`` where a solution breaks it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil
from typing import TYPE_CHECKING, Any

import numpy as np
from ortools.sat.python import cp_model

from chape.sheath.clip_places import ASTRAY_WORTH
from chape.sheath.hole_rules import END_MOST
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.sheath.clip_places import Ground, Placement
    from chape.sheath.hole_rules import Rules
    from chape.sheath.hole_sites import Sites

#: The added sheet is counted in strips of this width along a line, mm.
STRIP = 3.0

#: Beside the lines discs are laid this far apart, mm.
CELL = 3.0

#: Added sheet reaches this far beyond a hole along the line, mm, besides the flange: the outline
#: is filled there.
FILLED = 3.0


@dataclass(slots=True, eq=False)
class HoleModel:
    """The choices, and what is needed to add rules to them."""

    ground: Ground
    sites: Sites
    placements: tuple[Placement, ...]
    uses: list[list[tuple[int, ...]]]
    rules: Rules
    model: Any = field(default_factory=cp_model.CpModel)
    drilled: list[Any] = field(default_factory=list)
    taken: list[Any] = field(default_factory=list)
    crowded: set[tuple[int, ...]] = field(default_factory=set)
    reaches: dict[int, Floats] = field(default_factory=dict)


def modelled(made: HoleModel) -> HoleModel:
    """Write every rule but the last pairs into a new model, and return it."""
    model = made.model
    made.drilled = [model.new_bool_var("") for _ in range(len(made.sites))]
    made.taken = [model.new_bool_var("") for _ in made.placements]
    for j in np.flatnonzero(made.sites.held >= 0):
        model.add(made.drilled[int(j)] == 1)
    _each_clip_lies(made)
    _clips_find_holes(made)
    for number in range(len(made.ground.loci)):
        _spans_are_short(made, number)
        _ends_are_held(made, number)
        _holes_keep_apart(made, number)
    _holes_keep_apart_beside(made)
    return made


def demands(placements: tuple[Placement, ...]) -> dict[tuple[int, bool], list[int]]:
    """Return (clip, mirrored) → numbers of the placements that would serve it."""
    found: dict[tuple[int, bool], list[int]] = {}
    for k, placement in enumerate(placements):
        for mirrored in (False, True):
            if placement.mirrored if mirrored else placement.true:
                found.setdefault((placement.clip, mirrored), []).append(k)
    return found


def _each_clip_lies(made: HoleModel) -> None:
    for those in demands(made.placements).values():
        made.model.add_exactly_one(made.taken[k] for k in those)


def _clips_find_holes(made: HoleModel) -> None:
    """Let each hole of a placement be drilled; of one demand's placements only one counts."""
    for those in demands(made.placements).values():
        groups: dict[tuple[int, ...], set[int]] = {}
        for k in those:
            for use in made.uses[k]:
                groups.setdefault(use, set()).add(k)
        for use, served in groups.items():
            holes = cp_model.LinearExpr.sum([made.drilled[j] for j in use])
            made.model.add(
                cp_model.LinearExpr.sum([made.taken[k] for k in sorted(served)]) <= holes
            )


def _spans_are_short(made: HoleModel, number: int) -> None:
    """Let a rivet stand in every stretch that is as long as the pitch allows."""
    locus, rivets = made.ground.loci[number], made.rules.rivets(made.sites, number)
    starts = np.arange(0.0, locus.length, 0.5)
    ends, reaches = locus.reached(starts, made.rules.pitch_most)
    along = made.sites.along[rivets]
    for start, end in zip(starts[reaches], ends[reaches], strict=True):
        if end < locus.length - SAME_LENGTH:
            within = rivets[(along > start + SAME_LENGTH) & (along <= end + SAME_LENGTH)]
            if len(within) or not len(made.ground.held):
                made.model.add_bool_or([made.drilled[int(j)] for j in within])
    if len(made.ground.held):
        return
    # Follows from the rest, but the solver does not see it.
    made.model.add(
        cp_model.LinearExpr.sum([made.drilled[int(j)] for j in rivets]) >= _fewest(made, number)
    )


def _fewest(made: HoleModel, number: int) -> int:
    """Return how many rivets a line needs at least, whatever the clips.

    The first may stand as far from the mouth as an end may be held, and the last from the tip.
    """
    locus, rules = made.ground.loci[number], made.rules
    place, count = np.array([END_MOST]), 1
    while place[0] < locus.length - END_MOST:
        ends, reaches = locus.reached(place, rules.pitch_most)
        if not reaches[0]:
            # From here to the end of the line is less than a pitch.
            return count + 1
        place, count = ends, count + 1
    return count


def _ends_are_held(made: HoleModel, number: int) -> None:
    """Let a rivet stand at either end, or a clip's hole near it, or a held one beside it."""
    length = made.ground.loci[number].length
    rivets = made.rules.rivets(made.sites, number)
    served: dict[int, list[int]] = {}
    for k, holes in enumerate(made.uses):
        for use in holes:
            for j in use:
                served.setdefault(j, []).append(k)
    ends = made.ground.loci[number].at(np.array([0.0, length]))
    beside = made.ground.held.beside(ends, made.ground.clear)
    ways = (made.sites.along, length - made.sites.along)
    for from_end, is_held in zip(ways, beside, strict=True):
        if is_held:
            continue
        near = [int(j) for j in rivets if from_end[j] <= END_MOST]
        made.model.add_bool_or([made.drilled[j] for j in near])
        for j in near:
            if abs(from_end[j]) > SAME_LENGTH:
                clips = [made.taken[k] for k in sorted(set(served.get(j, ())))]
                made.model.add_bool_or([made.drilled[j].negated(), *clips])


def _holes_keep_apart(made: HoleModel, number: int) -> None:
    """Let one hole stand in every disc in which any two would be too near."""
    locus = made.ground.loci[number]
    for diameter in sorted(set(made.sites.diameter)):
        radius = made.rules.apart(diameter, diameter) / 2 - SAME_LENGTH
        places = locus.at(np.append(np.arange(0.0, locus.length, 0.5), locus.length))
        for place in places:
            one_in_disc(made, place, radius, float(diameter))


def _holes_keep_apart_beside(made: HoleModel) -> None:
    """Ask the same beside the lines, at least once near every place that a clip brought."""
    sites = made.sites
    beside = ~sites.on_line & (sites.out > made.ground.seat)
    cells = np.unique(np.round(sites.points[beside] / CELL), axis=0) * CELL
    diameters = sorted(set(sites.diameter[beside]))
    for diameter in diameters:
        radius = made.rules.apart(diameter, diameter) / 2 - SAME_LENGTH
        for place in cells:
            one_in_disc(made, place, radius, float(diameter))


def one_in_disc(made: HoleModel, middle: Floats, radius: float, diameter: float) -> None:
    """Allow one hole in a disc as wide as two holes must keep apart, or the holes of one clip."""
    sites = made.sites
    near = np.hypot(*(sites.points - middle).T) <= radius
    inside = tuple(int(j) for j in np.flatnonzero(near & (sites.diameter >= diameter)))
    if len(inside) < 2 or inside in made.crowded:
        return
    made.crowded.add(inside)
    stays = max(1, int((sites.held[list(inside)] >= 0).sum()))
    held = set(inside)
    more = []
    for k, holes in enumerate(made.uses):
        if not made.rules.crowds_itself[made.placements[k].clip]:
            continue
        count = sum(any(j in held for j in use) for use in holes)
        if count > 1:
            more.append((count - 1) * made.taken[k])
    drilled = cp_model.LinearExpr.sum([made.drilled[j] for j in inside])
    made.model.add(drilled <= stays + sum(more))


def cost(made: HoleModel) -> Any:  # noqa: ANN401 - an expression of the solver's
    """Return the added sheet and the ways astray, in hundredths of a mm²."""
    parts = []
    reaches = [reach_of(made, k) for k in range(len(made.placements))]
    for number, locus in enumerate(made.ground.loci):
        most = [
            round(10 * max((reaches[k][b] for k, p in enumerate(made.placements)
                            if p.locus == number), default=0.0))
            for b in range(_strips(locus.length))
        ]  # fmt: skip
        strips = [made.model.new_int_var(0, top, "") if top else None for top in most]
        for those in demands(made.placements).values():
            here = [k for k in those if made.placements[k].locus == number]
            for b, strip in enumerate(strips):
                terms = [(k, round(10 * float(reaches[k][b]))) for k in here]
                terms = [(k, reach) for k, reach in terms if reach]
                if strip is not None and terms:
                    made.model.add(sum(reach * made.taken[k] for k, reach in terms) <= strip)
        parts += [round(10 * STRIP) * strip for strip in strips if strip is not None]
    parts += [
        round(100 * ASTRAY_WORTH * placement.astray) * taken
        for placement, taken in zip(made.placements, made.taken, strict=True)
    ]
    return cp_model.LinearExpr.sum(parts) if parts else 0


def cost_of(made: HoleModel, taken: list[int]) -> float:
    """Return what taking these placements costs, mm², rounded as the model rounds."""
    total = 0.0
    for number, locus in enumerate(made.ground.loci):
        here = [reach_of(made, k) for k in taken if made.placements[k].locus == number]
        most = np.max(here, axis=0) if here else np.zeros(_strips(locus.length))
        total += STRIP * float(np.sum(np.round(10 * most))) / 10
    return total + sum(round(100 * ASTRAY_WORTH * made.placements[k].astray) / 100 for k in taken)


def _strips(length: float) -> int:
    return ceil(length / STRIP)


def reach_of(made: HoleModel, k: int) -> Floats:
    """Return (strips,) how far a placement pushes the outline out along its line, mm."""
    if k not in made.reaches:
        made.reaches[k] = _reach(made, k)
    return made.reaches[k]


def _reach(made: HoleModel, k: int) -> Floats:
    placement = made.placements[k]
    more = made.rules.keep_clear[placement.clip] - made.ground.seat
    out = np.maximum(placement.out + max(0.0, more), 0.0)
    out = np.where(out < 0.1, 0.0, out)
    count = _strips(made.ground.loci[placement.locus].length)
    middles = (np.arange(count) + 0.5) * STRIP
    wide = made.ground.seat + FILLED
    reach = np.zeros(count)
    if not out.any():
        return reach
    order = np.argsort(placement.along, kind="stable")
    for first, second in zip(order, np.append(order[1:], order[-1]), strict=True):
        ends = placement.along[[first, second]]
        low = min(out[first], out[second])
        # Between two holes that both stand out the outline does not come back in.
        reach[(middles >= ends[0]) & (middles <= ends[1])] = np.maximum(
            reach[(middles >= ends[0]) & (middles <= ends[1])], low
        )
        beside = np.abs(middles - ends[0]) <= wide
        reach[beside] = np.maximum(reach[beside], out[first])
    return reach
