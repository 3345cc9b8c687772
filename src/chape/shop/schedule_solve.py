"""Solves a schedule, from some built by insertion, and checks what comes out."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from chape.shop.schedule import Change, Effort, Schedule, finish_of, lateness_of
from chape.shop.schedule_bound import least_finish, least_lateness
from chape.shop.schedule_model import SolverModel, in_families
from chape.shop.schedule_rules import broken_rules, refuse_impossible
from chape.shop.schedule_search import improve
from chape.shop.schedule_starts import starts_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.shop.schedule import Problem, Resource


#: With more tasks than these, other orders of insertion are tried instead of CP-SAT: it finds
#: nothing better in a time that a person waits.
MANY = 150


def solve(
    problem: Problem, effort: Effort | None = None, like: Mapping[str, int] | None = None
) -> Schedule:
    """Return the best schedule found in the time given, with what is proved about it.

    Args:
        problem: what to schedule.
        effort: how long to search. With more time than needed the same problem gives the same
            schedule: with few tasks if there is one worker, with many whatever their number.
        like: starts of an older schedule, whose order is tried first.

    Raises:
        CannotMakeError: the problem contradicts itself.
    """
    effort = effort or Effort()
    began = time.monotonic()
    refuse_impossible(problem)
    if not problem.tasks:
        return Schedule({}, (), 0, 0, 0, proved=True)
    finish, lateness = least_finish(problem), least_lateness(problem)
    # The first time of all, this waits for its code to be compiled: that is no searching.
    layout, begun = starts_of(problem, finish + lateness, like or {})
    best = min(begun, key=lambda schedule: schedule.cost)
    if best.gap > effort.gap and effort.seconds > 0:
        if len(problem.tasks) > MANY:
            best = improve(layout, begun, effort)
        else:
            best = _searched(problem, best, finish, effort)
    wrong = broken_rules(problem, best.starts, best.changes)
    if wrong:
        raise RuntimeError(f"a schedule breaks a rule: {wrong[0]}")
    spent = time.monotonic() - began
    return Schedule(
        best.starts, best.changes, best.finish, best.lateness, best.bound, best.proved, spent
    )


def _searched(problem: Problem, best: Schedule, least: int, effort: Effort) -> Schedule:
    """Return the best schedule CP-SAT finds, or ``best`` where it finds none better."""
    built = SolverModel(problem, max(best.finish + best.lateness, best.finish) + 1)
    built.build(least)
    built.hint(best)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = effort.seconds
    solver.parameters.num_workers = effort.workers
    solver.parameters.random_seed = effort.seed
    solver.parameters.relative_gap_limit = effort.gap
    # A linear relaxation says little about a disjunctive schedule and takes most of the time: the
    # ten-by-ten job shop of 1963 is proved in 2 s without it, and not in 35 s with it.
    solver.parameters.linearization_level = 0
    status = solver.solve(built.model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return best
    bound = max(best.bound, round(solver.best_objective_bound))
    starts = {name: solver.value(start) for name, start in built.starts.items()}
    finish, late = finish_of(problem, starts), lateness_of(problem, starts)
    if finish + late >= best.cost:
        proved = best.cost <= bound
        return Schedule(best.starts, best.changes, best.finish, best.lateness, bound, proved)
    changes = _changes(problem, built, solver)
    return Schedule(starts, changes, finish, late, bound, finish + late <= bound)


def _changes(problem: Problem, built: SolverModel, solver: cp_model.CpSolver) -> tuple[Change, ...]:
    found = []
    for (name, before, after), arc in built.arcs.items():
        if after == 0 or not solver.value(arc):
            continue
        begin, took = (solver.value(part) for part in built.set_ups[name, after])
        if took == 0:
            continue
        (resource,) = (r for r in problem.resources if r.name == name)
        uses = in_families(problem, resource)
        now = uses[before - 1].family if before else _at_start(resource)
        found.append(Change(name, now, str(uses[after - 1].family), begin, begin + took))
    return tuple(sorted(found, key=lambda change: (change.start, change.resource)))


def _at_start(resource: Resource) -> str | None:
    return None if resource.changes is None else resource.changes.at_start
