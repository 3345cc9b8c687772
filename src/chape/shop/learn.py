"""What the run log teaches: proposed with its evidence, used only once a person accepts it.

A step's time is the median of its ticks, since a tick that was forgotten or a telephone call makes
some of them far too long. How sure the median is follows from the order of the ticks alone: the
95 % range lies between two of them, whatever their spread looks like (David and Nagaraja, Order
Statistics, on confidence limits of a quantile).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, sqrt
from statistics import median
from typing import TYPE_CHECKING

from sqlalchemy import delete, func, insert, select

from chape.catalog.read import catalog
from chape.errors import InputError
from chape.forming.trials import Outcome
from chape.shop.heats import advice_of, heats_of
from chape.shop.in_work import learned_figures
from chape.shop.job_folder import jobs_of
from chape.shop.model import PieceState
from chape.shop.route import routes
from chape.shop.tables import FIT_RECORDS, LEARNED, ORDERS, PIECES, RUNS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime

    from sqlalchemy.engine import Connection

    from chape.catalog.read import Catalog
    from chape.shop.job_folder import Job
    from chape.shop.shop_file import ShopFile

#: So many ticks, or finished pieces, before anything is proposed.
LEAST_TICKS, LEAST_PIECES = 10, 30

#: Good heat trials before a time is proposed.
LEAST_GOOD = 3

#: Differences below this share are not worth a word.
WORTH = 0.05


@dataclass(frozen=True, slots=True)
class Proposal:
    """A figure the log speaks for.

    Attributes:
        what: the step, "scrap" and a model, "friction" and a model, "router" and a fixture, "heat"
            or "warm" and a sheet.
        now: what is used at present: seconds of hands, router or heating, a share, a friction.
        value: what the log says.
        low, high: range it lies in with a chance of 95 %.
        count: ticks, pieces, programs or heat trials it rests on.
    """

    what: str
    now: float
    value: float
    low: float
    high: float
    count: int


def proposals(
    connection: Connection, file: ShopFile, entries: Catalog | None = None
) -> tuple[Proposal, ...]:
    """Return every figure that the log puts clearly elsewhere than what is used at present.

    Args:
        connection: of the store.
        file: the shop file.
        entries: the catalogue with the shop's own sheets and heaters; None for chape's own.
    """
    learned = learned_figures(connection)
    jobs, _ = jobs_of(file)
    found = [
        *_steps(connection, file, learned),
        *_scrap(connection, learned),
        *_router(file, jobs, learned),
        *_friction(connection, jobs, learned),
        *_heats(connection, file, entries or catalog(), learned),
    ]
    return tuple(
        each
        for each in found
        if not each.low <= each.now <= each.high and abs(each.value - each.now) > WORTH * each.now
    )


def accept(
    connection: Connection,
    file: ShopFile,
    what: str,
    now: datetime,
    entries: Catalog | None = None,
) -> Proposal:
    """Use a proposed figure from now on (arguments as of ``proposals``).

    Raises:
        InputError: it is not proposed.
    """
    for each in proposals(connection, file, entries):
        if each.what == what:
            evidence = {"count": each.count, "low": each.low, "high": each.high}
            connection.execute(delete(LEARNED).where(LEARNED.c.what == what))
            connection.execute(
                insert(LEARNED).values(what=what, value=each.value, evidence=evidence, accepted=now)
            )
            return each
    raise InputError(f'"{what}" is not proposed', mend="Look with chape shop learn list")


def unlearn(connection: Connection, what: str) -> None:
    """Go back to what was used before a figure was accepted.

    Raises:
        InputError: it was never accepted.
    """
    if not connection.execute(delete(LEARNED).where(LEARNED.c.what == what)).rowcount:
        raise InputError(f'"{what}" was never accepted', mend="Look with chape shop learn list")


def median_range(values: Sequence[float]) -> tuple[float, float, float]:
    """Return the median of at least six values, and its 95 % range.

    The limits are the values of rank n/2 ∓ 0.98 √n, rounded outwards.
    """
    ordered = sorted(values)
    count = len(ordered)
    away = 0.98 * sqrt(count)
    low = max(0, floor(count / 2 - away) - 1)
    high = min(count - 1, ceil(count / 2 + away))
    return median(ordered), ordered[low], ordered[high]


def _steps(connection: Connection, file: ShopFile, learned: dict[str, float]) -> Iterator[Proposal]:
    rows = connection.execute(select(RUNS.c.step, RUNS.c.model, RUNS.c.seconds))
    ticks: dict[str, list[float]] = {}
    for step, name, seconds in rows:
        model = file.models.get(name)
        if model is not None:
            each = max(1, model.eyelets) if step == "eyelets" else 1
            ticks.setdefault(step, []).append(seconds / each)
    for step in routes().steps:
        values = ticks.get(step.name, [])
        given = file.times.get(step.name)
        if len(values) < LEAST_TICKS or (given is not None and given.hands is not None):
            continue
        value, low, high = median_range(values)
        yield Proposal(step.name, learned.get(step.name, step.hands), value, low, high, len(values))


def _scrap(connection: Connection, learned: dict[str, float]) -> Iterator[Proposal]:
    rows = connection.execute(
        select(ORDERS.c.model, PIECES.c.state, func.count())
        .join(ORDERS, ORDERS.c.id == PIECES.c.order_id)
        .where(PIECES.c.state.in_((PieceState.SHIPPED, PieceState.SCRAPPED)))
        .where(ORDERS.c.model.is_not(None))
        .group_by(ORDERS.c.model, PIECES.c.state)
    )
    counts: dict[str, dict[PieceState, int]] = {}
    for model, state, count in rows:
        counts.setdefault(model, {})[state] = int(count)
    for model, found in sorted(counts.items()):
        lost, count = found.get(PieceState.SCRAPPED, 0), sum(found.values())
        if count >= LEAST_PIECES and lost:
            low, high = _share_range(lost, count)
            what = f"scrap {model}"
            yield Proposal(what, learned.get(what, 0.0), lost / count, low, high, count)


def _router(
    file: ShopFile, jobs: Mapping[str, Job], learned: dict[str, float]
) -> Iterator[Proposal]:
    """Propose the time that a job's checked program takes."""
    seen: set[str] = set()
    for name, job in jobs.items():
        model = file.models[name]
        what = f"router {model.fixture}"
        if what not in seen and job.router > 0:
            seen.add(what)
            now = learned.get(what, model.bore + model.outline)
            yield Proposal(what, now, job.router, job.router, job.router, 1)


def _friction(
    connection: Connection, jobs: Mapping[str, Job], learned: dict[str, float]
) -> Iterator[Proposal]:
    """Propose the friction at which the computed hold is what spring scales read.

    The last reading of each piece counts, of those made for the model's own hold. The limits are
    those of the median reading; an error of the computed hold is taken up in the friction.
    """
    rows = connection.execute(
        select(ORDERS.c.model, PIECES.c.id, FIT_RECORDS.c.hold)
        .join(PIECES, PIECES.c.id == FIT_RECORDS.c.piece_id)
        .join(ORDERS, ORDERS.c.id == PIECES.c.order_id)
        .where(FIT_RECORDS.c.hold > 0, ORDERS.c.hold.is_(None), ORDERS.c.model.in_(list(jobs)))
        .order_by(FIT_RECORDS.c.id)
    )
    holds: dict[str, dict[int, float]] = {}
    for model, piece, hold in rows:
        holds.setdefault(model, {})[piece] = float(hold)
    for model, read in sorted(holds.items()):
        job = jobs[model]
        if len(read) < LEAST_TICKS or job.friction is None:
            continue
        found = [job.friction_at(hold) for hold in median_range(list(read.values()))]
        value, low, high = found
        if value is None or low is None or high is None:
            continue
        what = f"friction {model}"
        yield Proposal(what, learned.get(what, job.friction), value, low, high, len(read))


def _heats(
    connection: Connection, file: ShopFile, entries: Catalog, learned: dict[str, float]
) -> Iterator[Proposal]:
    """Propose how long sheets are heated, where some came out good."""
    steps = {step.name: step for step in routes().steps}
    for (step, sheet), trials in sorted(heats_of(connection).items()):
        given = file.times.get(step)
        good = sum(trial.outcome is Outcome.GOOD for trial in trials)
        heater = trials[-1].heater
        known = sheet in entries.entries["sheets"] and heater in entries.entries["heaters"]
        if good < LEAST_GOOD or not known or (given is not None and given.alone is not None):
            continue
        advice = advice_of(entries, trials)
        what = f"{step} {sheet}"
        now = learned.get(what, steps[step].alone)
        yield Proposal(what, now, advice.seconds, advice.seconds, advice.seconds, len(trials))


def _share_range(lost: int, count: int) -> tuple[float, float]:
    """Return the 95 % range of a share (Wilson 1927)."""
    z = 1.96
    share, scale = lost / count, 1 + z * z / count
    middle = (share + z * z / (2 * count)) / scale
    half = z * sqrt(share * (1 - share) / count + z * z / (4 * count * count)) / scale
    return max(0.0, middle - half), min(1.0, middle + half)
