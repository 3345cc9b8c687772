"""How the plan of the day stands at a moment: what hands have left to do, and what runs alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.shop.in_work import alone_since, runs_of, seats
from chape.shop.plan import latest_plan, left_of
from chape.shop.plan_problem import ALONE
from chape.shop.route import StepTime

if TYPE_CHECKING:
    from datetime import datetime

    from chape.shop.plan import Plan, PlannedTask
    from chape.shop.store import Shop


@dataclass(frozen=True, slots=True)
class Standing:
    """A plan and how far it has come.

    Attributes:
        plan: the one that was made last.
        left: what hands still have to do, in the plan's order.
        running: what runs by itself, and until when.
    """

    plan: Plan
    left: tuple[PlannedTask, ...]
    running: tuple[tuple[PlannedTask, datetime], ...]


def kept_plan(shop: Shop) -> Plan:
    """Return the plan that was made last.

    Raises:
        CannotMakeError: there is none yet.
    """
    found = shop.read(latest_plan)
    if found is None:
        raise CannotMakeError(
            "there is no plan yet", mend="Plan the day first, chape shop plan make"
        )
    return found


def standing_of(shop: Shop, plan: Plan, now: datetime) -> Standing:
    """Return how far a plan has come."""
    done = shop.read(lambda c: runs_of(c, seats(c, shop.file)))
    alone = {task.name: task for task in plan.tasks if not task.hands}
    lengths = {name.removesuffix(ALONE): StepTime(0, t.seconds) for name, t in alone.items()}
    _, running = alone_since(done, lengths, now)
    return Standing(
        plan=plan,
        left=left_of(plan, done),
        running=tuple(
            (alone[name], now + timedelta(seconds=more)) for name, more in running.items()
        ),
    )


def hands_left(shop: Shop) -> tuple[PlannedTask, ...]:
    """Return what hands still have to do; nothing where there is no plan."""
    plan = shop.read(latest_plan)
    if plan is None:
        return ()
    return left_of(plan, shop.read(lambda c: runs_of(c, seats(c, shop.file))))
