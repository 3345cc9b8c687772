"""Order files: CSV in and out, a bad row named by its line.

The columns are those of an order. A comma or a semicolon may part the cells; empty cells take
what is usual. Days are written 2026-03-14.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import ValidationError

from chape.catalog.files import read_bytes
from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.shop.model import Order, OrderLine
from chape.shop.orders import LINE, check_line

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path

    from chape.catalog.read import Catalog
    from chape.shop.shop_file import ShopFile

#: A year of a busy shop's orders is far smaller, bytes.
LARGEST = 20_000_000

#: Columns that go out besides those that come in.
OUTGOING = ("reference", "state")


@dataclass(frozen=True, slots=True)
class OrderRows:
    """What an order file came to.

    Attributes:
        good: orders that can be entered, with the line each stands on.
        bad: what is wrong, one error for each bad row, naming its line.
    """

    good: tuple[tuple[int, OrderLine], ...]
    bad: tuple[InputError, ...]


def read_order_file(
    path: Path, file: ShopFile, catalog: Catalog, today: date | None = None
) -> OrderRows:
    """Read an order file, every row by itself.

    Columns that only go out, the reference and the state, are passed over.

    Raises:
        InputError: no such file, not a table, or a column is missing or unknown.
    """
    return order_rows(read_bytes(path, LARGEST), path, file, catalog, today)


def order_rows(
    content: bytes, path: Path, file: ShopFile, catalog: Catalog, today: date | None = None
) -> OrderRows:
    """Read what an order file holds, every row by itself (as ``read_order_file``).

    Args:
        content: of the file.
        path: what it is called in errors.
        file: the shop file, whose models may be ordered.
        catalog: whose sheets and clips may be.
        today: the day that rows came in which do not say (as ``check_line``).

    Raises:
        InputError: not a table, or a column is missing or unknown.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            "the file is not UTF-8 text", mend="Save it as CSV UTF-8", file=path
        ) from None
    head = text.split("\n", 1)[0]
    parted_by = ";" if head.count(";") > head.count(",") else ","
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=parted_by, strict=True)
    good: list[tuple[int, OrderLine]] = []
    bad: list[InputError] = []
    try:
        columns = _columns(next(rows, []), path)
        for cells in rows:
            if not any(cell.strip() for cell in cells):
                continue
            try:
                good.append((rows.line_num, _line(cells, columns, file, catalog, today)))
            except InputError as error:
                bad.append(error.in_file(f"{path}, line {rows.line_num}"))
    except csv.Error as error:
        raise InputError(
            f"line {rows.line_num} breaks the rules of CSV ({error})",
            mend="Correct its quotes",
            file=path,
        ) from None
    return OrderRows(tuple(good), tuple(bad))


def order_csv(orders: Iterable[Order]) -> bytes:
    """Return orders as an order file, which can be read again."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow([*OUTGOING, *LINE])
    for order in orders:
        values = (getattr(order.line, name) for name in LINE)
        writer.writerow([order.reference, order.state.value, *map(_cell, values)])
    return text.getvalue().encode("utf-8")


def _cell(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)


def _columns(head: list[str], path: Path) -> list[str]:
    names = [cell.strip().lower() for cell in head]
    known = (*LINE, *OUTGOING)
    for name in names:
        if name not in known:
            raise InputError(
                f'the first line names a column "{name}"',
                mend=f"Use these: {', '.join(LINE)}",
                file=path,
            )
        if names.count(name) > 1:
            raise InputError(
                f'the first line names the column "{name}" twice', mend="Remove one", file=path
            )
    needed = [n for n, field in OrderLine.model_fields.items() if field.is_required()]
    missing = [name for name in needed if name not in names]
    if missing:
        raise InputError(
            f'the first line names no column "{missing[0]}"',
            mend=f"It needs at least: {', '.join(needed)}, and model or knife",
            file=path,
        )
    return names


def _line(
    cells: list[str], columns: list[str], file: ShopFile, catalog: Catalog, today: date | None
) -> OrderLine:
    if len(cells) != len(columns):
        raise InputError(
            f"it has {len(cells)} cells, the first line {len(columns)}",
            mend="Give each column one cell",
        )
    given = {
        name: cell.strip()
        for name, cell in zip(columns, cells, strict=True)
        if cell.strip() and name not in OUTGOING
    }
    try:
        line = OrderLine.model_validate(given)
    except ValidationError as error:
        found = first_problem(error, file="")
        raise InputError(found.problem, mend=found.mend, field=found.field) from None
    check_line(line, file, catalog, today)
    return line
