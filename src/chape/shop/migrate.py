"""Brings a store's tables to what this chape expects."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alembic import command
from alembic.config import Config

from chape.shop.shop_file import read_shop_file
from chape.shop.store import REVISION, Shop, database_url, engine_of

if TYPE_CHECKING:
    from pathlib import Path

    from sqlalchemy.engine import Connection


def migrations(connection: Connection | None = None) -> Config:
    """Return the migrations inside the package, to be run over a connection."""
    config = Config()
    config.set_main_option("script_location", "chape.shop:migrations")
    config.attributes["connection"] = connection
    return config


def upgrade(shop: Shop) -> None:
    """Run the migrations that a store has not been through yet, all of them or none.

    Raises:
        OutputError: the database refuses.
    """
    shop.change(lambda connection: command.upgrade(migrations(connection), REVISION))


def unopened(folder: Path) -> Shop:
    """Return a shop whatever version its tables have, even without any.

    Raises:
        InputError: no shop, or its file cannot be used.
    """
    file = read_shop_file(folder)
    return Shop(folder, file, engine_of(database_url(folder, file), folder))
