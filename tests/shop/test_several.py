"""Several people at once, and a process that is killed, on SQLite and on a real PostgreSQL."""

import os
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from chape.errors import CannotMakeError, OutputError
from chape.shop.batches import choose_batches, wishes_of
from chape.shop.folder import backup, new_shop, restore
from chape.shop.orders import Wanted, add_orders, list_orders
from chape.shop.rows import export_files
from chape.shop.stock import Good, Reason, Shelf, move_stock, set_shelf, shelves
from chape.shop.store import open_shop
from chape.shop.tables import METADATA
from chape.shop.take import take_batch
from small_shop import DUE, NOW, TEXT, enter, order_line, small_shop
from started_postgres import lacks, started_postgres

WRITERS, CHANGES = 8, 10
SHEET = Good("sheet", "acrylic-pvc-2.0 300x300", "black")
EYELETS = Good("eyelet", "eyelet-6.4")


@pytest.fixture(scope="module")
def server():
    missing = lacks()
    if missing is not None:
        pytest.skip(missing)
    with started_postgres() as started:
        yield started


@pytest.fixture(params=["sqlite", "postgresql"])
def shop(request, tmp_path):
    if request.param == "sqlite":
        made = small_shop(tmp_path / "shop")
    else:
        name = "".join(letter for letter in request.node.name.lower() if letter.isalpha())[:40]
        url = request.getfixturevalue("server").database(name)
        made = new_shop(tmp_path / "shop", TEXT.replace("[shop]", f'[shop]\ndatabase = "{url}"'))
    for good in (SHEET, EYELETS):
        made.change(lambda c, g=good: set_shelf(c, Shelf(g, 1000, 0, 1, 1), NOW))
    yield made
    made.close()


def test_the_tables_are_as_expected(shop):
    def drift(connection):
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        return compare_metadata(context, METADATA)

    assert shop.read(drift) == []


def test_writers_lose_nothing_and_use_no_number_twice(shop):
    """Each writer enters orders and takes from one shelf; counts and references must add up."""

    def write(writer):
        own = open_shop(shop.folder)
        made = []
        for _ in range(CHANGES):

            def change(connection):
                move_stock(connection, EYELETS, -1, Reason.USED, NOW)
                return add_orders(connection, [order_line(customer=f"c{writer}")], NOW)

            made += [order.reference for order in own.change(change)]
        own.close()
        return made

    with ThreadPoolExecutor(WRITERS) as pool:
        references = [each for made in pool.map(write, range(WRITERS)) for each in made]
    assert sorted(references) == [f"2026-{n + 1:04d}" for n in range(WRITERS * CHANGES)]
    left = {row.good: row.on_hand for row in shop.read(shelves)}
    assert left[EYELETS] == 1000 - WRITERS * CHANGES
    kept = shop.read(lambda c: list_orders(c, Wanted(limit=None)))
    assert {order.reference for order in kept} == set(references)


def test_a_batch_is_taken_once_however_many_try(shop):
    enter(shop, order_line(quantity=4))
    orders, rows = shop.read(lambda c: (list_orders(c, Wanted()), shelves(c)))
    (batch,) = choose_batches(shop.file, wishes_of(orders), rows, DUE).batches

    def take(_):
        try:
            return shop.change(lambda c: take_batch(c, shop.file, batch, DUE, NOW))
        except CannotMakeError:
            return None

    with ThreadPoolExecutor(4) as pool:
        taken = [number for number in pool.map(take, range(4)) if number is not None]
    assert len(taken) == 1
    assert {row.good: row.on_hand for row in shop.read(shelves)}[SHEET] == 999


WRITER = """
import sys
from pathlib import Path
from datetime import date, datetime, UTC
from chape.shop.model import OrderLine
from chape.shop.orders import add_orders
from chape.shop.store import open_shop
shop = open_shop(Path(sys.argv[1]))
line = OrderLine(customer="c", model="camp", sheet="s", colour="black", due=date(2026, 4, 1),
                 quantity=3)
while True:
    (order,) = shop.change(lambda c: add_orders(c, [line], datetime.now(UTC)))
    print(order.reference, flush=True)
"""


def test_a_killed_process_loses_nothing_it_acknowledged(shop):
    """kill -9 in the middle of writing: all that was printed is there, and nothing by halves."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, shop.folder], stdout=subprocess.PIPE, text=True
    )
    said = [writer.stdout.readline().strip() for _ in range(12)]
    os.kill(writer.pid, signal.SIGKILL)
    said += writer.stdout.read().split()
    writer.wait()
    writer.stdout.close()
    whole = [line for line in said if len(line) == len(said[0])]
    again = open_shop(shop.folder)
    orders = {o.reference: o for o in again.read(lambda c: list_orders(c, Wanted(limit=None)))}
    assert set(whole) <= set(orders)
    assert all(len(order.pieces) == 3 for order in orders.values())
    (fresh,) = enter(again, order_line())
    assert fresh.reference not in whole
    again.close()


def test_a_killed_server_loses_nothing_it_acknowledged(server, tmp_path):
    """kill -9 on the database itself while orders come in: started again, it has them all."""
    text = TEXT.replace("[shop]", f'[shop]\ndatabase = "{server.database("cut")}"')
    shop = new_shop(tmp_path / "shop", text)
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, shop.folder],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    said = [writer.stdout.readline().strip() for _ in range(12)]
    server.kill()
    said += writer.stdout.read().split()
    assert writer.wait() != 0
    writer.stdout.close()
    shop.close()
    server.start()
    again = open_shop(shop.folder)
    orders = {o.reference: o for o in again.read(lambda c: list_orders(c, Wanted(limit=None)))}
    assert set(said) <= set(orders)
    assert all(len(order.pieces) == 3 for order in orders.values())
    (fresh,) = enter(again, order_line())
    assert fresh.reference not in said
    again.close()


def test_a_shop_moves_to_postgresql_and_back(server, tmp_path):
    first = small_shop(tmp_path / "first")
    enter(first, order_line(quantity=2, hold=27.5, marks="Ä"))
    first.change(lambda c: set_shelf(c, Shelf(SHEET, 5, 0, 1, 1), NOW))
    backup(first, tmp_path / "first.zip")
    second = restore(tmp_path / "first.zip", tmp_path / "second", server.database("moved"))
    assert second.read(export_files) == first.read(export_files)
    (fresh,) = enter(second, order_line())
    assert fresh.reference == "2026-0002"
    backup(second, tmp_path / "second.zip")
    third = restore(tmp_path / "second.zip", tmp_path / "third", "shop.db")
    assert third.read(export_files) == second.read(export_files)
    with pytest.raises(OutputError, match="holds a shop already"):
        restore(tmp_path / "second.zip", tmp_path / "fourth")
    for each in (first, second, third):
        each.close()
