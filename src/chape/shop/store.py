"""The store of a shop: one database, opened, made and changed safely.

Every change runs in one transaction and is safe on the disk before it is acknowledged. There is one
writer at a time, which takes its turn before it reads, on PostgreSQL by a lock that all of chape's
writers take; readers wait for nobody.
"""

from __future__ import annotations

import random
import sqlite3
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from sqlalchemy import create_engine, event, inspect, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError

from chape.errors import InputError, OutputError
from chape.shop.route import check_shop_file
from chape.shop.shop_file import SHOP_FILE, read_shop_file

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from sqlalchemy.engine import Connection, Engine

    from chape.shop.shop_file import ShopFile

Result = TypeVar("Result")

#: The newest migration: what the tables in this chape look like.
REVISION = "0003"

#: How long a writer waits for its turn, s.
PATIENCE = 30

#: The number of the lock by which writers take turns on PostgreSQL.
TURN = 1_667_784_048

#: Tries of a change that collides with what others than chape do to the database.
MOST_TRIES = 40

#: What PostgreSQL calls a change that collided: serialization failure, deadlock.
COLLIDED = ("40001", "40P01")


@dataclass(frozen=True, slots=True, eq=False)
class Shop:
    """An open shop.

    Attributes:
        folder: where its file lies.
        file: what the person decided.
        engine: the way to its database.
    """

    folder: Path
    file: ShopFile
    engine: Engine

    def read(self, look: Callable[[Connection], Result]) -> Result:
        """Return what ``look`` sees of one moment of the store.

        Raises:
            OutputError: the database does not answer.
        """
        return _answered(self, look, write=False)

    def change(self, action: Callable[[Connection], Result]) -> Result:
        """Run a change whole or not at all, and return what it returns.

        ``action`` may run more than once, and so does nothing but work on its connection.

        Raises:
            OutputError: the database does not answer, or is always busy.
        """
        return _answered(self, action, write=True)

    def rewrite(self) -> None:
        """Let nothing that was erased linger in the log beside a SQLite database."""
        if self.engine.dialect.name != "sqlite":
            return
        raw = self.engine.raw_connection()
        try:
            raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)").close()
        finally:
            raw.close()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def open_shop(folder: Path) -> Shop:
    """Open the shop of a folder.

    Raises:
        InputError: no shop, its file or database cannot be used, or its tables are of another
            version.
    """
    file = read_shop_file(folder)
    check_shop_file(file)
    url = database_url(folder, file)
    if url.database and url.get_backend_name() == "sqlite" and not _is_there(url):
        raise InputError(
            "the shop's database is not there",
            mend="Bring it back with chape shop restore, or start a new shop",
            file=url.database,
        )
    shop = Shop(folder, file, engine_of(url, folder))
    found = revision_of(shop)
    if found != REVISION:
        shop.close()
        if found is None or found < REVISION:
            problem = "its tables are older than this chape"
            mend = "Run chape shop upgrade, which keeps a backup beside it"
        else:
            problem, mend = "its tables are newer than this chape", "Update chape"
        raise InputError(problem, mend=mend, file=folder)
    return shop


def database_url(folder: Path, file: ShopFile) -> URL:
    """Return where the shop's database is.

    Raises:
        InputError: the key holds no file name and no URL of a known kind.
    """
    named = file.shop.database
    if "://" not in named:
        return URL.create("sqlite", database=str(folder / named))
    try:
        url = make_url(named)
        url.get_dialect()
    except (ArgumentError, NoSuchModuleError, ValueError) as error:
        raise InputError(
            f"no database can be reached by that ({str(error).splitlines()[0]})",
            mend='Write a file name, or a URL such as "postgresql+psycopg://HOST/NAME"',
            file=folder / SHOP_FILE,
            field="shop.database",
        ) from None
    return url


def engine_of(url: URL, folder: Path) -> Engine:
    """Return an engine that keeps our promises on this kind of database.

    Raises:
        InputError: the driver that reaches it is not installed.
    """
    lite = url.get_backend_name() == "sqlite"
    arguments: dict[str, Any] = {"timeout": PATIENCE} if lite else {}
    try:
        engine = create_engine(url, connect_args=arguments, pool_pre_ping=not lite)
    except ModuleNotFoundError as error:
        raise InputError(
            f"the driver {error.name} is not installed",
            mend='Install it, for PostgreSQL with pip install "chape[postgres]"',
            file=folder / SHOP_FILE,
            field="shop.database",
        ) from None
    if lite:
        event.listen(engine, "connect", _prepare)
        event.listen(engine, "begin", _begin)
    return engine


def revision_of(shop: Shop) -> str | None:
    """Return the newest migration that the shop's tables went through, None for an empty base.

    Raises:
        OutputError: the database does not answer.
        InputError: the file is no database.
    """

    def look(connection: Connection) -> str | None:
        if not inspect(connection).has_table("alembic_version"):
            return None
        return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()

    return shop.read(look)


def _is_there(url: URL) -> bool:
    from pathlib import Path  # noqa: PLC0415 - paths are of no use to other databases

    return url.database is not None and Path(url.database).is_file()


def _prepare(connection: sqlite3.Connection, record: object) -> None:
    """Set up a new connection to SQLite.

    Writers and readers do not wait for each other (WAL); a commit is on the disk before it is
    acknowledged (FULL); what is erased is overwritten (secure_delete).
    """
    del record
    connection.isolation_level = None  # we begin transactions ourselves
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        "foreign_keys=ON",
        "secure_delete=ON",
    ):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin(connection: Connection) -> None:
    """Begin: a writer takes its turn at once, so that what it reads is still so when it writes."""
    write = connection.get_execution_options().get("write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


def _answered(shop: Shop, action: Callable[[Connection], Result], *, write: bool) -> Result:
    for tries in range(MOST_TRIES):
        try:
            return _once(shop.engine, action, write=write)
        except DBAPIError as error:
            if getattr(error.orig, "sqlstate", None) not in COLLIDED:
                raise _said(shop, error) from error
            # Whoever collides waits a little, and not all equally long.
            time.sleep(random.uniform(0.0, 0.01 * 2 ** min(tries, 5)))  # noqa: S311 - no secret
    raise OutputError(
        shop.folder, "the shop's database was busy all the time", mend="Try again in a moment"
    )


def _once(engine: Engine, action: Callable[[Connection], Result], *, write: bool) -> Result:
    with engine.connect() as connection:
        lite = engine.dialect.name == "sqlite"
        # A reader sees one moment. Writers take turns, and see all that was written before.
        level = "READ COMMITTED" if write else "REPEATABLE READ"
        options: dict[str, Any] = {"write": write} if lite else {"isolation_level": level}
        connection.execution_options(**options)
        with connection.begin():
            if write and not lite:
                connection.execute(text(f"SET LOCAL lock_timeout = '{PATIENCE}s'"))
                connection.execute(text(f"SELECT pg_advisory_xact_lock({TURN})"))
            return action(connection)


def _said(shop: Shop, error: DBAPIError) -> InputError | OutputError:
    """Return what a database said in our words."""
    first = str(error.orig).splitlines()[0] if str(error.orig) else type(error.orig).__name__
    if isinstance(error.orig, sqlite3.DatabaseError) and "not a database" in first:
        return InputError(
            "the shop's database is damaged, or no database",
            mend="Bring it back from a backup with chape shop restore",
            file=shop.engine.url.database or shop.folder,
        )
    return OutputError(
        shop.folder,
        f"the shop's database refused ({first})",
        mend="Check that it is running, that you may write to it, and that the disk has room",
    )
