"""What a rush order displaces: everything is planned without it and with it, and compared.

All that is in work and all that waits is planned over as many days as it needs; what waits lies on
blanks as if it were taken now, the rush among it. Both plans are searched alike. So that a lucky
search does not look like a displaced order, the plan with the rush begins with the order of work of
the one without, and the one without is then tried in the order of the one with.

The store is read and not changed.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from chape.errors import InputError
from chape.shop.batches import Wish, batches_of, needs_of, wishes_of
from chape.shop.model import PieceState
from chape.shop.money import HOUR, Wanted, quote, rounded_up
from chape.shop.orders import Wanted as Listed
from chape.shop.orders import list_orders
from chape.shop.plan import solve_day, work_at
from chape.shop.plan_problem import BlankWork, DayWork, PieceWork
from chape.shop.route import HANDS
from chape.shop.shop_file import seconds_of
from chape.shop.stock import shelves, to_buy

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from chape.shop.model import Order, OrderLine
    from chape.shop.money import Quote
    from chape.shop.schedule import Effort, Problem, Schedule
    from chape.shop.shop_file import ShopFile
    from chape.shop.stock import Good, Purchase, Shelf
    from chape.shop.store import Shop

#: What the pieces of the rush are called; no reference begins so.
RUSH = "rush"

#: So many pieces that wait are planned, those due first.
MOST_WAITING = 150


@dataclass(frozen=True, slots=True)
class Displaced:
    """An order that leaves later than it is due because of the rush.

    Attributes:
        reference, customer: of the order.
        due: the day it has to leave.
        without, within: the day it leaves without the rush, and with it.
    """

    reference: str
    customer: str
    due: date
    without: date
    within: date

    @property
    def days(self) -> int:
        """By how many days the rush makes it later than it is due, or than it was."""
        return (self.within - max(self.due, self.without)).days


@dataclass(frozen=True, slots=True)
class Rush:
    """What a rush order does to the shop.

    Attributes:
        ready: when its last piece is packed.
        leaves: the day it leaves.
        due: the day it was wanted.
        displaced: orders that leave too late because of it, the most delayed first.
        hands, machine: seconds of hands (set-ups with them) and router that it takes in all.
        goods: what it takes from the shelf in all; none where it fills seats that were empty.
        buy: what has to be bought before all can be made.
        cost: of all its pieces, with overhead and with what delays cost, in money.
        price: to ask for all of it, so that the margin stays.
        usual: the price of as many pieces that nobody hurries.
        gaps: by how much each of the two plans could be better at most, as shares.
        left_out: pieces that wait and are due so late that they were not planned.
    """

    ready: datetime
    leaves: date
    due: date
    displaced: tuple[Displaced, ...]
    hands: int
    machine: int
    goods: Mapping[Good, int]
    buy: tuple[Purchase, ...]
    cost: float
    price: float
    usual: float
    gaps: tuple[float, float]
    left_out: int

    @property
    def in_time(self) -> bool:
        """It leaves by the day it is wanted."""
        return self.leaves <= self.due


def rush_of(shop: Shop, line: OrderLine, now: datetime, effort: Effort) -> Rush:
    """Return what a rush order would do.

    Args:
        shop: as it stands.
        line: the order; of a model.
        now: planning begins here.
        effort: of each of the three searches.

    Raises:
        InputError: it names no model of the shop, or something else that is not there.
    """
    if line.model is None:
        raise InputError(
            "a rush order of the customer's own knife cannot be planned",
            mend="Name one of the shop's models",
            field="model",
        )
    orders, on_shelf = shop.read(lambda c: (list_orders(c, Listed(limit=None)), shelves(c)))
    work = work_at(shop, now)
    waiting = wishes_of(orders)
    kept, left = waiting[:MOST_WAITING], waiting[MOST_WAITING:]
    hurried = tuple(
        Wish(f"{RUSH}-{n + 1}", 0, line.model, line.sheet, line.colour, line.clip, line.due)
        for n in range(line.quantity)
    )
    two = _Two.of(shop.file, work, kept, hurried, effort)
    wanted = Wanted(line.model, line.sheet, line.colour, line.clip, line.quantity)
    usual = quote(shop.file, wanted, on_shelf, work.learned)
    return two.compared(orders, on_shelf, usual, line.due, len(left))


@dataclass(frozen=True, slots=True)
class _Made:
    """One of the two plans."""

    work: DayWork
    problem: Problem
    schedule: Schedule
    goods: Counter[Good]

    @classmethod
    def of(
        cls, file: ShopFile, work: DayWork, wishes: Sequence[Wish], effort: Effort,
        like: Mapping[str, int],
    ) -> _Made:  # fmt: skip
        goods: Counter[Good] = Counter()
        blanks, pieces = list(work.blanks), list(work.pieces)
        for batch in batches_of(file, wishes):
            goods.update(needs_of(file, batch))
            for place, wish in enumerate(batch.wishes):
                # Named by what lies on it first, so that a blank has one name in both plans.
                first = batch.wishes[place - place % batch.seats].serial
                name = f"N{first}"
                if place % batch.seats == 0:
                    blanks.append(BlankWork(name, batch.model, batch.colour, sheet=batch.sheet))
                pieces.append(
                    PieceWork(wish.serial, PieceState.WAITING, wish.due, bool(wish.clip), name)
                )
        all_of_it = replace(work, blanks=tuple(blanks), pieces=tuple(pieces))
        return cls(*solve_day(file, all_of_it, effort, like), goods)

    def packed(self) -> dict[str, int]:
        """Return piece -> when it is packed, seconds from the plan's zero."""
        seconds = {task.name: task.seconds for task in self.problem.tasks}
        ends: dict[str, int] = {}
        for due in self.problem.dues:
            name = due.task.rpartition(".")[0]
            ends[name] = self.schedule.starts[due.task] + seconds[due.task]
        return ends

    def hands(self) -> int:
        seconds = {task.name: task.seconds for task in self.problem.tasks}
        work = sum(seconds[use.first] for use in self.problem.uses if use.resource == HANDS)
        return work + sum(change.end - change.start for change in self.schedule.changes)

    def machine(self) -> int:
        alone = (task for task in self.problem.tasks if task.name.endswith("~"))
        return sum(task.seconds for task in alone if _is_cut(task.name))


def _is_cut(task: str) -> bool:
    return task.rpartition(".")[2] in ("bore~", "outline~")


@dataclass(frozen=True, slots=True)
class _Two:
    """The plan without the rush and the one with it."""

    file: ShopFile
    without: _Made
    within: _Made
    quantity: int

    @classmethod
    def of(
        cls, file: ShopFile, work: DayWork, kept: Sequence[Wish], hurried: Sequence[Wish],
        effort: Effort,
    ) -> _Two:  # fmt: skip
        without = _Made.of(file, work, kept, effort, {})
        within = _Made.of(file, work, (*kept, *hurried), effort, without.schedule.starts)
        again = _Made.of(file, work, kept, effort, within.schedule.starts)
        better = min((without, again), key=lambda made: made.schedule.cost)
        return cls(file, better, within, len(hurried))

    def compared(
        self, orders: Sequence[Order], on_shelf: Sequence[Shelf], usual: Quote, due: date, left: int
    ) -> Rush:
        ends = {name: at for name, at in self.within.packed().items() if name.startswith(RUSH)}
        ready = self.within.work.now + timedelta(seconds=max(ends.values()))
        displaced = self._displaced(orders)
        goods = self.within.goods - self.without.goods
        hands = max(0, self.within.hands() - self.without.hands())
        machine = max(0, self.within.machine() - self.without.machine())
        money = self.file.money
        cents = {shelf.good: shelf.cents for shelf in on_shelf}
        cost = sum(cents.get(good, 0.0) * count for good, count in goods.items()) / 100
        cost += money.consumables * self.quantity
        cost += (money.hand_hour * hands + money.machine_hour * machine) / HOUR
        cost *= 1 + money.overhead
        cost += money.late_day * sum(each.days for each in displaced)
        return Rush(
            ready=ready,
            leaves=_leaves(self.file, self.within.work.now, ready),
            due=due,
            displaced=displaced,
            hands=hands,
            machine=machine,
            goods=goods,
            buy=_lacking(on_shelf, self.within.goods),
            cost=cost,
            price=rounded_up(cost / (1 - money.margin), money.rounding),
            usual=usual.total,
            gaps=(self.without.schedule.gap, self.within.schedule.gap),
            left_out=left,
        )

    def _displaced(self, orders: Sequence[Order]) -> tuple[Displaced, ...]:
        now = self.within.work.now
        without, within = self.without.packed(), self.within.packed()
        found = []
        for order in orders:
            mine = [piece.serial for piece in order.live if piece.serial in within]
            if not mine:
                continue
            before, after = (
                _leaves(self.file, now, now + timedelta(seconds=max(ends[each] for each in mine)))
                for ends in (without, within)
            )
            if after > max(order.line.due, before):
                line = order.line
                found.append(Displaced(order.reference, line.customer, line.due, before, after))
        return tuple(sorted(found, key=lambda each: (-each.days, each.due, each.reference)))


def _leaves(file: ShopFile, now: datetime, ready: datetime) -> date:
    """Return the day whose collection a parcel reaches that is ready at a moment."""
    at = ready.astimezone(now.tzinfo)
    collected = at.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(
        seconds=seconds_of(file.day.collect)
    )
    return at.date() if at <= collected else at.date() + timedelta(days=1)


def _lacking(on_shelf: Sequence[Shelf], goods: Mapping[Good, int]) -> tuple[Purchase, ...]:
    there = {shelf.good: shelf.on_hand for shelf in on_shelf}
    short = {good for good, count in goods.items() if there.get(good, 0) < count}
    return tuple(each for each in to_buy(tuple(on_shelf), goods) if each.good in short)
