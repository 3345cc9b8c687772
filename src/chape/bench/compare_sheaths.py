"""Two sheaths held side by side: their figures, and the settings in which they differ."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from chape.bench.field import Field
    from chape.bench.sheath_answers import FiguresView

#: Figures that are held side by side: their name, what they are, their unit.
FIGURES = (
    ("least_clearance", "Least clearance", "mm"),
    ("edge_clearance", "Clear of the edge", "mm"),
    ("length", "Length", "mm"),
    ("snap_depth", "Snap depth", "mm"),
    ("mass", "Mass of the sheet", "g"),
    ("flat_area", "Flat area", "mm²"),
    ("blank_use", "Of the blank", "share"),
    ("holes", "Holes in a half", ""),
)

#: Settings that say which sheath it is, not how it is made.
NAMES = frozenset({"sheath.name", "sheath.knife"})


class CompareRow(BaseModel):
    """One figure or setting of both.

    Attributes:
        a, b: null where it is not known, or left out.
        unit: of figures; empty for words and counts.
        difference: of the second from the first; null for words.
        setting: it stands in the file, and differs.
    """

    label: str
    a: float | str | None
    b: float | str | None
    unit: str
    difference: float | None
    setting: bool


def figure_rows(first: FiguresView | None, second: FiguresView | None) -> Iterator[CompareRow]:
    """Yield the figures of both; None for one that cannot be designed."""
    for name, label, unit in FIGURES:
        yield compare_row(label, getattr(first, name, None), getattr(second, name, None), unit)


def setting_rows(
    first: Mapping[str, Any], second: Mapping[str, Any], fields: tuple[Field, ...]
) -> Iterator[CompareRow]:
    """Yield the settings in which two sheath files differ, in the order of the form.

    Args:
        first: what the one file holds, lengths in mm.
        second: what the other holds.
        fields: the form, for their words, units and defaults.
    """
    told = {field.path: field for field in fields}
    order = {path: number for number, path in enumerate(told)}
    one, other = dict(_leaves(first)), dict(_leaves(second))
    paths = {path: _starred(path) for path in (one | other) if path not in NAMES}
    for path in sorted(paths, key=lambda each: (order.get(paths[each], len(order)), each)):
        field = told.get(paths[path])
        if field is None:
            continue
        usual = None if "*" in field.path or field.optional_table else field.default
        a, b = one.get(path, usual), other.get(path, usual)
        if a != b:
            yield compare_row(_words(path, field), a, b, field.unit or "", setting=True)


def compare_row(label: str, a: Any, b: Any, unit: str, *, setting: bool = False) -> CompareRow:  # noqa: ANN401 - whatever TOML holds
    """Return a row of two values."""
    told = [_told(value) for value in (a, b)]
    numbers = [value for value in told if isinstance(value, float)]
    return CompareRow(
        label=label,
        a=told[0],
        b=told[1],
        unit=unit,
        difference=round(numbers[1] - numbers[0], 6) if len(numbers) == len(told) else None,
        setting=setting,
    )


def _leaves(tables: Any, path: str = "") -> Iterator[tuple[str, Any]]:  # noqa: ANN401 - as above
    """Yield the values of nested tables and rows by their dotted paths."""
    parts: list[tuple[str, Any]]
    if isinstance(tables, dict):
        parts = list(tables.items())
    elif isinstance(tables, list) and tables and all(isinstance(each, dict) for each in tables):
        parts = [(str(number), each) for number, each in enumerate(tables)]
    else:
        yield path, tables
        return
    for key, value in parts:
        yield from _leaves(value, f"{path}.{key}" if path else key)


def _starred(path: str) -> str:
    return ".".join("*" if part.isdecimal() else part for part in path.split("."))


def _words(path: str, field: Field) -> str:
    """Return what a setting is called: "Room beside the edge", "Clip 2: half it sits on"."""
    row = next((int(part) + 1 for part in path.split(".") if part.isdecimal()), None)
    if row is None:
        return field.label
    of = field.group.removeprefix("sheath ").removesuffix("s").capitalize()
    return f"{of} {row}: {field.label[:1].lower()}{field.label[1:]}"


def _told(value: Any) -> float | str | None:  # noqa: ANN401 - as above
    if value is None:
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return float(value)
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
