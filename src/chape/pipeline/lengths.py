"""Tables of a person's file in the unit they are written in, read as a record in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from chape.catalog.model import LARGEST, Record
from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.units import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from pydantic.fields import FieldInfo

Read = TypeVar("Read", bound=Record)


def read_tables(
    tables: Mapping[str, Any], record: type[Read], path: Path
) -> tuple[Read, LengthUnit]:
    """Return what a file's tables hold, in mm, and the unit that they were written in.

    Raises:
        InputError: whatever is wrong with them, by file and key.
    """
    try:
        unit = LengthUnit(tables.get("unit", "mm"))
        return record.model_validate(in_mm(tables, record, unit.in_mm)), unit
    except ValidationError as error:
        raise first_problem(error, file=path) from None
    except ValueError:
        raise InputError(
            f'found unit = "{tables["unit"]}"', mend='Write "mm" or "inch"', file=path, field="unit"
        ) from None


def in_mm(tables: Mapping[str, Any], record: type[Record], factor: float) -> dict[str, Any]:
    """Return ``tables`` with every length of ``record`` multiplied by ``factor``.

    A field is a length when its type carries the ``Length`` mark; other keys pass unchanged and
    are left to the validator.
    """
    scaled = dict(tables)
    for name, field in record.model_fields.items():
        key = field.alias or name
        value = scaled.get(key)
        inner = record_of(field.annotation)
        if inner is not None and isinstance(value, dict):
            scaled[key] = in_mm(value, inner, factor)
        elif inner is not None and isinstance(value, list):
            scaled[key] = [
                in_mm(part, inner, factor) if isinstance(part, dict) else part for part in value
            ]
        elif key in scaled and is_length(marks_of(field)):
            scaled[key] = _times(value, factor)
    return scaled


def _times(value: Any, factor: float) -> Any:  # noqa: ANN401 - a file may hold anything there
    """Return a length, or rows of lengths, times ``factor``; what is neither passes unchanged."""
    if isinstance(value, list):
        return [_times(part, factor) for part in value]
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > LARGEST:
        return value
    return float(value) * factor


def is_length(metadata: list[Any]) -> bool:
    """Say whether a field's type carries the length mark."""
    return any(mark == "length" for mark in metadata)


def marks_of(field: FieldInfo) -> list[Any]:
    """Return the marks of a field's type, also where it may be left out (``Length | None``)."""
    options = getattr(field.annotation, "__args__", ())
    inner = [mark for option in options for mark in getattr(option, "__metadata__", ())]
    return [*field.metadata, *inner]


def record_of(annotation: Any) -> type[Record] | None:  # noqa: ANN401 - any type may stand there
    """Return the record that a table or its rows hold; None for a plain value."""
    options = getattr(annotation, "__args__", (annotation,))
    for option in options:
        if isinstance(option, type) and issubclass(option, Record):
            return option
    return None
