"""What is in work: pieces on their blanks, what has been ticked of them, and the tick itself."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, insert, select, update

from chape.errors import CannotMakeError, InputError
from chape.shop.model import ENDED, PROGRESS, PieceState
from chape.shop.plan_problem import ALONE, BlankWork, PieceWork
from chape.shop.route import is_past, step_time, steps_of
from chape.shop.tables import BATCHES, LEARNED, ORDERS, PIECES, RUNS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sqlalchemy.engine import Connection

    from chape.shop.route import Step, StepTime
    from chape.shop.shop_file import ShopFile

#: A step that took longer was interrupted, s.
LONGEST = 14_400


@dataclass(frozen=True, slots=True)
class Seat:
    """A piece in work with the blank it lies on.

    Attributes:
        piece: its number in the store.
        work: what the plan has to know of it.
        batch: its batch.
        model, sheet, colour: of the batch.
    """

    piece: int
    work: PieceWork
    batch: int
    model: str
    sheet: str
    colour: str


@dataclass(frozen=True, slots=True)
class Done:
    """A part of a step that was ticked: how long it took, and when it ended."""

    task: str
    seconds: int
    ended: datetime


def seats(connection: Connection, file: ShopFile) -> tuple[Seat, ...]:
    """Return every piece in work, with its blank: each keeps its place, whatever others do."""
    columns = (
        PIECES.c.id, PIECES.c.number, PIECES.c.state, PIECES.c.batch_id, ORDERS.c.reference,
        ORDERS.c.due, ORDERS.c.clip, BATCHES.c.model, BATCHES.c.sheet, BATCHES.c.colour,
        BATCHES.c.blanks,
    )  # fmt: skip
    over = (*ENDED, PieceState.PACKED)
    in_work = select(PIECES.c.batch_id).where(
        PIECES.c.batch_id.is_not(None), PIECES.c.state.not_in(over)
    )
    rows = connection.execute(
        select(*columns)
        .join(ORDERS, ORDERS.c.id == PIECES.c.order_id)
        .join(BATCHES, BATCHES.c.id == PIECES.c.batch_id)
        .where(PIECES.c.batch_id.in_(in_work))
        .order_by(PIECES.c.batch_id, ORDERS.c.due, PIECES.c.id)
    )
    batches: dict[int, list[Seat]] = {}
    for row in rows.mappings():
        batch = batches.setdefault(row["batch_id"], [])
        per_blank = file.model(row["model"]).per_blank
        work = PieceWork(
            serial=f"{row['reference']}-{row['number']}",
            state=row["state"],
            due=row["due"],
            clip=row["clip"] is not None,
            blank=f"B{row['batch_id']}.{len(batch) // per_blank + 1}",
        )
        batch.append(
            Seat(row["id"], work, row["batch_id"], row["model"], row["sheet"], row["colour"])
        )
    return tuple(s for batch in batches.values() for s in batch if s.work.state not in over)


def blanks_of(taken: Sequence[Seat]) -> tuple[BlankWork, ...]:
    """Return the blanks of pieces in work, each as far as the piece that came least far."""
    found: dict[str, BlankWork] = {}
    for seat in taken:
        known = found.get(seat.work.blank)
        state = seat.work.state
        if known is not None and PROGRESS.index(known.state) < PROGRESS.index(state):
            state = known.state
        found[seat.work.blank] = BlankWork(
            seat.work.blank, seat.model, seat.colour, state, seat.sheet
        )
    return tuple(found.values())


def blanks_past(
    connection: Connection, file: ShopFile, state: PieceState
) -> Counter[tuple[str, str]]:
    """Return how many blanks have come to a state, of each model and mould; what is over has."""
    columns = BATCHES.c.model, BATCHES.c.mould
    rows = connection.execute(select(*columns, func.sum(BATCHES.c.blanks)).group_by(*columns))
    found = Counter({(model, mould): int(count) for model, mould, count in rows})
    try:
        taken = seats(connection, file)
    except InputError:
        # The shop file does not name a model that is in work: that is told elsewhere.
        return found
    batch_of = {seat.work.blank: seat.batch for seat in taken}
    numbers = set(batch_of.values())
    moulds = connection.execute(
        select(BATCHES.c.id, BATCHES.c.mould).where(BATCHES.c.id.in_(numbers))
    )
    mould_of = {row["id"]: row["mould"] for row in moulds.mappings()}
    for blank in blanks_of(taken):
        if PROGRESS.index(blank.state) < PROGRESS.index(state):
            found[blank.model, mould_of[batch_of[blank.name]]] -= 1
    return found


def runs_of(connection: Connection, taken: Sequence[Seat]) -> tuple[Done, ...]:
    """Return what was ticked of the batches in work, in the order of time."""
    batches = sorted({seat.batch for seat in taken})
    rows = connection.execute(
        select(RUNS.c.task, RUNS.c.seconds, RUNS.c.ended)
        .where(RUNS.c.batch_id.in_(batches))
        .order_by(RUNS.c.ended, RUNS.c.id)
    )
    return tuple(Done(*row) for row in rows)


def learned_figures(connection: Connection) -> dict[str, float]:
    """Return what was learned and accepted: step -> seconds of hands, "scrap MODEL" -> share."""
    rows = connection.execute(select(LEARNED.c.what, LEARNED.c.value))
    return {what: float(value) for what, value in rows}


def tick(
    connection: Connection, file: ShopFile, task: str, seconds: int | None, now: datetime
) -> tuple[Seat, ...]:
    """Note that a step is done, and move its pieces along; return them.

    Args:
        connection: of one transaction.
        file: the shop file.
        task: as the plan calls it, "B7.2.heat" or "2026-0042-1.fold".
        seconds: what it took with hands; None takes the planned time.
        now: it ended.

    Raises:
        InputError: the plan has no such task, or the seconds cannot be.
        CannotMakeError: it was ticked already, or a step before it was not.
    """
    name, _, word = task.rpartition(".")
    taken = seats(connection, file)
    mine = tuple(seat for seat in taken if name in (seat.work.blank, seat.work.serial))
    on_blank = bool(mine) and mine[0].work.blank == name
    steps = _steps(file, mine, on_blank=on_blank)
    step = next((each for each in steps if each.name == word), None)
    if step is None:
        raise InputError(
            f'nothing in work is called "{task}"', mend="Copy a name from chape shop plan show"
        )
    if seconds is not None and not 0 <= seconds <= LONGEST:
        raise InputError(f"found {seconds} s", mend=f"Write 0 to {LONGEST}")
    _refuse_order(connection, task, steps, step, mine, taken, file)
    seat = mine[0]
    planned = step_time(step, file.model(seat.model), file, {})
    connection.execute(
        insert(RUNS).values(
            task=task, step=step.name, model=seat.model, sheet=seat.sheet, batch_id=seat.batch,
            seconds=planned.hands if seconds is None else seconds, ended=now,
        )
    )  # fmt: skip
    if step.state is not None:
        _move_on(connection, mine, step.state)
    return mine


def _steps(file: ShopFile, mine: Sequence[Seat], *, on_blank: bool) -> tuple[Step, ...]:
    if not mine:
        return ()
    model, clip = file.model(mine[0].model), mine[0].work.clip
    found = steps_of(model, clip=clip and not on_blank)
    return tuple(step for step in found if (step.per == "blank") == on_blank)


def _refuse_order(
    connection: Connection,
    task: str,
    steps: tuple[Step, ...],
    step: Step,
    mine: Sequence[Seat],
    taken: Sequence[Seat],
    file: ShopFile,
) -> None:
    """Refuse a tick out of order."""
    name = task.rpartition(".")[0]
    ticked = {done.task for done in runs_of(connection, taken)}
    everything = steps_of(file.model(mine[0].model), clip=True)
    state = min((seat.work.state for seat in mine), key=PROGRESS.index)
    if task in ticked or is_past(step, state, everything):
        raise CannotMakeError(f"{task} is done already", mend="Tick the next one")
    for before in steps[: steps.index(step)]:
        if f"{name}.{before.name}" not in ticked and not is_past(before, state, everything):
            raise CannotMakeError(
                f"{name}.{before.name} comes before {task}", mend="Tick that one first"
            )
    first_of_piece = (
        step.per != "blank" and state not in PROGRESS[PROGRESS.index(PieceState.TRIMMED) :]
    )
    if first_of_piece:
        raise CannotMakeError(
            f"the blank {mine[0].work.blank} is not cut yet", mend="Tick its steps first"
        )


def _move_on(connection: Connection, mine: Sequence[Seat], state: PieceState) -> None:
    for seat in mine:
        if PROGRESS.index(seat.work.state) < PROGRESS.index(state):
            connection.execute(update(PIECES).where(PIECES.c.id == seat.piece).values(state=state))


def alone_since(
    done: Sequence[Done], alone: Mapping[str, StepTime], now: datetime
) -> tuple[frozenset[str], dict[str, int]]:
    """Return which parts are over, and what still runs by itself with its seconds left.

    Args:
        done: ticks; each lets the unattended part of its step begin.
        alone: task -> what its step takes.
        now: the present moment.
    """
    over: set[str] = set()
    running: dict[str, int] = {}
    last = {each.task.rpartition(".")[0]: each.task for each in done}
    for each in done:
        over.add(each.task)
        if last[each.task.rpartition(".")[0]] != each.task:
            # A later step was ticked: whatever ran by itself before it is over.
            over.add(each.task + ALONE)
            continue
        if each.task not in alone:
            continue
        left = alone[each.task].alone - round((now - each.ended).total_seconds())
        if left > 0:
            running[each.task + ALONE] = left
        else:
            over.add(each.task + ALONE)
    return frozenset(over), running
