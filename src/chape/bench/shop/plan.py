"""The plan of the day: the next thing for the hands, what runs alone, and ticking it off."""

from datetime import datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Query, Response
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of, tell_changed
from chape.bench.shop.planning import plan_the_day
from chape.bench.work import Order
from chape.shop.gantt import gantt_svg
from chape.shop.in_work import tick
from chape.shop.plan import ANEW, MORNING, Plan, PlannedTask, latest_plan
from chape.shop.route import routes
from chape.shop.standing import Standing, kept_plan, standing_of
from chape.shop.store import Shop

router = APIRouter()

Lines = Annotated[int, Query(ge=1, le=2000)]


class TaskRow(BaseModel):
    """One thing for the hands.

    Attributes:
        task: as it is ticked; None for a set-up, which is over once what follows it is ticked.
        about: the blank or piece, or what is set up.
        start: when the plan has it.
        seconds: with hands.
        alone: seconds it then runs by itself.
    """

    task: str | None
    about: str
    title: str
    station: str
    station_title: str
    start: datetime
    seconds: int
    alone: int


class AloneRow(BaseModel):
    """What runs by itself, and until when."""

    about: str
    title: str
    station: str
    station_title: str
    until: datetime


class DayLeaf(BaseModel):
    """The day as it stands; without a plan, all but ``now`` is empty.

    Attributes:
        now: the server's clock, so that a page whose clock is wrong counts down rightly.
        behind: seconds that the next thing is behind the plan; 0 when it is not.
        gap: how much sooner all could be done at most, as a share; proved.
        relaxed: something hot has to wait for hands.
    """

    now: datetime
    planned: bool
    made: datetime | None = None
    ready: datetime | None = None
    behind: int = 0
    left: int = 0
    gap: float = 0.0
    late: list[str] = []
    relaxed: bool = False
    hours: float = 0.0
    next: list[TaskRow] = []
    alone: list[AloneRow] = []


class Tick(BaseModel):
    """A step that is done, and the seconds it took with hands; None as planned."""

    task: str
    took: int | None = None


class Make(BaseModel):
    """How long a plan is searched: a moment when it is made anew, longer in the morning."""

    anew: bool = True


class Began(BaseModel):
    """The work that was begun."""

    work: str


class Ticked(BaseModel):
    """What a tick moved, and the day after it."""

    pieces: int
    day: DayLeaf


@router.get("/plan")
def plan(bench: AtBench, lines: Lines = 12) -> DayLeaf:
    """Say what the hands do next, what runs alone, and when the last parcel is ready."""
    with shop_of(bench) as shop:
        return _day(shop, lines)


@router.post("/plan")
def make(bench: AtBench, how: Make) -> Began:
    """Plan everything that is in work, from now on; it is a work that can be stopped."""
    with shop_of(bench) as shop:
        folder = str(shop.folder)
    order = Order(
        title="Plan the day",
        what="shop",
        name="plan",
        make=plan_the_day,
        arguments=(folder, ANEW if how.anew else MORNING),
        line="plan",
        then=lambda _: tell_changed(bench),
    )
    return Began(work=bench.works.start(order).id)


@router.post("/plan/tick")
def tick_task(bench: AtBench, done: Tick, lines: Lines = 12) -> Ticked:
    """Say that a step is done; what runs by itself then begins."""
    with changed_shop(bench) as shop:
        moved = shop.change(lambda c: tick(c, shop.file, done.task, done.took, now()))
        return Ticked(pieces=len(moved), day=_day(shop, lines))


@router.get("/plan/gantt.svg", response_class=Response)
def gantt(
    bench: AtBench,
    start: Annotated[float, Query(alias="from", ge=0, le=240)] = 0.0,
    hours: Annotated[float | None, Query(ge=0.05, le=240)] = None,
) -> Response:
    """Draw the plan."""
    with shop_of(bench) as shop:
        kept = kept_plan(shop)
    begin = round(3600 * start)
    length = max(600, kept.finish - begin) if hours is None else round(3600 * hours)
    return Response(gantt_svg(kept, begin, length), media_type="image/svg+xml")


def _day(shop: Shop, lines: int) -> DayLeaf:
    moment = now()
    made = shop.read(latest_plan)
    if made is None:
        return DayLeaf(now=moment, planned=False)
    stands = standing_of(shop, made, moment)
    return DayLeaf(
        now=moment,
        planned=True,
        made=made.zero,
        ready=made.ready,
        behind=_behind(stands, moment),
        left=len(stands.left),
        gap=round(made.gap, 4),
        late=list(made.late),
        relaxed=made.relaxed,
        hours=round(made.finish / 3600, 2),
        next=[_row(made, task) for task in stands.left[:lines]],
        alone=[
            AloneRow(
                about=_about(task),
                title=task.title,
                station=task.station,
                station_title=_station(task),
                until=until,
            )
            for task, until in stands.running
        ],
    )


def _behind(stands: Standing, moment: datetime) -> int:
    if not stands.left:
        return 0
    first = stands.left[0]
    ends = stands.plan.zero + timedelta(seconds=first.start + first.seconds)
    return max(0, round((moment - ends).total_seconds()))


def _row(made: Plan, task: PlannedTask) -> TaskRow:
    alone = next((each.seconds for each in made.tasks if each.name == f"{task.name}~"), 0)
    return TaskRow(
        task=None if task.is_change else task.name,
        about=_about(task),
        title=task.title,
        station=task.station,
        station_title=_station(task),
        start=made.zero + timedelta(seconds=task.start),
        seconds=task.seconds,
        alone=alone,
    )


def _about(task: PlannedTask) -> str:
    return task.name.partition(":")[0] if task.is_change else task.name.rpartition(".")[0]


def _station(task: PlannedTask) -> str:
    return routes().stations[task.station].title
