"""Measures the shop: the plan of a day, opening and listing with years of orders, many writers.

Run it with ``.venv/bin/python benchmarks/shop.py [plan] [store] [writers]``; without words, all.
Times are wall seconds, and CPU seconds of this process beside them: on a busy machine only the
latter tell.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from sqlalchemy import insert

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from chape.shop.batches import choose_batches, wishes_of
from chape.shop.demo import demo_shop
from chape.shop.folder import new_shop
from chape.shop.in_work import blanks_of, seats
from chape.shop.model import OrderLine, OrderState, PieceState
from chape.shop.orders import PAGE, Wanted, add_orders, count_orders, list_orders
from chape.shop.plan_problem import BlankWork, DayWork, PieceWork, day_problem
from chape.shop.schedule import Effort
from chape.shop.schedule_solve import solve
from chape.shop.stock import shelves
from chape.shop.store import Shop, open_shop
from chape.shop.tables import ORDERS, PIECES
from chape.shop.take import take_batch
from started_postgres import lacks, started_postgres

Work = TypeVar("Work", BlankWork, PieceWork)

DAY = date(2026, 3, 2)
MORNING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
PAST = 20_000
WRITERS, CHANGES = 8, 200

#: Invented months that are planned.
SEEDS = (1, 2, 3, 7)


def timed(title: str, action: object) -> object:
    """Run an action, print what it took, and return what it returned."""
    wall, cpu = time.perf_counter(), time.process_time()
    result = action()  # type: ignore[operator]  # whatever is called
    took = f"{time.perf_counter() - wall:7.2f} s, CPU {time.process_time() - cpu:6.2f} s"
    print(f"{title:52} {took}")
    return result


def plan(folder: Path) -> None:
    """Plan days of 60 orders, each from nothing and with work of the day before."""
    for seed in SEEDS:
        _plan_month(folder / f"demo-{seed}", seed)


def _plan_month(folder: Path, seed: int) -> None:
    shop = demo_shop(folder, DAY, seed)
    orders, rows = shop.read(lambda c: (list_orders(c, Wanted(limit=None)), shelves(c)))
    far = DAY + timedelta(days=30)
    choice = timed(
        f"month {seed}: choose batches for 60 orders",
        lambda: choose_batches(shop.file, wishes_of(orders), rows, far, 60),
    )
    for batch in choice.batches:  # type: ignore[attr-defined]  # a Choice
        shop.change(lambda c, b=batch: take_batch(c, shop.file, b, DAY, MORNING))
    taken = shop.read(lambda c: seats(c, shop.file))
    cold = DayWork(blanks_of(taken), tuple(s.work for s in taken), MORNING)
    _plan(shop, "nothing begun, nothing set up", cold)
    # The day before left a batch of each tool cut and trimmed, and its tools in their places.
    early = {b.name for b in cold.blanks[:: max(1, len(cold.blanks) // 3)]}
    warm = DayWork(
        blanks=tuple(_trimmed(b) if b.name in early else b for b in cold.blanks),
        pieces=tuple(_trimmed(p) if p.blank in early else p for p in cold.pieces),
        now=MORNING,
        set_up={"press 1": "black", "table 1": "camp-4up", "router 1": "camp-4up"},
    )
    _plan(shop, "three blanks cut the day before, tools mounted", warm)
    shop.close()


def _trimmed(work: Work) -> Work:
    return replace(work, state=PieceState.TRIMMED)


def _plan(shop: Shop, title: str, work: DayWork) -> None:
    problem = day_problem(shop.file, work)
    for seconds in (1.0, 20.0):
        found = timed(
            f"plan {len(problem.tasks)} tasks, {title}",
            lambda s=seconds: solve(problem, Effort(seconds=s, workers=2)),
        )
        print(f"    ready after {found.finish} s, bound {found.bound}, gap {found.gap:.2%}")  # type: ignore[attr-defined]  # a Schedule


def store(folder: Path) -> None:
    """Open a shop with years of past orders, and list a page."""
    shop = new_shop(folder / "years")
    days = [DAY - timedelta(days=n % 2000) for n in range(PAST)]
    orders = [
        {
            "id": n + 1, "reference": f"P{n}", "customer": f"c{n % 500}", "model": "camp",
            "hand": "right", "sheet": "acrylic-pvc-2.0", "colour": "black", "marks": "",
            "due": day, "quantity": 1, "placed": day, "note": "",
            "state": OrderState.SHIPPED, "entered": MORNING,
        }
        for n, day in enumerate(days)
    ]  # fmt: skip
    pieces = [{"order_id": n + 1, "number": 1, "state": PieceState.SHIPPED} for n in range(PAST)]
    shop.change(lambda c: (c.execute(insert(ORDERS), orders), c.execute(insert(PIECES), pieces)))
    line = OrderLine(customer="c", model="camp", sheet="s", colour="black", due=DAY)
    shop.change(lambda c: add_orders(c, [line] * 200, MORNING))
    shop.close()
    again = timed(f"open a shop with {PAST} past orders", lambda: open_shop(folder / "years"))
    for title, wanted in (
        ("open orders", Wanted()),
        ("last page of all orders", Wanted(state=None, skip=PAST - PAGE)),
        ("one customer's", Wanted(state=None, customer="c7")),
    ):
        timed(
            f"list a page: {title}",
            lambda w=wanted: again.read(lambda c: (list_orders(c, w), count_orders(c, w))),  # type: ignore[attr-defined]  # a Shop
        )
    again.close()  # type: ignore[attr-defined]  # a Shop
    chape = Path(sys.executable).parent / "chape"
    timed(
        "chape shop order list, the whole command",
        lambda: subprocess.run(
            [chape, "shop", "order", "list", "--shop", folder / "years"],
            check=True,
            capture_output=True,
        ),
    )


def writers(folder: Path) -> None:
    """Let eight writers make two hundred changes each, on both databases."""
    _write(new_shop(folder / "lite"), "SQLite")
    missing = lacks()
    if missing is not None:
        print(missing)
        return
    with started_postgres() as server:
        text = f'[shop]\nname = "x"\ndatabase = "{server.database("writers")}"\n'
        _write(new_shop(folder / "postgres", text), "PostgreSQL")


def _write(shop: Shop, title: str) -> None:
    line = OrderLine(customer="c", knife="own", sheet="s", colour="black", due=DAY)

    def write(_: int) -> list[str]:
        own = open_shop(shop.folder)
        made = []
        for _ in range(CHANGES):
            (order,) = own.change(lambda c: add_orders(c, [line], MORNING))
            made.append(order.reference)
        own.close()
        return made

    def all_of_them() -> list[str]:
        with ThreadPoolExecutor(WRITERS) as pool:
            return [each for made in pool.map(write, range(WRITERS)) for each in made]

    said = timed(f"{WRITERS} writers × {CHANGES} changes on {title}", all_of_them)
    kept = shop.read(lambda c: list_orders(c, Wanted(limit=None)))
    lost = set(said) - {order.reference for order in kept}  # type: ignore[call-overload]  # a list
    print(f"    lost {len(lost)}, used twice {len(said) - len(set(said))}")  # type: ignore[arg-type, call-overload]  # a list
    shop.close()


def main() -> None:
    """Run what was asked for."""
    folder = Path(tempfile.mkdtemp(prefix="chape-shop-"))
    wanted = sys.argv[1:] or ["plan", "store", "writers"]
    try:
        for name in wanted:
            {"plan": plan, "store": store, "writers": writers}[name](folder)
    finally:
        shutil.rmtree(folder)


if __name__ == "__main__":
    main()
