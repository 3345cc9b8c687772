"""The files that a knife or sheath file names: none may lead out of the bench's folder."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from chape.bench.place import Kind
from chape.bench.uploads import LARGEST_DRAWING
from chape.catalog.files import read_bytes
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from chape.bench.place import Place


def named_in(kind: Kind, tables: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield the key and the name of every file that a knife or sheath file names."""

    def table(*keys: str) -> Any:  # noqa: ANN401 - whatever the file holds there
        value: Any = tables
        for key in keys:
            value = value.get(key) if isinstance(value, dict) else None
        return value

    found = []
    if kind is Kind.KNIFE:
        found = [(key, table(*key.split("."))) for key in ("outline.drawing", "mesh.file")]
    else:
        found = [("sheath.knife", table("sheath", "knife"))]
        for key, part in (("mould.marks", "figure"), ("blank.others", "sheath")):
            rows = table(*key.split("."))
            for row in rows if isinstance(rows, list) else ():
                found.append((f"{key}.{part}", row.get(part) if isinstance(row, dict) else None))
    yield from ((key, name) for key, name in found if isinstance(name, str))


def check_named(
    kind: Kind, tables: Mapping[str, Any], old: Mapping[str, Any], path: Path, place: Place
) -> None:
    """Raise where a file is named that lies outside the bench's folder, or among its own files.

    What stood in the file before is the person's own word, and stays.

    Raises:
        InputError: it names one.
    """
    known = set(named_in(kind, old))
    for key, name in named_in(kind, tables):
        if (key, name) in known:
            continue
        target = (path.parent / name).resolve() if "\0" not in name else None
        if (
            target is None
            or not target.is_relative_to(place.folder)
            or target.is_relative_to(place.own)
        ):
            raise InputError(
                f'"{name[:80]}" is no file among the knives and sheaths of the bench',
                mend="Name one of those",
                file=path,
                field=key,
            )


def drawing_of(kind: Kind, tables: Mapping[str, Any], path: Path) -> dict[str, bytes]:
    """Return the drawing that a knife's outline is, by its name; none where it has stations.

    Only one that lies right beside the file is part of the record.
    """
    outline = tables.get("outline") if kind is Kind.KNIFE else None
    name = outline.get("drawing") if isinstance(outline, dict) else None
    if not isinstance(name, str) or PurePath(name).name != name or "\0" in name:
        return {}
    drawing = path.parent / name
    return {name: read_bytes(drawing, LARGEST_DRAWING)} if drawing.is_file() else {}
