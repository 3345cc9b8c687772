"""States a schedule's problem for CP-SAT."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

if TYPE_CHECKING:
    from chape.shop.schedule import Changes, Problem, Resource, Schedule, Use


@dataclass(slots=True, eq=False)
class SolverModel:
    """The problem as CP-SAT sees it."""

    problem: Problem
    horizon: int
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    starts: dict[str, cp_model.LinearExprT] = field(default_factory=dict)
    free: dict[str, cp_model.IntVar] = field(default_factory=dict)
    finish: cp_model.IntVar | None = None
    intervals: dict[str, list[tuple[cp_model.IntervalVar, int]]] = field(default_factory=dict)
    #: (resource, index of its use) -> start and length of the set-up before it
    set_ups: dict[tuple[str, int], tuple[cp_model.IntVar, cp_model.IntVar]] = field(
        default_factory=dict
    )
    arcs: dict[tuple[str, int, int], cp_model.BoolVarT] = field(default_factory=dict)

    def build(self, least: int) -> None:
        """State everything; ``least`` is a finish that no schedule comes before."""
        self._place_tasks()
        self._link()
        self._use()
        for resource in self.problem.resources:
            if resource.changes is not None:
                self._change(resource, resource.changes)
        for resource in self.problem.resources:
            self._fill(resource)
        self._aim(least)

    def _place_tasks(self) -> None:
        """Give each task a start; those that follow another without any choice share its."""
        follows = {
            link.after: (link.before, link.least)
            for link in self.problem.links
            if link.least == link.most
        }
        tasks = {task.name: task for task in self.problem.tasks}

        def start(name: str, depth: int = 0) -> cp_model.LinearExprT:
            if name in self.starts:
                return self.starts[name]
            task = tasks[name]
            if name in follows and depth < len(tasks):
                before, gap = follows[name]
                self.starts[name] = start(before, depth + 1) + tasks[before].seconds + gap
                self.model.add(self.starts[name] >= task.earliest)
            else:
                variable = self.model.new_int_var(
                    task.earliest, max(task.earliest, self.horizon - task.seconds), name
                )
                self.starts[name] = self.free[name] = variable
            if task.fixed is not None:
                self.model.add(self.starts[name] == task.fixed)
            return self.starts[name]

        for name in tasks:
            start(name)

    def _link(self) -> None:
        seconds = {task.name: task.seconds for task in self.problem.tasks}
        for link in self.problem.links:
            if link.least == link.most:
                self.model.add(
                    self.starts[link.after]
                    == self.starts[link.before] + seconds[link.before] + link.least
                )
                continue
            end = self.starts[link.before] + seconds[link.before]
            self.model.add(self.starts[link.after] >= end + link.least)
            if link.most is not None:
                self.model.add(self.starts[link.after] <= end + link.most)

    def _use(self) -> None:
        seconds = {task.name: task.seconds for task in self.problem.tasks}
        for resource in self.problem.resources:
            self.intervals[resource.name] = [
                (self.model.new_fixed_size_interval_var(start, end - start, "closed"), -1)
                for start, end in resource.closed
            ]
        for use in self.problem.uses:
            start = self.starts[use.first]
            if use.first == use.last:
                span = self.model.new_fixed_size_interval_var(start, seconds[use.first], use.first)
            else:
                end = self.starts[use.last] + seconds[use.last]
                size = self.model.new_int_var(0, self.horizon, "")
                span = self.model.new_interval_var(start, size, end, use.first)
            self.intervals[use.resource].append((span, use.amount))

    def _fill(self, resource: Resource) -> None:
        found = self.intervals[resource.name]
        spans = [span for span, _ in found]
        if resource.capacity == 1:
            self.model.add_no_overlap(spans)
            return
        amounts = [resource.capacity if amount < 0 else amount for _, amount in found]
        self.model.add_cumulative(spans, amounts, resource.capacity)

    def _change(self, resource: Resource, rules: Changes) -> None:
        """Order the uses of a resource in a ring (node 0 is the start), each after its set-up."""
        seconds = {task.name: task.seconds for task in self.problem.tasks}
        uses = in_families(self.problem, resource)
        arcs: list[cp_model.ArcT] = []
        for after, use in enumerate(uses, 1):
            begin = self.model.new_int_var(0, self.horizon, "")
            most = max([rules.usual, *rules.special.values()])
            took = self.model.new_int_var(0, most, "")
            self.set_ups[resource.name, after] = begin, took
            ready = self.model.new_int_var(0, self.horizon, "")
            span = self.model.new_interval_var(begin, took, ready, "set-up")
            for name in (resource.name, *rules.needs):
                self.intervals[name].append((span, 1))
            self.model.add(ready <= self.starts[use.first])
            first = self._arc(resource.name, 0, after)
            arcs.append((0, after, first))
            self.model.add(took == rules.seconds(rules.at_start, use.family)).only_enforce_if(first)
            last = self._arc(resource.name, after, 0)
            arcs.append((after, 0, last))
            for before, other in enumerate(uses, 1):
                if before == after:
                    continue
                arc = self._arc(resource.name, before, after)
                arcs.append((before, after, arc))
                end = self.starts[other.last] + seconds[other.last]
                self.model.add(begin >= end).only_enforce_if(arc)
                length = rules.seconds(other.family, use.family)
                self.model.add(took == length).only_enforce_if(arc)
        if arcs:
            self.model.add_circuit(arcs)

    def _arc(self, resource: str, before: int, after: int) -> cp_model.IntVar:
        arc = self.model.new_bool_var("")
        self.arcs[resource, before, after] = arc
        return arc

    def _aim(self, least: int) -> None:
        seconds = {task.name: task.seconds for task in self.problem.tasks}
        finish = self.finish = self.model.new_int_var(least, self.horizon, "finish")
        for name, start in self.starts.items():
            self.model.add(finish >= start + seconds[name])
        terms: list[cp_model.LinearExprT] = [finish]
        for due in self.problem.dues:
            late = self.model.new_int_var(0, self.horizon, "")
            self.model.add(late >= self.starts[due.task] + seconds[due.task] - due.at)
            terms.append(due.weight * late)
        self.model.minimize(sum(terms))

    def hint(self, schedule: Schedule) -> None:
        """Begin from a schedule."""
        for name, variable in self.free.items():
            self.model.add_hint(variable, schedule.starts[name])
        if self.finish is not None:
            self.model.add_hint(self.finish, schedule.finish)
        for resource in self.problem.resources:
            if resource.changes is None:
                continue
            uses = list(enumerate(in_families(self.problem, resource), 1))
            uses.sort(key=lambda item: schedule.starts[item[1].first])
            order = [0, *(number for number, _ in uses), 0]
            following = set(pairwise(order))
            for (name, before, after), arc in self.arcs.items():
                if name == resource.name:
                    self.model.add_hint(arc, (before, after) in following)


def in_families(problem: Problem, resource: Resource) -> list[Use]:
    """Return the uses of a resource for which it has to be set up."""
    return [u for u in problem.uses if u.resource == resource.name and u.family is not None]
