"""Searches for plans in a process of its own, where seconds of it hold up nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from chape.shop.plan import make_plan
from chape.shop.rush import rush_of
from chape.shop.schedule import Effort
from chape.shop.store import open_shop

if TYPE_CHECKING:
    from chape.bench.work_process import Tell
    from chape.shop.model import OrderLine
    from chape.shop.rush import Rush

#: Each of the three plans that tell what a rush displaces is searched so long, s.
RUSH_SECONDS = 5.0


def plan_the_day(tell: Tell, folder: str, seconds: float) -> None:
    """Make the plan and keep it.

    Args:
        tell: told that it searches.
        folder: of the shop.
        seconds: to search.

    Raises:
        CannotMakeError: nothing is in work.
    """
    tell("Look for a good order of all steps", None)
    shop = open_shop(Path(folder))
    try:
        make_plan(shop, _now(), Effort(seconds=seconds))
    finally:
        shop.close()


def see_rush(tell: Tell, folder: str, line: OrderLine, seconds: float) -> Rush:
    """Return what an order would displace; nothing is kept.

    Args:
        tell: told that it searches.
        folder: of the shop.
        line: the order.
        seconds: to search for each of three plans.

    Raises:
        InputError: it cannot be planned.
    """
    tell("Plan everything without it and with it", None)
    shop = open_shop(Path(folder))
    try:
        return rush_of(shop, line, _now(), Effort(seconds=seconds))
    finally:
        shop.close()


def _now() -> datetime:
    return datetime.now(UTC).astimezone()
