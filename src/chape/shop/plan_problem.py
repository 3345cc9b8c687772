"""Turns the day's work into a schedule's problem: who needs hands, what runs alone, what waits.

Every step is one task with hands and, where it then runs by itself, a second one that starts as
the first ends. Steps in a row at one station keep it from the first to the last. Zero is the
moment the plan begins.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from chape.shop.model import PieceState
from chape.shop.route import HANDS, Station, Step, StepTime, is_past, routes, step_time, steps_of
from chape.shop.schedule import Changes, Due, Link, Problem, Resource, Task, Use
from chape.shop.shop_file import seconds_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from chape.shop.shop_file import ModelTable, ShopFile

#: A second too late counts as many seconds of a longer day.
LATE_WEIGHT = 5

#: Working days a plan may run into when a day is too short.
MOST_DAYS = 20

#: What the second, unattended part of a step is called.
ALONE = "~"


@dataclass(frozen=True, slots=True)
class PieceWork:
    """One sheath to be finished.

    Attributes:
        serial: of the piece.
        state: how far it has come.
        due: the day it has to leave.
        clip: whether one is mounted.
        blank: name of the blank it is cut from.
    """

    serial: str
    state: PieceState
    due: date
    clip: bool
    blank: str


@dataclass(frozen=True, slots=True)
class BlankWork:
    """One blank to be formed and cut.

    Attributes:
        name: of the blank, "B7.2" for the second of batch 7.
        model: of its pieces.
        colour: of the sheet.
        sheet: its name; "" where its heating was never learned.
        state: how far its pieces have come at least.
    """

    name: str
    model: str
    colour: str
    state: PieceState = PieceState.BATCHED
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class DayWork:
    """What there is to do.

    Attributes:
        blanks, pieces: the work.
        done: tasks that are over; a step's two parts count apart.
        running: unattended part of a step that runs now -> seconds left.
        now: the moment that is the plan's zero, local time.
        set_up: place of a station -> the family it is set up for.
        learned: step -> accepted seconds of hands.
        relaxed: what follows a part that runs now may wait, though it should not.
    """

    blanks: tuple[BlankWork, ...]
    pieces: tuple[PieceWork, ...]
    now: datetime
    done: frozenset[str] = frozenset()
    running: Mapping[str, int] = field(default_factory=dict)
    set_up: Mapping[str, str] = field(default_factory=dict)
    learned: Mapping[str, float] = field(default_factory=dict)
    relaxed: bool = False


def day_problem(file: ShopFile, work: DayWork) -> Problem:
    """Return the problem of a day.

    Raises:
        InputError: a piece is of a model that the shop file does not name.
    """
    builder = _Builder(file, work)
    blanks = _in_groups(file, work)
    place = {blank.name: number for number, blank in enumerate(blanks)}
    for blank in blanks:
        builder.add_blank(blank)
    for piece in sorted(work.pieces, key=lambda piece: place[piece.blank]):
        builder.add_piece(piece)
    return builder.problem()


def hours(file: ShopFile, now: datetime) -> tuple[tuple[int, int], ...]:
    """Return the spans without hands, in seconds from ``now``, for the days a plan may run into."""
    day = file.day
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    open_spans = []
    for number in range(MOST_DAYS):
        edges = [day.start, *(edge for pause in day.breaks for edge in pause), day.end]
        begin = midnight + timedelta(days=number)
        moments = [
            round((begin + timedelta(seconds=seconds_of(edge)) - now).total_seconds())
            for edge in edges
        ]
        open_spans += list(zip(moments[::2], moments[1::2], strict=True))
    open_spans = [(max(0, start), end) for start, end in open_spans if end > max(0, start)]
    starts = [0, *(end for _, end in open_spans)]
    ends = [start for start, _ in open_spans]
    return tuple((a, b) for a, b in zip(starts, ends, strict=False) if b > a)


def _in_groups(file: ShopFile, work: DayWork) -> list[BlankWork]:
    """Return the blanks so that few set-ups are needed in this order.

    Moulds follow one another by the first due of their pieces; the colours of one run to and fro.
    """
    due = {blank.name: date.max for blank in work.blanks}
    for piece in work.pieces:
        due[piece.blank] = min(due[piece.blank], piece.due)
    moulds: dict[str, list[BlankWork]] = {}
    for blank in sorted(work.blanks, key=lambda blank: (due[blank.name], blank.name)):
        moulds.setdefault(file.model(blank.model).mould, []).append(blank)
    ordered: list[BlankWork] = []
    for number, blanks in enumerate(moulds.values()):
        ordered += sorted(blanks, key=lambda blank: blank.colour, reverse=number % 2 == 1)
    return ordered


@dataclass(slots=True, eq=False)
class _Builder:
    file: ShopFile
    work: DayWork
    tasks: list[Task] = field(default_factory=list)
    links: list[Link] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)
    dues: list[Due] = field(default_factory=list)
    last_of_blank: dict[str, str] = field(default_factory=dict)
    models: dict[str, str] = field(default_factory=dict)
    sheets: dict[str, str] = field(default_factory=dict)
    families: dict[str, Counter[str]] = field(default_factory=dict)
    #: station -> what it must be set up for, since a blank lies there now
    mounted: dict[str, list[str]] = field(default_factory=dict)
    set_up: dict[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.set_up = dict(self.work.set_up)

    def add_blank(self, blank: BlankWork) -> None:
        model = self.file.model(blank.model)
        self.models[blank.name] = blank.model
        self.sheets[blank.name] = blank.sheet
        family = {"colour": blank.colour, "mould": model.mould, "fixture": model.fixture}
        steps = [step for step in steps_of(model, clip=False) if step.per == "blank"]
        last = self._chain(blank.name, steps, model, blank.state, family, after=None)
        if last is not None:
            self.last_of_blank[blank.name] = last

    def add_piece(self, piece: PieceWork) -> None:
        model = self.file.model(self.models[piece.blank])
        steps = [step for step in steps_of(model, clip=piece.clip) if step.per != "blank"]
        self.sheets[piece.serial] = self.sheets[piece.blank]
        after = self.last_of_blank.get(piece.blank)
        last = self._chain(piece.serial, steps, model, piece.state, {}, after)
        if last is not None:
            self.dues.append(Due(last, self._collected(piece.due), LATE_WEIGHT))

    def _collected(self, due: date) -> int:
        """Return when parcels due on a day are collected; what is overdue goes with the next."""
        now = self.work.now
        clock = timedelta(seconds=seconds_of(self.file.day.collect))
        midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
        following = midnight + clock
        if following < now:
            following += timedelta(days=1)
        wanted = midnight + timedelta(days=(due - now.date()).days) + clock
        return round((max(wanted, following) - now).total_seconds())

    def _chain(
        self,
        name: str,
        steps: Sequence[Step],
        model: ModelTable,
        state: PieceState,
        family: Mapping[str, str],
        after: str | None,
    ) -> str | None:
        """Add the steps that are left of a blank or piece; return the last task of them."""
        everything = steps_of(model, clip=True)
        groups: list[tuple[str, list[str]]] = []
        lies_at = None
        for step in steps:
            if is_past(step, state, everything):
                continue
            sheet = self.sheets.get(name, "")
            takes = step_time(step, model, self.file, self.work.learned, sheet)
            added = self._step(name, step, takes)
            if not added:
                lies_at = step.station
                continue
            if not groups and lies_at == step.station and not added[0].endswith(ALONE):
                # It lies there since an earlier step: the station is taken from now on.
                added.insert(0, self._now(f"{name}.{step.station}"))
            if after is not None and not added[0].endswith(ALONE):
                relaxed = self.work.relaxed and after in self.work.running
                most = step.within if groups and not relaxed else None
                self.links.append(Link(after, added[0], 0, most))
            after = added[-1]
            if groups and groups[-1][0] == step.station:
                groups[-1][1].extend(added)
            else:
                groups.append((step.station, added))
        for station, tasks in groups:
            self._take(station, tasks[0], tasks[-1], family)
        return after if groups else None

    def _now(self, name: str) -> str:
        """Add a task without length that stands at zero."""
        self.tasks.append(Task(name, 0, fixed=0))
        return name

    def _step(self, name: str, step: Step, takes: StepTime) -> list[str]:
        """Add the parts of a step that are not over; return their tasks."""
        hands = f"{name}.{step.name}"
        alone = hands + ALONE
        if alone in self.work.running:
            self.tasks.append(Task(alone, self.work.running[alone], fixed=0))
            return [alone]
        if hands in self.work.done:
            return []
        self.tasks.append(Task(hands, takes.hands))
        self.uses.append(Use(HANDS, hands, hands))
        if not takes.alone:
            return [hands]
        self.tasks.append(Task(alone, takes.alone))
        self.links.append(Link(hands, alone, 0, 0))
        return [hands, alone]

    def _take(self, station: str, first: str, last: str, family: Mapping[str, str]) -> None:
        self.uses.append(Use(station, first, last))
        kind = routes().stations[station].family
        if kind is not None and kind in family:
            wanted = family[kind]
            self.families.setdefault(station, Counter())[wanted] += 1
            self.uses.append(Use(station + "?", first, last, family=wanted))
            if any(task.name == first and task.fixed == 0 for task in self.tasks):
                self.mounted.setdefault(station, []).append(wanted)

    def problem(self) -> Problem:
        places = {}
        for kind, counted in self.families.items():
            places[kind] = self._share_out(kind, counted)
        uses = [
            Use(places[use.resource[:-1]][str(use.family)], use.first, use.last, family=use.family)
            if use.resource.endswith("?")
            else use
            for use in self.uses
        ]
        closed = hours(self.file, self.work.now)
        resources = [Resource(HANDS, self.file.day.people, closed)]
        for name, station in routes().stations.items():
            given = self.file.stations.get(name)
            resources.append(Resource(name, 1 if given is None else given.capacity))
            resources += self._places(name, station, places.get(name, {}))
        return Problem(
            tuple(self.tasks), tuple(self.links), tuple(uses), tuple(resources), tuple(self.dues)
        )

    def _share_out(self, station: str, counted: Counter[str]) -> dict[str, str]:
        """Give each family a place: the one it is set up in, else the one with least work."""
        given = self.file.stations.get(station)
        count = routes().stations[station].places
        count = given.places if given is not None and given.places is not None else count
        names = [f"{station} {number}" for number in range(1, count + 1)]
        for family in self.mounted.get(station, []):
            if family not in (self.set_up.get(name) for name in names):
                self.set_up[names[0]] = family
        load = dict.fromkeys(names, 0)
        there = {self.set_up.get(name): name for name in reversed(names)}
        chosen: dict[str, str] = {}
        for family, times in sorted(counted.items(), key=lambda item: (-item[1], item[0])):
            place = there.get(family) or min(names, key=lambda name: load[name])
            chosen[family] = place
            load[place] += times
        return chosen

    def _places(self, name: str, station: Station, chosen: Mapping[str, str]) -> list[Resource]:
        given = self.file.stations.get(name)
        took = given.change if given is not None and given.change is not None else station.change
        return [
            Resource(
                place,
                changes=Changes(round(took), needs=(HANDS, name), at_start=self.set_up.get(place)),
            )
            for place in sorted(set(chosen.values()))
        ]
