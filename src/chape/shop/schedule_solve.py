"""Solves a schedule with CP-SAT, from one built by insertion, and checks what comes out."""

from __future__ import annotations

import time
from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from chape.errors import CannotMakeError
from chape.shop.schedule import Change, Effort, Schedule, finish_of, lateness_of
from chape.shop.schedule_bound import least_finish, least_lateness
from chape.shop.schedule_insert import insert_all, layout_of
from chape.shop.schedule_model import SolverModel, in_families
from chape.shop.schedule_rules import broken_rules, refuse_impossible
from chape.shop.schedule_search import improve, schedule_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from chape.shop.schedule import Problem, Resource
    from chape.shop.schedule_insert import Layout


#: With more tasks than these, other orders of insertion are tried before CP-SAT is.
MANY = 150

#: The share of the time for that.
SEARCHED = 0.85


def solve(
    problem: Problem, effort: Effort | None = None, like: Mapping[str, int] | None = None
) -> Schedule:
    """Return the best schedule found in the time given, with what is proved about it.

    Args:
        problem: what to schedule.
        effort: how long to search; with one worker and more time than needed, the same problem
            gives the same schedule.
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
    best, layout = _inserted(problem, finish + lateness, like or {})
    many = len(problem.tasks) > MANY
    if many and best.gap > effort.gap:
        best = improve(layout, best, replace(effort, seconds=effort.seconds * SEARCHED))
    left = effort.seconds - (time.monotonic() - began)
    if best.gap > effort.gap and left > 0:
        best = _searched(problem, best, finish, replace(effort, seconds=left))
    wrong = broken_rules(problem, best.starts, best.changes)
    if wrong:
        raise RuntimeError(f"a schedule breaks a rule: {wrong[0]}")
    spent = time.monotonic() - began
    return Schedule(
        best.starts, best.changes, best.finish, best.lateness, best.bound, best.proved, spent
    )


def _ranks(problem: Problem, like: Mapping[str, int]) -> Iterable[dict[str, float]]:
    """Yield orders to try: an older one, by due and way to go, by way to go, as listed."""
    ahead = {task.name: float(task.seconds) for task in problem.tasks}
    due = dict.fromkeys(ahead, float("inf"))
    due |= {each.task: float(each.at) for each in problem.dues}
    seconds = {task.name: task.seconds for task in problem.tasks}
    for _ in problem.tasks:
        moved = False
        for link in problem.links:
            way = seconds[link.before] + link.least + ahead[link.after]
            if way > ahead[link.before]:
                ahead[link.before], moved = way, True
            if due[link.after] < due[link.before]:
                due[link.before], moved = due[link.after], True
        if not moved:
            break
    if like:
        # What is new comes where what it waits for, or what waits for it, has its place.
        yield {name: float(like.get(name, 0)) for name in ahead}
    longest = 1.0 + max(ahead.values(), default=0.0)
    latest = 1.0 + max((d for d in due.values() if d < float("inf")), default=0.0)
    yield {name: min(due[name], latest) - ahead[name] / longest for name in ahead}
    yield {name: -ahead[name] for name in ahead}
    yield {name: float(number) for number, name in enumerate(ahead)}


def _inserted(problem: Problem, bound: int, like: Mapping[str, int]) -> tuple[Schedule, Layout]:
    """Return the best of a few schedules built by insertion, and the layout to improve it in."""
    whole = layout_of(problem, loose=False, whole=True)
    loose = layout_of(problem, loose=True, whole=False)
    found: list[Schedule] = []
    for layout, rank in product((loose, whole), _ranks(problem, like)):
        ranks = [min(rank[name] for name in block.offsets) for block in layout.blocks]
        try:
            built = insert_all(layout, ranks, soonest=False)
        except CannotMakeError:
            # Stations may wait for each other where blocks are not whole; whole ones never do.
            if layout is whole:
                raise
            continue
        found.append(schedule_of(layout, built, bound))
    return min(found, key=lambda schedule: schedule.cost), loose


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
