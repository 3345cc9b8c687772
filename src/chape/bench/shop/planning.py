"""Makes the plan of the day in a process of its own, where a search of seconds holds up nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from chape.shop.plan import make_plan
from chape.shop.schedule import Effort
from chape.shop.store import open_shop

if TYPE_CHECKING:
    from chape.bench.work_process import Tell


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
        make_plan(shop, datetime.now(UTC).astimezone(), Effort(seconds=seconds))
    finally:
        shop.close()
