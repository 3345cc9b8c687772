"""Prints the catalogue and the schemas of the files a person writes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from chape.catalog.model import Record, Value
from chape.catalog.read import KINDS, catalog
from chape.cli.says import print_json
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator


def list_catalog(kind: str | None, name: str | None, *, as_json: bool) -> None:
    """Print the kinds, the names of a kind, or one entry with its sources."""
    if kind is None:
        _list_kinds(as_json=as_json)
        return
    entries = catalog()
    names = entries.names(kind) if name is None else (name,)
    found = [entries.entry(kind, each) for each in names]
    if as_json:
        print_json({kind: [entry.model_dump(mode="json") for entry in found]})
        return
    for entry in found:
        fields: dict[str, Any] = dict(entry)
        typer.echo(f"{fields['name']:22} {fields['title']}")
        if name is not None:
            for line in _lines(entry):
                typer.echo(f"  {line}")


def _list_kinds(*, as_json: bool) -> None:
    kinds = {kind: list(catalog().names(kind)) for kind in KINDS}
    if as_json:
        print_json(kinds)
    else:
        for kind, names in kinds.items():
            typer.echo(f"{kind:10} {', '.join(names)}")


def _lines(entry: Record) -> Iterator[str]:
    for key, value in entry:
        title = key.replace("_", " ")
        if isinstance(value, Value):
            spread = f" ± {value.spread:g}" if value.spread else ""
            trust = f"({value.source}; {value.status})"
            yield f"{title:24} {value.value:g}{spread} {value.unit}  {trust}"
        elif isinstance(value, Record):
            yield f"{title}:"
            yield from (f"  {line}" for line in _lines(value))
        elif isinstance(value, tuple) and value and isinstance(value[0], Record):
            for item in value:
                yield f"{title:24} " + ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in item)
        elif key not in ("name", "title"):
            yield f"{title:24} {value}"


def print_schema(file: str) -> None:
    """Print the JSON Schema of a knife file, a sheath file or a dialect."""
    if file == "knife":
        from chape.knife.read import knife_schema

        print_json(knife_schema())
    elif file == "sheath":
        from chape.pipeline.file import SheathFile

        print_json(SheathFile.model_json_schema())
    elif file == "dialect":
        print_json(KINDS["dialects"].model_json_schema())
    else:
        raise InputError(
            f'there is no schema of "{file}"', mend='Ask for "knife", "sheath" or "dialect"'
        )
