"""Every row of the store as plain text, and back: for backups and for other programs."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from alembic import command
from sqlalchemy import MetaData, Table, func, insert, select
from sqlalchemy.exc import SQLAlchemyError

from chape.errors import InputError
from chape.shop.migrate import migrations
from chape.shop.tables import METADATA

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sqlalchemy import Column
    from sqlalchemy.engine import Connection, MappingResult, RowMapping

    from chape.shop.store import Shop

#: Alembic's own table, which the migrations write.
OWN = "alembic_version"


def table_texts(connection: Connection) -> dict[str, bytes]:
    """Return table name -> its rows as JSON lines, in the order of their keys.

    The tables are read as they are in the database, whatever version they have.
    """
    return {
        table.name: "".join(
            json.dumps(_plain(row), ensure_ascii=False, sort_keys=True) + "\n"
            for row in _rows(connection, table)
        ).encode("utf-8")
        for table in _tables(connection)
    }


def load_tables(shop: Shop, revision: str, files: Mapping[str, bytes]) -> None:
    """Make tables of a revision in an empty database, and fill them.

    Args:
        shop: whose database is empty.
        revision: the tables' version when they were written.
        files: "tables/NAME.jsonl" -> JSON lines.

    Raises:
        InputError: a row does not fit its table.
    """

    def load(connection: Connection) -> None:
        command.upgrade(migrations(connection), revision)
        for table in _tables(connection):
            content = files.get(f"tables/{table.name}.jsonl", b"").decode("utf-8")
            rows = [_typed(table, json.loads(line)) for line in content.splitlines()]
            if rows:
                connection.execute(insert(table), rows)
                _count_on(connection, table)

    try:
        shop.change(load)
    except (ValueError, KeyError, TypeError, SQLAlchemyError) as error:
        raise InputError(
            f"a row of the backup does not fit ({str(error).splitlines()[0]})",
            mend="Take another backup",
        ) from error


def export_files(connection: Connection) -> dict[str, bytes]:
    """Return file name -> content of every table as CSV and as JSON."""
    files = {}
    for table in METADATA.sorted_tables:
        rows = [_plain(row) for row in _rows(connection, table)]
        names = [column.name for column in table.columns]
        files[f"{table.name}.csv"] = _csv(names, rows)
        files[f"{table.name}.json"] = (
            json.dumps(rows, ensure_ascii=False, indent=1) + "\n"
        ).encode("utf-8")
    return files


def _csv(names: list[str], rows: Iterable[Mapping[str, Any]]) -> bytes:
    text_file = io.StringIO(newline="")
    writer = csv.writer(text_file)
    writer.writerow(names)
    for row in rows:
        cells = (row[name] for name in names)
        writer.writerow(
            json.dumps(cell, ensure_ascii=False) if isinstance(cell, dict | list) else cell
            for cell in cells
        )
    return text_file.getvalue().encode("utf-8")


def _tables(connection: Connection) -> list[Table]:
    """Return the tables of a database as they are, those that others refer to first."""
    found = MetaData()
    found.reflect(connection)
    return [table for table in found.sorted_tables if table.name != OWN]


def _rows(connection: Connection, table: Table) -> MappingResult:
    return connection.execute(select(table).order_by(*table.primary_key)).mappings()


def _plain(row: RowMapping) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, date | datetime) else value
        for name, value in row.items()
    }


def _typed(table: Table, row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _cell(table.columns[name], value) for name, value in row.items()}


def _cell(column: Column[Any], value: Any) -> Any:  # noqa: ANN401 - any cell
    kind = column.type.python_type
    if isinstance(value, str) and kind in (date, datetime):
        return kind.fromisoformat(value)
    return value


def _count_on(connection: Connection, table: Table) -> None:
    """Let PostgreSQL number the next row after those that were brought back."""
    if connection.dialect.name != "postgresql" or "id" not in table.columns:
        return
    sequence = func.pg_get_serial_sequence(table.name, "id")
    connection.execute(select(func.setval(sequence, func.max(table.columns.id))))
