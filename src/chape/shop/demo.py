"""The demo shop: a month of invented orders and history, the same for the same seed."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from importlib import resources
from random import Random
from typing import TYPE_CHECKING

from sqlalchemy import insert, update

from chape.shop.folder import new_shop
from chape.shop.model import OrderLine, OrderState, PieceState
from chape.shop.orders import add_orders
from chape.shop.route import step_time, steps_of
from chape.shop.stock import Good, Shelf, set_shelf
from chape.shop.tables import BATCHES, FIT_RECORDS, ORDERS, PIECES, RUNS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date
    from pathlib import Path

    from sqlalchemy.engine import Connection

    from chape.shop.model import Order
    from chape.shop.shop_file import ShopFile
    from chape.shop.store import Shop

#: Working days of history, orders on each of them, and open orders of the last day.
DAYS, EACH_DAY, OPEN = 20, 11, 60

SHEET = "acrylic-pvc-2.0"
COLOURS = ("black", "black", "tan", "olive")
CLIPS = ("flat-clip-2", "flat-clip-2", "belt-loop-2", None)

#: How this shop's hands differ from the usual times, by step; nothing else is said of them.
PACE = {"edges": 1.25, "eyelets": 0.9, "pack": 1.15, "check": 0.85}


def demo_shop(folder: Path, day: date, seed: int = 1) -> Shop:
    """Start the demo shop, as it stands on the morning of a day.

    Raises:
        OutputError: a shop is there already, or the folder cannot be written.
    """
    text = (resources.files("chape.shop") / "data" / "demo-shop.toml").read_text("utf-8")
    shop = new_shop(folder, text)
    dice = Random(seed)  # noqa: S311 - no secret
    shop.change(lambda connection: _fill(connection, shop.file, day, dice))
    return shop


def _fill(connection: Connection, file: ShopFile, day: date, dice: Random) -> None:
    days = list(_working_days(day))
    _stock(connection, days[0])
    for past in days:
        lines = [_line(file, past, dice, (3, 8)) for _ in range(EACH_DAY)]
        orders = add_orders(connection, lines, _at(past, 7))
        _make(connection, file, orders, past + timedelta(days=1), dice)
    lines = [_line(file, days[-1], dice, (1, 3)) for _ in range(OPEN)]
    add_orders(connection, lines, _at(day, 6))


def _working_days(day: date) -> Iterator[date]:
    """Yield the working days before a day, oldest first."""
    past = day - timedelta(days=DAYS + 2 * (DAYS // 5))
    while past < day:
        if past.weekday() < 5:
            yield past
        past += timedelta(days=1)


def _at(day: date, hour: float) -> datetime:
    return datetime.combine(day, time(), UTC) + timedelta(hours=hour)


def _line(file: ShopFile, placed: date, dice: Random, wait: tuple[int, int]) -> OrderLine:
    return OrderLine(
        customer=f"c{dice.randrange(10, 99)}",
        model=dice.choice(sorted(file.models)),
        sheet=SHEET,
        colour=dice.choice(COLOURS),
        clip=dice.choice(CLIPS),
        due=placed + timedelta(days=dice.randint(*wait)),
        placed=placed,
    )


def _stock(connection: Connection, first: date) -> None:
    now = _at(first, 5)
    for colour in sorted(set(COLOURS)):
        good = Good("sheet", f"{SHEET} 300x300", colour)
        set_shelf(connection, Shelf(good, 40, 12, 8, 3150), now)
    set_shelf(connection, Shelf(Good("eyelet", "eyelet-6.4"), 900, 200, 500, 2800), now)
    for clip in sorted({clip for clip in CLIPS if clip}):
        set_shelf(connection, Shelf(Good("clip", clip), 80, 20, 25, 3000), now)


def _make(
    connection: Connection, file: ShopFile, orders: Sequence[Order], day: date, dice: Random
) -> None:
    """Make and ship orders: their batches, what the bench ticked, and their fit."""
    groups: dict[tuple[str, str], list[Order]] = {}
    for order in orders:
        groups.setdefault((str(order.line.model), order.line.colour), []).append(order)
    moment = _at(day, 8)
    for (name, colour), group in sorted(groups.items()):
        model = file.model(name)
        blanks = -(-len(group) // model.per_blank)
        made = connection.execute(
            insert(BATCHES).values(
                model=name, sheet=SHEET, colour=colour, mould=model.mould,
                fixture=model.fixture, blanks=blanks, day=day, taken=moment,
            )
        )  # fmt: skip
        (batch,) = made.inserted_primary_key or (0,)
        names = [f"B{batch}.{number + 1}" for number in range(blanks)]
        names += [order.pieces[0].serial for order in group]
        rows = []
        for each in names:
            on_blank = each in names[:blanks]
            for step in steps_of(model, clip=not on_blank):
                if (step.per == "blank") != on_blank:
                    continue
                usual = step_time(step, model, file, {}).hands * PACE.get(step.name, 1.0)
                seconds = max(1, round(usual * dice.lognormvariate(0.0, 0.18)))
                moment += timedelta(seconds=seconds)
                rows.append(
                    {
                        "task": f"{each}.{step.name}", "step": step.name, "model": name,
                        "sheet": SHEET, "batch_id": batch, "seconds": seconds, "ended": moment,
                    }
                )  # fmt: skip
        connection.execute(insert(RUNS), rows)
        pieces = [order.pieces[0].id for order in group]
        connection.execute(
            update(PIECES)
            .where(PIECES.c.id.in_(pieces))
            .values(state=PieceState.SHIPPED, batch_id=batch)
        )
        connection.execute(
            insert(FIT_RECORDS),
            [_fit(piece, model.hold or 20.0, moment, dice) for piece in pieces],
        )
    shipped = [order.id for order in orders]
    connection.execute(
        update(ORDERS).where(ORDERS.c.id.in_(shipped)).values(state=OrderState.SHIPPED)
    )


def _fit(piece: int, wanted: float, moment: datetime, dice: Random) -> dict[str, object]:
    hold = round(wanted * dice.lognormvariate(0.04, 0.1), 1)
    return {
        "piece_id": piece, "at": moment, "hold": hold, "faults": "", "passed": 1, "note": ""
    }  # fmt: skip
