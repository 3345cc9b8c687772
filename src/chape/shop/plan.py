"""The plan of the day: made of what is in work, kept in the store, made anew when things differ."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import insert, select

from chape.errors import CannotMakeError
from chape.shop.in_work import alone_since, blanks_of, learned_figures, runs_of, seats
from chape.shop.plan_problem import ALONE, DayWork, day_problem
from chape.shop.route import StepTime, routes, step_time
from chape.shop.schedule_solve import solve
from chape.shop.tables import PLANS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy.engine import Connection

    from chape.shop.in_work import Done, Seat
    from chape.shop.schedule import Effort, Problem, Schedule
    from chape.shop.shop_file import ShopFile
    from chape.shop.store import Shop

#: How long a plan of the morning is searched, and one that is made while people wait, s.
MORNING, ANEW = 20.0, 1.0


@dataclass(frozen=True, slots=True)
class PlannedTask:
    """One part of a step in a plan.

    Attributes:
        name: as it is ticked, "B7.2.heat"; the unattended part ends in "~".
        title: what is done.
        station: where.
        start: seconds from the plan's zero.
        seconds: how long.
        hands: whether it needs hands.
    """

    name: str
    title: str
    station: str
    start: int
    seconds: int
    hands: bool

    @property
    def is_change(self) -> bool:
        """Whether it is a change of set-up, which is never ticked itself."""
        return ": " in self.name


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan as it is kept.

    Attributes:
        zero: the moment it counts from.
        tasks: in the order of their starts; changes of set-up among them.
        finish: when the last parcel is ready, seconds from zero.
        late: pieces that are ready after their due.
        gap: how much sooner all could be done at most, as a share; proved.
        set_up: place -> what it is set up for at zero.
        places: "station family" -> its place.
        relaxed: something that should not wait has to.
        seconds: the search took.
    """

    zero: datetime
    tasks: tuple[PlannedTask, ...]
    finish: int
    late: tuple[str, ...]
    gap: float
    set_up: dict[str, str]
    places: dict[str, str]
    relaxed: bool
    seconds: float

    @property
    def ready(self) -> datetime:
        """When the last parcel is ready."""
        return self.zero + timedelta(seconds=self.finish)


def make_plan(shop: Shop, now: datetime, effort: Effort) -> Plan:
    """Make a plan of all that is in work from now on, and keep it.

    Raises:
        CannotMakeError: nothing is in work.
    """
    old = shop.read(latest_plan)
    work = work_at(shop, now)
    if not work.pieces:
        raise CannotMakeError(
            "nothing is in work", mend="Take a batch first, chape shop batch take"
        )
    like = {} if old is None else {task.name: task.start for task in old.tasks}
    work, problem, schedule = solve_day(shop.file, work, effort, like)
    plan = _planned(problem, schedule, work)
    shop.change(
        lambda c: c.execute(insert(PLANS).values(day=now.date(), made=now, content=_plain(plan)))
    )
    return plan


def work_at(shop: Shop, now: datetime) -> DayWork:
    """Return what is in work at a moment: how far it has come, and what runs by itself."""
    old = shop.read(latest_plan)
    taken, done, learned = shop.read(
        lambda c: ((found := seats(c, shop.file)), runs_of(c, found), learned_figures(c))
    )
    over, running = alone_since(done, _alone(shop.file, taken, learned), now)
    return DayWork(
        blanks=blanks_of(taken),
        pieces=tuple(seat.work for seat in taken),
        now=now,
        done=over,
        running=running,
        set_up=_set_up(shop.file, old, done, taken),
        learned=learned,
    )


def latest_plan(connection: Connection) -> Plan | None:
    """Return the plan that was made last, None where there is none."""
    query = select(PLANS.c.content).order_by(PLANS.c.id.desc()).limit(1)
    content = connection.execute(query).scalar()
    return None if content is None else _plan(content)


def left_of(plan: Plan, done: Sequence[Done]) -> tuple[PlannedTask, ...]:
    """Return what hands still have to do, in the plan's order."""
    ticked = {each.task for each in done}
    reached: dict[str, int] = {}
    for task in plan.tasks:
        if task.name in ticked:
            reached[task.station] = max(task.start, reached.get(task.station, 0))
    # A set-up is over once something that came after it at its station has been ticked.
    return tuple(
        task
        for task in plan.tasks
        if task.hands
        and task.name not in ticked
        and not (task.is_change and reached.get(task.station, -1) >= task.start)
    )


def solve_day(
    file: ShopFile, work: DayWork, effort: Effort, like: Mapping[str, int]
) -> tuple[DayWork, Problem, Schedule]:
    """Return what was planned in the end, as a problem, and its schedule.

    Where something hot has to wait for hands that are not there, it waits as little as can be.

    Args:
        file: the shop file.
        work: to plan.
        effort: how long to search.
        like: task -> start in an older plan.
    """
    try:
        problem = day_problem(file, work)
        return work, problem, solve(problem, effort, like)
    except CannotMakeError:
        work = replace(work, relaxed=True)
        problem = day_problem(file, work)
        return work, problem, solve(problem, effort, like)


def _planned(problem: Problem, schedule: Schedule, work: DayWork) -> Plan:
    steps = {step.name: step for step in routes().steps}
    tasks = []
    for task in problem.tasks:
        word = task.name.rpartition(".")[2].removesuffix(ALONE)
        if word in steps:
            alone = task.name.endswith(ALONE)
            start = schedule.starts[task.name]
            title, station = steps[word].title, steps[word].station
            tasks.append(PlannedTask(task.name, title, station, start, task.seconds, not alone))
    for change in schedule.changes:
        station = change.resource.rpartition(" ")[0]
        title = f"Set up for {change.after}"
        name = f"{change.resource}: {change.after}"
        tasks.append(
            PlannedTask(name, title, station, change.start, change.end - change.start, hands=True)
        )
    ends = {task.name: schedule.starts[task.name] + task.seconds for task in problem.tasks}
    late = [due.task.rpartition(".")[0] for due in problem.dues if ends[due.task] > due.at]
    places = {
        f"{use.resource.rpartition(' ')[0]} {use.family}": use.resource
        for use in problem.uses
        if use.family is not None
    }
    return Plan(
        zero=work.now,
        tasks=tuple(sorted(tasks, key=lambda task: (task.start, task.name))),
        finish=schedule.finish,
        late=tuple(sorted(late)),
        gap=schedule.gap,
        set_up={
            r.name: r.changes.at_start
            for r in problem.resources
            if r.changes is not None and r.changes.at_start is not None
        },
        places=places,
        relaxed=work.relaxed,
        seconds=schedule.seconds,
    )


def _alone(file: ShopFile, taken: Sequence[Seat], learned: dict[str, float]) -> dict[str, StepTime]:
    """Return task -> time of every step in work that runs by itself for a while."""
    return {
        f"{name}.{step.name}": takes
        for seat in taken
        for name in (seat.work.blank, seat.work.serial)
        for step in routes().steps
        if (takes := step_time(step, file.model(seat.model), file, learned, seat.sheet)).alone
    }


def _set_up(
    file: ShopFile, old: Plan | None, done: Sequence[Done], taken: Sequence[Seat]
) -> dict[str, str]:
    """Return what each place is set up for: as the last plan began, and what was done since."""
    if old is None:
        return {}
    set_up = dict(old.set_up)
    steps = {step.name: step for step in routes().steps}
    by_blank = {seat.work.blank: seat for seat in taken}
    for each in done:
        name, _, word = each.task.rpartition(".")
        seat = by_blank.get(name)
        if seat is None or each.ended < old.zero:
            continue
        model, station = file.model(seat.model), steps[word].station
        families = {"colour": seat.colour, "mould": model.mould, "fixture": model.fixture}
        family = families.get(routes().stations[station].family or "")
        place = old.places.get(f"{station} {family}")
        if family is not None and place is not None:
            set_up[place] = family
    return set_up


def _plain(plan: Plan) -> dict[str, Any]:
    return {
        "zero": plan.zero.isoformat(),
        "tasks": [[t.name, t.title, t.station, t.start, t.seconds, t.hands] for t in plan.tasks],
        "finish": plan.finish,
        "late": list(plan.late),
        "gap": plan.gap,
        "set_up": plan.set_up,
        "places": plan.places,
        "relaxed": plan.relaxed,
        "seconds": plan.seconds,
    }


def _plan(content: dict[str, Any]) -> Plan:
    return Plan(
        zero=datetime.fromisoformat(content["zero"]),
        tasks=tuple(PlannedTask(*row) for row in content["tasks"]),
        finish=content["finish"],
        late=tuple(content["late"]),
        gap=content["gap"],
        set_up=content["set_up"],
        places=content["places"],
        relaxed=content["relaxed"],
        seconds=content["seconds"],
    )
