"""What differs between two versions of a file, in one sentence."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from chape.bench.named_values import NamedValue, key_of, named_values
from chape.bench.toml_edit import plain, rounded

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

#: So many differences are told; of more, how many.
TOLD_MOST = 3

#: Tables that need not be named: they are what the file is about.
OWN = ("sheath", "knife")

#: Units of the page of files that are said behind a figure, and how.
SAID = {"length": " mm", "degrees": "°", "°C": " °C", "N": " N", "s": " s", "kg": " kg", "m": " m"}


def what_changed(file: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> str:
    """Return one sentence of what differs: "room beside the edge: 0.4 to 0.6 mm".

    Args:
        file: "knife" or "sheath".
        old: what it held, lengths in mm.
        new: what it holds, likewise.
    """
    names = named_values(file)
    parts = list(_differences(rounded(plain(dict(old))), rounded(plain(dict(new))), "", names))
    if not parts:
        return "nothing changed"
    shown = "; ".join(parts[:TOLD_MOST])
    more = len(parts) - TOLD_MOST
    return f"{shown}; and {more} more" if more > 0 else shown


def _differences(
    old: dict[str, Any], new: dict[str, Any], under: str, names: Mapping[str, NamedValue]
) -> Iterator[str]:
    for key in dict.fromkeys([*old, *new]):
        path = f"{under}.{key}" if under else key
        yield from _difference(old.get(key), new.get(key), path, names)


def _difference(
    before: Any,  # noqa: ANN401 - whatever TOML holds
    after: Any,  # noqa: ANN401 - as above
    path: str,
    names: Mapping[str, NamedValue],
) -> Iterator[str]:
    if before == after:
        return
    if isinstance(before, dict) and isinstance(after, dict):
        yield from _differences(before, after, path, names)
    elif _is_rows(before) and _is_rows(after) and len(before) == len(after):
        for number, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from _differences(one, other, f"{path}.{number}", names)
    else:
        yield f"{_words(path, names)}: {_change(before, after, names.get(key_of(path)))}"


def _is_rows(value: Any) -> bool:  # noqa: ANN401 - as above
    return isinstance(value, list) and bool(value) and all(isinstance(e, dict) for e in value)


def _change(before: Any, after: Any, named: NamedValue | None) -> str:  # noqa: ANN401 - as above
    if before is None:
        return "added" if isinstance(after, dict | list) else _said(after, named)
    if after is None:
        return "taken out"
    if isinstance(before, list | dict) or isinstance(after, list | dict):
        return "changed"
    one = _said(before, named if type(before) is str else None)
    return f"{one} to {_said(after, named)}"


def _words(path: str, names: Mapping[str, NamedValue]) -> str:
    """Return what a value or table is called: "room beside the edge", "clip 2, half it sits on"."""
    named = names.get(key_of(path))
    *tables, key = (part for part in path.split(".") if part not in OWN)
    row = next((int(part) + 1 for part in tables if part.isdecimal()), None)
    words = key.replace("_", " ") if named is None else named.label[:1].lower() + named.label[1:]
    if row is None:
        return words
    table = tables[tables.index(str(row - 1)) - 1].removesuffix("s")
    return f"{table} {row}, {words}"


def _said(value: Any, named: NamedValue | None) -> str:  # noqa: ANN401 - as above
    if isinstance(value, int | float) and not isinstance(value, bool):
        return f"{value:.4g}" + ("" if named is None else SAID.get(named.unit, ""))
    text = value if isinstance(value, str) else json.dumps(value)
    return text if len(text) <= 30 else text[:29] + "…"
