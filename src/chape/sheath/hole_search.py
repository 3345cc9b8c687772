"""The fewest holes that serve every clip, and of those plans the one that adds least sheet.

A constraint solver searches the model of ``hole_model`` twice: first for the fewest holes, then,
with so many holes, for the least sheet added and the clips nearest to where they are wanted. Rules
that would be too many to write down for every pair of places are added where a solution breaks
them, and the search goes on. One thread, a fixed seed and a limit counted in steps, not seconds:
the same plan comes out on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from ortools.sat.python import cp_model

from chape.sheath.clip_places import ASTRAY_WORTH
from chape.sheath.hole_model import (
    STRIP,
    HoleModel,
    cost,
    cost_of,
    modelled,
    one_in_disc,
    reach_of,
)
from chape.sheath.hole_rules import broken_pairs, broken_spans
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from chape.sheath.clip_places import Ground, Placement
    from chape.sheath.hole_rules import Rules
    from chape.sheath.hole_sites import Sites

#: Each of the two searches ends after so many of the solver's own units of work, about seconds.
EFFORT = 2.5

#: Work before the solving itself costs more here than it saves. An interrupt is not the solver's to
#: catch: it would end the search early and pass off what it has as the answer.
SETTINGS = {
    "catch_sigint_signal": False,
    "num_workers": 1,
    "random_seed": 1,
    "linearization_level": 2,
    "symmetry_level": 0,
    "cp_model_probing_level": 0,
    "max_presolve_iterations": 1,
    "merge_at_most_one_work_limit": 0.0,
}

#: The second search starts again this often, on what the plan found so far leaves worth trying.
PRUNINGS = 3

#: How many times rules that a solution breaks are added before the search gives up.
ROUNDS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a search found.

    Attributes:
        sites: numbers of the places that are drilled, in order.
        placements: numbers of the placements taken, in order.
        holes_least: no plan over these places has fewer holes.
        cost: sheet added and clips astray, mm².
        cost_least: no plan with so many holes comes to less.
    """

    sites: tuple[int, ...]
    placements: tuple[int, ...]
    holes_least: int
    cost: float
    cost_least: float


def search(
    ground: Ground,
    sites: Sites,
    placements: tuple[Placement, ...],
    uses: list[list[tuple[int, ...]]],
    rules: Rules,
    effort: float = EFFORT,
) -> Found | None:
    """Return the best plan, or None where there is none.

    Args:
        ground: gives the lines.
        sites: places for holes.
        placements: ways the clips may lie; each clip has some.
        uses: for each placement, for each of its holes, the sites that would do.
        rules: distances to keep.
        effort: of each of the two searches, in the solver's own units.

    Raises:
        TimeoutError: nothing was found, and nothing proved, with that much effort.
    """
    made = modelled(HoleModel(ground, sites, placements, uses, rules))
    total = cp_model.LinearExpr.sum(made.drilled)
    made.model.minimize(total)
    first = _solved(made, effort, None)
    if first is None:
        return None
    least = max(0, ceil(first.bound - 1e-6))
    made.model.add(total == len(first.drilled))
    made.model.minimize(cost(made))
    best, left = first, effort
    cost_least = 0.0
    for _ in range(PRUNINGS):
        known = cost_of(made, best.taken)
        _leave_out(made, known)
        again = _solved(made, left, best, must=False)
        if again is None:
            break
        cost_least = min(known, again.bound / 100)
        better = cost_of(made, again.taken) < known - 1e-6
        best, left = again, left - again.effort
        if again.proven or not better or left < effort / 10:
            break
    known = cost_of(made, best.taken)
    cost_least = max(0.0, min(known, cost_least))
    return Found(tuple(best.drilled), tuple(best.taken), least, known, cost_least)


def _leave_out(made: HoleModel, known: float) -> None:
    """Leave out the placements that alone come to more than a plan that is known, mm²."""
    clips = sorted({placement.clip for placement in made.placements})
    own = {
        k: (STRIP * float(np.sum(np.round(10 * reach_of(made, k)))) / 10, placement.astray)
        for k, placement in enumerate(made.placements)
    }
    least = {
        clip: tuple(
            min(own[k][part] for k, p in enumerate(made.placements) if p.clip == clip)
            for part in (0, 1)
        )
        for clip in clips
    }
    for k, placement in enumerate(made.placements):
        others = [least[clip] for clip in clips if clip != placement.clip]
        sheet = max(own[k][0], *(area for area, _ in others), 0.0)
        astray = own[k][1] + sum(way for _, way in others)
        if sheet + ASTRAY_WORTH * astray > known + 1.0:
            made.model.add(made.taken[k] == 0)


@dataclass(frozen=True, slots=True, eq=False)
class _Answer:
    """What one search came to: sites, placements, bound, the work spent, and whether it is best."""

    drilled: list[int]
    taken: list[int]
    bound: float
    effort: float
    proven: bool


def _solved(
    made: HoleModel, effort: float, hint: _Answer | None, *, must: bool = True
) -> _Answer | None:
    """Return the best found; None where no plan exists, or none was found and none must be.

    Raises:
        TimeoutError: nothing was found, nothing was ruled out, and something must be.
    """
    left = effort
    for _ in range(ROUNDS):
        solver = cp_model.CpSolver()
        for name, value in SETTINGS.items():
            setattr(solver.parameters, name, value)
        solver.parameters.max_deterministic_time = max(left, effort / 4)
        if hint is not None:
            _hinted(made, hint)
        status = solver.solve(made.model)
        left -= solver.response_proto.deterministic_time
        if status == cp_model.INFEASIBLE:
            return None
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            break
        drilled = [j for j, one in enumerate(made.drilled) if solver.boolean_value(one)]
        taken = [k for k, one in enumerate(made.taken) if solver.boolean_value(one)]
        proven = status == cp_model.OPTIMAL
        answer = _Answer(drilled, taken, solver.best_objective_bound, effort - left, proven)
        if not _added(made, drilled, taken):
            return answer
        hint = answer
    if must:
        raise TimeoutError("no hole plan was found, and none ruled out")
    return None


def _hinted(made: HoleModel, answer: _Answer) -> None:
    made.model.clear_hints()
    for choices, ones in ((made.drilled, set(answer.drilled)), (made.taken, set(answer.taken))):
        for k, one in enumerate(choices):
            made.model.add_hint(one, k in ones)


def _added(made: HoleModel, drilled: list[int], taken: list[int]) -> bool:
    """Add the rules that a solution breaks; say whether there were any."""
    any_broken = False
    for one, other in broken_pairs(made.sites, drilled, taken, made.uses, made.rules):
        any_broken = True
        diameter = float(min(made.sites.diameter[one], made.sites.diameter[other]))
        least = made.rules.apart(*(float(made.sites.diameter[j]) for j in (one, other)))
        middle = (made.sites.points[one] + made.sites.points[other]) / 2
        heading = made.ground.loci[made.sites.locus[one]].headed(made.sites.along[[one]])[0]
        before = len(made.crowded)
        for shift in np.arange(-12.0, 12.5, 1.0):
            radius = made.rules.apart(diameter, diameter) / 2 - SAME_LENGTH
            one_in_disc(made, middle + shift * heading, radius, diameter)
        if len(made.crowded) == before or least > 2 * radius + 1e-3:
            own = [
                made.taken[k]
                for k in range(len(made.placements))
                if made.rules.holds_both(made.uses[k], one, other)
            ]
            made.model.add_bool_or(
                [made.drilled[one].negated(), made.drilled[other].negated(), *own]
            )
    for one, reached in broken_spans(made.ground, made.sites, drilled, made.rules):
        any_broken = True
        made.model.add_bool_or([made.drilled[one].negated(), *(made.drilled[j] for j in reached)])
    return any_broken
