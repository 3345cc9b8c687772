"""Changes a TOML file as a person would: only what changed, comments and order left alone."""

from __future__ import annotations

import tomllib
from datetime import date
from typing import TYPE_CHECKING, Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, Table

from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping, MutableMapping, Sequence

#: Lengths are written to this many digits, which is finer than any caliper.
DIGITS = 5


def plain(value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Return tables as JSON holds them: days as text."""
    if isinstance(value, dict):
        return {key: plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value.isoformat() if isinstance(value, date) else value


def edited(text: str, tables: Mapping[str, Any]) -> str:
    """Return a TOML text that holds ``tables``, changed from ``text`` no more than that takes.

    Args:
        text: a valid TOML file.
        tables: as JSON holds them; what is None is left out.

    Raises:
        InputError: TOML has no word for something in them.
    """
    wanted = rounded(tables)
    try:
        result = _in_place(text, wanted)
        if result is None:
            result = tomlkit.dumps(wanted)
    except TOMLKitError as error:
        raise InputError(
            f"what was changed cannot be written down ({error})", mend="Change it back"
        ) from None
    return result if result.endswith("\n") else result + "\n"


def _in_place(text: str, wanted: dict[str, Any]) -> str | None:
    """Return the text changed in place; None for a way of writing tables that cannot be."""
    try:
        document = tomlkit.parse(text)
        _change(document, tomllib.loads(text), wanted)
        result = tomlkit.dumps(document)
        return result if _rounded(plain(tomllib.loads(result))) == wanted else None
    except Exception:  # noqa: BLE001 - the library stumbles over some orders of tables
        return None


def rounded(tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return tables without what is None, their figures rounded to ``DIGITS``."""
    return {key: _rounded(value) for key, value in tables.items() if value is not None}


def _rounded(value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    if isinstance(value, dict):
        return rounded(value)
    if isinstance(value, list | tuple):
        return [_rounded(each) for each in value]
    return round(value, DIGITS) if isinstance(value, float) else value


def _change(table: MutableMapping[str, Any], old: dict[str, Any], new: dict[str, Any]) -> None:
    """Change one table; ``old`` is what it holds now."""
    for key in [key for key in old if key not in new]:
        del table[key]
    for key, value in new.items():
        if key not in old:
            table[key] = _fresh(value)
            continue
        before = old[key]
        if _rounded(plain(before)) == value:
            continue
        if isinstance(value, dict) and isinstance(before, dict):
            _change(table[key], before, value)
        elif isinstance(table[key], AoT) and _are_tables(value):
            _change_rows(table[key], before, value)
        elif isinstance(table[key], Array) and _are_rows(before) and _are_rows(value):
            _change_figures(table[key], before, value)
        else:
            table[key] = _like(before, value)


def _change_rows(rows: AoT, old: list[dict[str, Any]], new: list[dict[str, Any]]) -> None:
    """Change an array of tables: those at the front in place, then add or remove at its end."""
    shared = min(len(old), len(new))
    for row in range(shared):
        _change(rows[row], old[row], new[row])
    for row in range(len(old) - 1, shared - 1, -1):
        del rows[row]
    for value in new[shared:]:
        rows.append(_fresh(value))


def _change_figures(array: Array, old: list[Any], new: list[Any]) -> None:
    """Change rows of figures; those before and after the change keep their remarks."""
    shared = min(len(old), len(new))
    front = next((n for n in range(shared) if old[n] != new[n]), shared)
    back = next((n for n in range(shared - front) if old[-1 - n] != new[-1 - n]), shared - front)
    for row in range(front, min(len(old), len(new)) - back):
        array[row] = new[row]
    for row in range(len(old) - back - 1, len(new) - back - 1, -1):
        del array[row]
    for row in range(len(old) - back, len(new) - back):
        array.insert(row, new[row])


def _are_rows(value: Any) -> bool:  # noqa: ANN401 - whatever TOML holds
    return isinstance(value, list) and bool(value) and all(isinstance(v, list) for v in value)


def _are_tables(value: Any) -> bool:  # noqa: ANN401 - whatever TOML holds
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _like(before: Any, value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    """Return a new value in the way the old one was written: a day stays a day."""
    if isinstance(before, date) and isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            return value
    return _fresh(value)


def _fresh(value: Any) -> Any:  # noqa: ANN401 - whatever TOML holds
    if isinstance(value, dict):
        table = tomlkit.table()
        for key, each in value.items():
            table[key] = _fresh(each)
        table.add(tomlkit.nl())
        return table
    if _are_tables(value):
        rows = tomlkit.aot()
        for each in value:
            fresh = _fresh(each)
            if isinstance(fresh, Table):
                rows.append(fresh)
        return rows
    if _are_rows(value):
        return _row_by_row(value)
    return value


def _row_by_row(rows: Sequence[Any]) -> Array:
    """Return a table of figures with each row on a line of its own."""
    array = tomlkit.array()
    for row in rows:
        array.add_line(row, indent="  ")
    array.add_line(indent="")
    return array
