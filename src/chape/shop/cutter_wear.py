"""How long each cutter has cut since it was changed: from batches taken, and their models' jobs.

A job says how long each cutter of its trim program cuts of one blank. What a cutter had cut when it
was changed is kept among the store's counters. A blank counts as cut once it has been unscrewed.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import delete, insert, select

from chape.errors import InputError
from chape.shop.in_work import blanks_past
from chape.shop.job_folder import jobs_of
from chape.shop.model import PieceState
from chape.shop.tables import COUNTERS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy.engine import Connection

    from chape.shop.job_folder import Job
    from chape.shop.shop_file import ShopFile

#: Counters of cutters are called this and the cutter's name.
PREFIX = "cutter "


@dataclass(frozen=True, slots=True)
class CutterWear:
    """One cutter.

    Attributes:
        name: in the catalogue.
        minutes: it has cut since it was changed last.
        life: minutes that the shop file expects of it; None where it says nothing.
    """

    name: str
    minutes: float
    life: float | None


def cutters_of(
    connection: Connection, file: ShopFile, jobs: Mapping[str, Job]
) -> tuple[CutterWear, ...]:
    """Return every cutter that a job of the shop names, by name."""
    marks = _marks(connection)
    return tuple(
        CutterWear(
            name,
            max(0.0, total - marks.get(name, 0)) / 60,
            file.cutters[name].life if name in file.cutters else None,
        )
        for name, total in sorted(_totals(connection, file, jobs).items())
    )


def note_changed(connection: Connection, file: ShopFile, name: str) -> None:
    """Begin to count a cutter anew: it has been changed or ground.

    Raises:
        InputError: no job of the shop uses it.
    """
    jobs, _ = jobs_of(file)
    totals = _totals(connection, file, jobs)
    if name not in totals:
        known = ", ".join(sorted(totals)) or "none; name a job folder under [models]"
        raise InputError(f'no job of the shop uses a cutter "{name}"', mend=f"Use one of: {known}")
    key = PREFIX + name
    connection.execute(delete(COUNTERS).where(COUNTERS.c.name == key))
    connection.execute(insert(COUNTERS).values(name=key, last=round(totals[name])))


def _totals(connection: Connection, file: ShopFile, jobs: Mapping[str, Job]) -> dict[str, float]:
    blanks: Counter[str] = Counter()
    for (model, _), count in blanks_past(connection, file, PieceState.TRIMMED).items():
        blanks[model] += count
    totals: dict[str, float] = {}
    for model, job in jobs.items():
        for name, seconds in job.cutters.items():
            totals[name] = totals.get(name, 0.0) + seconds * blanks[model]
    return totals


def _marks(connection: Connection) -> dict[str, int]:
    rows = connection.execute(
        select(COUNTERS.c.name, COUNTERS.c.last).where(COUNTERS.c.name.startswith(PREFIX))
    )
    return {name.removeprefix(PREFIX): int(last) for name, last in rows}
