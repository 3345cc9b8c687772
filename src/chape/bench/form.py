"""The fields of a knife or sheath file, as the file's model and the page about files tell them."""

from __future__ import annotations

import types
from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import TYPE_CHECKING, Any, Literal, Union, get_args, get_origin

from pydantic_core import PydanticUndefined

from chape.bench.field import Choice, Field, Kind
from chape.bench.named_values import NamedValue, key_of, named_values
from chape.pipeline.file import NAMED_IN_CATALOG, SheathFile
from chape.pipeline.lengths import is_length, marks_of, record_of

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


def form(file: type[Record], catalog: Catalog) -> tuple[Field, ...]:
    """Return every field of a knife or sheath file, in the order of the file.

    Args:
        file: its model.
        catalog: whose entries can be named, with the workshop's own.
    """
    rows = named_values("sheath" if file is SheathFile else "knife")
    return tuple(_fields(file, (), _Known(rows, catalog), optional=False))


@dataclass(frozen=True, slots=True)
class _Known:
    """What fields are told from: the rows of the page, by their dotted keys, and the catalogue."""

    rows: Mapping[str, NamedValue]
    catalog: Catalog


def _fields(
    record: type[Record], table: tuple[str, ...], known: _Known, *, optional: bool
) -> Iterator[Field]:
    for name, field in record.model_fields.items():
        key = field.alias or name
        inner = record_of(field.annotation)
        if inner is None:
            # All lengths of the page are mm, and it has a unit of its own to show them in.
            if (*table, key) not in {("unit",), ("knife", "unit")}:
                yield _field((*table, key), field, known, optional=optional)
            continue
        rows = get_origin(_needed(field.annotation)) is tuple
        within = (*table, key, "*") if rows else (*table, key)
        yield from _fields(inner, within, known, optional=rows or field.default is None)


def _field(path: tuple[str, ...], field: FieldInfo, known: _Known, *, optional: bool) -> Field:
    plain = key_of(".".join(path))
    row = known.rows[plain]
    kind = _kind(plain, field, row.unit)
    least, most = _bounds(field)
    default = None if field.default is PydanticUndefined else field.default
    default = default.value if isinstance(default, Enum) else default
    return Field(
        path=".".join(path),
        label=row.label,
        unit=_unit(kind, row.unit),
        kind=kind,
        least=least,
        most=most,
        step=_step(kind, default, least, most),
        choices=_choices(plain, field, known.catalog),
        help=row.meaning,
        group=" ".join(part for part in path[:-1] if part != "*").replace("_", " "),
        default=default,
        required=field.is_required(),
        optional_table=optional,
    )


def _kind(path: str, field: FieldInfo, unit: str) -> Kind:
    inner = _needed(field.annotation)
    if path in NAMED_IN_CATALOG or _words(inner):
        return Kind.CHOICE
    if inner is str:
        return Kind.FILE if unit == "file" else Kind.TEXT
    if get_origin(inner) is tuple:
        part = _needed(get_args(inner)[0])
        if get_origin(part) is tuple:
            return Kind.ROWS
        return Kind.WORDS if _words(part) else Kind.NUMBERS
    plain = {bool: Kind.FLAG, int: Kind.COUNT, float: Kind.NUMBER, date: Kind.DAY}
    kind = plain[inner]
    return Kind.LENGTH if kind is Kind.NUMBER and is_length(marks_of(field)) else kind


def _needed(annotation: Any) -> Any:  # noqa: ANN401 - any type may stand there
    """Return a type without None and without its bounds: ``float`` of ``Length | None``.

    Of several types the first counts, with the words of all of them.
    """
    if get_origin(annotation) in {Union, types.UnionType}:
        options = [each for each in get_args(annotation) if each is not type(None)]
        words = [word for each in options for word in _words(each)]
        annotation = Literal[tuple(words)] if len(words) > 1 else options[0]
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
        inner = _needed(field.annotation)
        if get_origin(inner) is tuple:
            inner = _needed(get_args(inner)[0])
        return tuple(Choice(word, word) for word in _words(inner))
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
    near = [bound if bound is not None and abs(bound) < FAR else None for bound in (least, most)]
    return near[0], near[1]


def _all_marks(field: FieldInfo) -> Iterator[Any]:
    for mark in marks_of(field):
        yield from getattr(mark, "metadata", (mark,))


def _unit(kind: Kind, unit: str) -> str | None:
    if unit == "length" or kind is Kind.LENGTH:
        return "mm"
    plain = unit in {"", "count", "number", "factor", "exponent"}
    return unit if kind in {Kind.NUMBER, Kind.COUNT, Kind.NUMBERS} and not plain else None


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
