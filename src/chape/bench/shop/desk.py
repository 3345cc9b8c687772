"""Opens the shop of a bench's folder for one request, and knows the only clock that is read."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from chape.bench.problem import MISSING, RefusedError
from chape.shop.shop_file import SHOP_FILE
from chape.shop.store import open_shop

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.bench.bench import Bench
    from chape.shop.store import Shop


@contextmanager
def shop_of(bench: Bench) -> Iterator[Shop]:
    """Open the shop in a bench's folder, and let go of its database afterwards.

    It is opened anew for each request, so that an edit of the shop file counts at once.

    Raises:
        RefusedError: there is no shop in the folder.
        InputError: its file or database cannot be used.
    """
    folder = bench.place.folder
    if not (folder / SHOP_FILE).is_file():
        raise RefusedError(MISSING, "There is no shop in this folder", mend="Start one here")
    shop = open_shop(folder)
    try:
        yield shop
    finally:
        shop.close()


@contextmanager
def changed_shop(bench: Bench) -> Iterator[Shop]:
    """Open the shop to change it, and tell every page once that is done."""
    with shop_of(bench) as shop:
        yield shop
    tell_changed(bench)


def tell_changed(bench: Bench) -> None:
    """Tell every page that the shop is not what it was."""
    bench.events.changed("shop", "shop", None)


def now() -> datetime:
    """Return this moment."""
    return datetime.now(UTC)


def today() -> date:
    """Return the day by the clock on the wall."""
    return now().astimezone().date()
