"""What deserves a look in the shop: what is late, what runs out, what is worn."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from sqlalchemy import or_, select

from chape.findings import Finding, Severity
from chape.shop.cutter_wear import cutters_of
from chape.shop.in_work import blanks_past
from chape.shop.job_folder import jobs_of
from chape.shop.model import OrderState, PieceState
from chape.shop.stock import shelves
from chape.shop.tables import ORDERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from sqlalchemy.engine import Connection

    from chape.errors import InputError
    from chape.shop.job_folder import Job
    from chape.shop.shop_file import ShopFile

#: A mould is worth a look from this share of its life on.
WORN = 0.9


def check_shop(connection: Connection, file: ShopFile, day: date) -> tuple[Finding, ...]:
    """Return what deserves a look on a day."""
    jobs, wrong = jobs_of(file)
    return (
        *_orders(connection, file, day),
        *_stock(connection),
        *_moulds(connection, file),
        *_cutters(connection, file, jobs),
        *_jobs(wrong),
    )


def _orders(connection: Connection, file: ShopFile, day: date) -> Iterator[Finding]:
    model, due = ORDERS.c.model, ORDERS.c.due
    known = list(file.models)
    rows = connection.execute(
        select(ORDERS.c.reference, due, model)
        .where(ORDERS.c.state == OrderState.OPEN)
        .where(or_(due < day, model.is_(None), model.not_in(known)))
        .order_by(due, ORDERS.c.id)
    )
    for row in rows.mappings():
        place = f"order {row['reference']}"
        if row["due"] < day:
            yield Finding(
                "order-late",
                Severity.ERROR,
                place,
                f"It was due on {row['due']}.",
                "Make it first, or tell the customer.",
                (day - row["due"]).days,
                0,
                "days",
            )
        if row["model"] is None:
            yield Finding(
                "order-without-model",
                Severity.WARNING,
                place,
                "It is for the customer's own knife, and waits for a model.",
                "Measure the knife, make its tools, write the model into shop.toml and enter the "
                "order anew with it.",
            )
        elif row["model"] not in known:
            yield Finding(
                "model-unknown",
                Severity.ERROR,
                place,
                f'The shop file names no model "{row["model"]}".',
                "Write it into shop.toml again, or cancel the order.",
            )


def _stock(connection: Connection) -> Iterator[Finding]:
    for shelf in shelves(connection):
        if shelf.low:
            yield Finding(
                "stock-low",
                Severity.WARNING,
                str(shelf.good),
                "It has come down to its reorder point.",
                "Buy more: chape shop stock buy says how much.",
                shelf.on_hand,
                shelf.reorder_at,
                "",
            )


def _moulds(connection: Connection, file: ShopFile) -> Iterator[Finding]:
    formed: Counter[str] = Counter()
    for (_, mould), count in blanks_past(connection, file, PieceState.FORMED).items():
        formed[mould] += count
    lives = {model.mould: model.mould_life for model in file.models.values()}
    for mould, life in sorted(lives.items()):
        if formed[mould] >= WORN * life:
            yield Finding(
                "mould-worn",
                Severity.WARNING,
                f"mould {mould}",
                "It has formed nearly as many blanks as you expect of it, or more.",
                "Look at its vents, edges and face; raise models.mould_life if it is sound.",
                formed[mould],
                life,
                "blanks",
            )


def _cutters(connection: Connection, file: ShopFile, jobs: Mapping[str, Job]) -> Iterator[Finding]:
    for each in cutters_of(connection, file, jobs):
        if each.life is not None and each.minutes >= WORN * each.life:
            yield Finding(
                "cutter-worn",
                Severity.WARNING,
                f"cutter {each.name}",
                "It has cut nearly as long as you expect of it, or longer.",
                "Look at its edges; change it and say so with chape shop cutters --changed.",
                round(each.minutes),
                each.life,
                "min",
            )


def _jobs(wrong: Mapping[str, InputError]) -> Iterator[Finding]:
    for name, error in wrong.items():
        yield Finding(
            "job-unreadable",
            Severity.WARNING,
            f"model {name}",
            f"{error.problem[:1].upper()}{error.problem[1:]}.",
            f"{error.mend}; models.{name}.job says where it is.",
        )
