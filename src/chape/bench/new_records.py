"""The text of a knife or sheath that is begun on the page: the examples', with its remarks."""

from __future__ import annotations

import os.path
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chape.bench.place import Kind
from chape.bench.toml_edit import edited, plain
from chape.demo import demo_file

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.bench.place import Place
    from chape.bench.records import Record

SINGLE, DOUBLE = "camp", "slender"


def new_knife(title: str | None, name: str, begin: str, tables: Mapping[str, Any] | None) -> str:
    """Return the text of a new knife file.

    Args:
        title: what the person calls it; None takes the example's or the name.
        name: its own.
        begin: "stations", or "example" or "double-example" for one of those as it is.
        tables: what it should hold, mm; None takes the example's figures.
    """
    text = demo_file(f"{DOUBLE if begin == 'double-example' else SINGLE}-knife.toml")
    held = dict(plain(tomllib.loads(text)) if tables is None else tables)
    own = held.get("knife")
    if isinstance(own, dict):
        held["knife"] = own = dict(own)
        if title is not None or (begin == "stations" and (tables is None or "name" not in own)):
            own["name"] = title or name
        if tables is None and begin == "stations":
            own.pop("measured", None)
    return edited(text, held)


def new_sheath(
    title: str, name: str, knife: Record, style: str, like: Record | None, place: Place
) -> str:
    """Return the text of a new sheath file.

    Args:
        title: what the person calls it.
        name: its own, for where its folder is.
        knife: it is made for.
        style: "folded" or "paired".
        like: another sheath, whose choices it takes; None for the example's.
        place: the bench's.
    """
    if like is not None:
        text = like.files[like.path.name].decode("utf-8-sig")
    else:
        table = knife.tables.get("knife")
        edges = table.get("edges") if isinstance(table, dict) else None
        stem = DOUBLE if edges == "double" else SINGLE
        text = demo_file(
            f"{stem}-paired-sheath.toml" if style == "paired" else f"{stem}-sheath.toml"
        )
    held = plain(tomllib.loads(text))
    own = place.folder_of(Kind.SHEATH, name)
    held["sheath"] |= {
        "name": title,
        "knife": Path(os.path.relpath(knife.path, own)).as_posix(),
    }
    if like is None and style == "paired":
        held["sheath"]["style"] = style
    return edited(text, held)
