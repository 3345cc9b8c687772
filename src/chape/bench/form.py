"""The fields of a sheath file that one can set on the page, as its model and its page tell them."""

from __future__ import annotations

import re
import types
from dataclasses import dataclass
from enum import Enum, StrEnum
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Union, get_args, get_origin

from pydantic_core import PydanticUndefined

from chape.pipeline.file import (
    NAMED_IN_CATALOG,
    SheathFile,
    is_length,
    marks_of,
    record_of,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pydantic.fields import FieldInfo

    from chape.catalog.model import Record
    from chape.catalog.read import Catalog

#: A bound that far away bounds nothing a person would set.
FAR = 10_000

#: What one press of an arrow key may change a figure by, the largest first: a tenth of its default
#: or of its range, or less.
STEPS = (5.0, 1.0, 0.5, 0.1, 0.05, 0.01, 0.005, 0.001)


class Kind(StrEnum):
    """How a value is set."""

    LENGTH = "length"
    NUMBER = "number"
    COUNT = "count"
    CHOICE = "choice"
    TEXT = "text"
    FLAG = "flag"
    FILE = "file"
    NUMBERS = "numbers"


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the values to choose from."""

    value: str
    label: str


@dataclass(frozen=True, slots=True)
class Field:
    """A value that can be set.

    Attributes:
        path: dotted; rows of a table are written "*": "sheath.clips.*.along".
        label: in words.
        unit: of figures; None for words.
        kind: how it is set.
        least, most: bounds; None where there is none worth telling.
        step: what one press of an arrow key changes it by.
        choices: to choose from; empty for other kinds.
        help: one sentence, from the page of the files.
        group: of the table it stands in, in words.
        default: that counts where it is left out; None where there is none.
        required: it cannot be left out.
        optional_table: its table may be left out as a whole, and then means something else than
            its defaults.
    """

    path: str
    label: str
    unit: str | None
    kind: Kind
    least: float | None
    most: float | None
    step: float | None
    choices: tuple[Choice, ...]
    help: str
    group: str
    default: Any
    required: bool
    optional_table: bool


def form(catalog: Catalog) -> tuple[Field, ...]:
    """Return every field of a sheath file, in the order of the file.

    Args:
        catalog: whose entries can be named, with the workshop's own.
    """
    return tuple(_fields(SheathFile, (), catalog, optional=False))


def _fields(
    record: type[Record], table: tuple[str, ...], catalog: Catalog, *, optional: bool
) -> Iterator[Field]:
    for name, field in record.model_fields.items():
        key = field.alias or name
        inner = record_of(field.annotation)
        if inner is None:
            if (*table, key) != ("unit",):  # the page has a unit of its own
                yield _field((*table, key), field, catalog, optional=optional)
            continue
        rows = get_origin(_needed(field.annotation)) is tuple
        within = (*table, key, "*") if rows else (*table, key)
        yield from _fields(inner, within, catalog, optional=rows or field.default is None)


def _field(path: tuple[str, ...], field: FieldInfo, catalog: Catalog, *, optional: bool) -> Field:
    plain = ".".join(part for part in path if part != "*")
    row = _rows().get(plain, {})
    kind = _kind(plain, field, row.get("unit", ""))
    least, most = _bounds(field)
    default = None if field.default is PydanticUndefined else field.default
    default = default.value if isinstance(default, Enum) else default
    return Field(
        path=".".join(path),
        label=path[-1].replace("_", " "),
        unit=_unit(kind, row.get("unit", "")),
        kind=kind,
        least=least,
        most=most,
        step=_step(kind, default, least, most),
        choices=_choices(plain, field, catalog),
        help=row.get("meaning", ""),
        group=" ".join(part for part in path[:-1] if part != "*").replace("_", " "),
        default=default,
        required=field.is_required(),
        optional_table=optional,
    )


def _kind(path: str, field: FieldInfo, unit: str) -> Kind:
    inner = _needed(field.annotation)
    if path in NAMED_IN_CATALOG or _words(inner):
        return Kind.CHOICE
    if is_length(marks_of(field)):
        return Kind.LENGTH
    if inner is str:
        return Kind.FILE if unit == "file" else Kind.TEXT
    plain = {bool: Kind.FLAG, int: Kind.COUNT, float: Kind.NUMBER}
    return plain.get(inner, Kind.NUMBERS)


def _needed(annotation: Any) -> Any:  # noqa: ANN401 - any type may stand there
    """Return a type without None and without its bounds: ``float`` of ``Length | None``."""
    if get_origin(annotation) in {Union, types.UnionType}:
        annotation = next(each for each in get_args(annotation) if each is not type(None))
    return annotation.__origin__ if hasattr(annotation, "__metadata__") else annotation


def _words(annotation: Any) -> tuple[str, ...]:  # noqa: ANN401 - any type may stand there
    """Return the words a type allows; none for other types."""
    if get_origin(annotation) is Literal:
        return tuple(str(word) for word in get_args(annotation))
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return tuple(str(word.value) for word in annotation)
    return ()


def _choices(path: str, field: FieldInfo, catalog: Catalog) -> tuple[Choice, ...]:
    kind = NAMED_IN_CATALOG.get(path)
    if kind is None:
        return tuple(Choice(word, word) for word in _words(_needed(field.annotation)))
    return tuple(
        Choice(name, getattr(catalog.entry(kind, name), "title", name))
        for name in catalog.names(kind)
    )


def _bounds(field: FieldInfo) -> tuple[float | None, float | None]:
    """Return the nearest bounds of a field's type; a bound that is not reached counts as one."""
    least: float | None = None
    most: float | None = None
    for mark in _all_marks(field):
        for name in ("ge", "gt"):
            value = getattr(mark, name, None)
            if value is not None:
                least = value if least is None else max(least, value)
        for name in ("le", "lt"):
            value = getattr(mark, name, None)
            if value is not None:
                most = value if most is None else min(most, value)
    return least, most if most is None or most < FAR else None


def _all_marks(field: FieldInfo) -> Iterator[Any]:
    for mark in marks_of(field):
        yield from getattr(mark, "metadata", (mark,))


def _unit(kind: Kind, unit: str) -> str | None:
    if kind is Kind.LENGTH:
        return "mm"
    return unit if kind in {Kind.NUMBER, Kind.COUNT, Kind.NUMBERS} and unit else None


def _step(
    kind: Kind,
    default: Any,  # noqa: ANN401 - any default
    least: float | None,
    most: float | None,
) -> float | None:
    if kind is Kind.COUNT:
        return 1.0
    if kind not in {Kind.LENGTH, Kind.NUMBER}:
        return None
    size = abs(default) if isinstance(default, int | float) and default else 1.0
    if least is not None and most is not None:
        size = min(size, most - least)
    return next((step for step in STEPS if step <= size / 10), STEPS[-1])


@cache
def _rows() -> Mapping[str, dict[str, str]]:
    """Return what the page of the files says of each key of a sheath file."""
    part = _page().split("\n## The sheath file\n")[1].split("\n## ")[0]
    found = {}
    table = ""
    for line in part.splitlines():
        if heading := re.fullmatch(r"### `\[+([a-z_.]+)\]+`", line):
            table = heading[1] + "."
        elif row := re.fullmatch(r"\| `([a-z_]+)` \| (.+) \| (.+) \| (.+) \|", line):
            meaning = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", row[2]).replace("`", "")
            found[f"{table}{row[1]}"] = {
                "meaning": meaning[:1].upper() + meaning[1:] + ".",
                "unit": row[4],
            }
    return found


def _page() -> str:
    """Return the page of the files: from the package, or from the source it was installed from."""
    packed = resources.files("chape.bench") / "files.md"
    if packed.is_file():
        return packed.read_text("utf-8")
    return (Path(__file__).parents[3] / "docs" / "files.md").read_text("utf-8")
