"""A small shop in a temporary folder, for the tests of shop and command line."""

from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from chape.catalog.read import catalog
from chape.shop.folder import new_shop
from chape.shop.model import OrderLine
from chape.shop.orders import add_orders
from chape.shop.store import open_shop

NOW = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
DUE = date(2026, 3, 6)
CATALOG = catalog()

TEXT = """
[shop]
name = "Test shop"

[models.camp]
title = "Camp knife, folded"
mould = "camp-4up"
fixture = "camp-4up"
per_blank = 4
hold = 25.0

[models.slim]
title = "Slender knife, folded"
mould = "slim-6up"
fixture = "slim-6up"
per_blank = 6
eyelets = 5
"""


def small_shop(folder, text=TEXT):
    """Start a shop; the usual one is made once, and its database copied."""
    if text != TEXT:
        return new_shop(folder, text)
    folder.mkdir(parents=True)
    (folder / "shop.toml").write_text(text)
    (folder / "shop.db").write_bytes(_empty_database())
    return open_shop(folder)


@cache
def _empty_database():
    with TemporaryDirectory() as folder:
        new_shop(Path(folder) / "shop", TEXT).close()
        return (Path(folder) / "shop/shop.db").read_bytes()


def order_line(**changes):
    given = {
        "customer": "c1",
        "model": "camp",
        "sheet": "acrylic-pvc-2.0",
        "colour": "black",
        "due": DUE,
    }
    return OrderLine.model_validate({**given, **changes})


def enter(shop, *lines, now=NOW):
    return shop.change(lambda connection: add_orders(connection, lines, now))
