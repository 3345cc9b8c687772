"""The sheath file: one TOML file that says what to make and what to make it with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.model import Record
from chape.catalog.read import Catalog, catalog, with_workshop
from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.sheath.model import SheathChoices
from chape.tooling.model import BlankChoices, FixtureChoices, MouldChoices
from chape.units import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

#: A drawing of an outline is never larger.
LARGEST_DRAWING = 20_000_000

#: A workshop's own catalogue entries stand in this file beside the sheath file.
WORKSHOP = "workshop.toml"


class MachineChoices(Record):
    """The ``[machine]`` table.

    Attributes:
        router: name of the machine in the catalogue.
        rack: name of the cutters in it.
        dialect: name of the program dialect; None takes the router's own.
    """

    router: str = "router-600"
    rack: str = "rack-6"
    dialect: str | None = None


class SheathFile(Record):
    """Everything a sheath file may hold.

    Attributes:
        unit: what every length in this file is written in.
    """

    unit: LengthUnit = LengthUnit.MM
    sheath: SheathChoices
    blank: BlankChoices = BlankChoices()
    mould: MouldChoices = MouldChoices()
    fixture: FixtureChoices = FixtureChoices()
    machine: MachineChoices = MachineChoices()


@dataclass(frozen=True, slots=True)
class Request:
    """A sheath file as read, with what it leans on.

    Attributes:
        path: the sheath file.
        file: its content, lengths in mm.
        knife: the knife file.
        catalog: the catalogue with the workshop's own entries.
        knife_inputs: name -> bytes of the knife file and the drawing it names.
        inputs: name -> bytes of every file read, for the manifest and the job folder.
    """

    path: Path
    file: SheathFile
    knife: Path
    catalog: Catalog
    knife_inputs: dict[str, bytes]
    inputs: dict[str, bytes]


def in_mm(tables: Mapping[str, Any], record: type[Record], factor: float) -> dict[str, Any]:
    """Return ``tables`` with every length of ``record`` multiplied by ``factor``.

    A field is a length when its type carries the ``Length`` mark; other keys pass unchanged and
    are left to the validator.
    """
    scaled = dict(tables)
    for key, field in record.model_fields.items():
        value = scaled.get(key)
        inner = _record_of(field.annotation)
        if inner is not None and isinstance(value, dict):
            scaled[key] = in_mm(value, inner, factor)
        elif is_length(field.metadata) and isinstance(value, int | float):
            scaled[key] = value * factor
    return scaled


def is_length(metadata: list[Any]) -> bool:
    """Say whether a field's type carries the length mark."""
    return any(mark == "length" for mark in metadata)


def _record_of(annotation: Any) -> type[Record] | None:  # noqa: ANN401 - any type may stand there
    options = getattr(annotation, "__args__", (annotation,))
    for option in options:
        if isinstance(option, type) and issubclass(option, Record):
            return option
    return None


def read_request(path: Path) -> Request:
    """Read a sheath file, its workshop file if there is one, and find its knife file.

    Raises:
        InputError: whatever is wrong with them, by file and key.
    """
    content = read_bytes(path)
    tables = parse_toml(content, path)
    try:
        unit = LengthUnit(tables.get("unit", "mm"))
        file = SheathFile.model_validate(in_mm(tables, SheathFile, unit.in_mm))
    except ValidationError as error:
        raise first_problem(error, file=path) from None
    except ValueError:
        raise InputError(
            f'found unit = "{tables["unit"]}"', mend='Write "mm" or "inch"', file=path, field="unit"
        ) from None
    inputs = {path.name: content}
    entries = catalog()
    workshop = path.parent / WORKSHOP
    if workshop.is_file():
        inputs[WORKSHOP] = read_bytes(workshop)
        entries = with_workshop(entries, parse_toml(inputs[WORKSHOP], workshop), workshop)
    knife = path.parent / file.sheath.knife
    if not knife.is_file():
        raise InputError(
            f'there is no knife file "{file.sheath.knife}" beside it',
            mend="Name the knife file as seen from this one",
            file=path,
            field="sheath.knife",
        )
    knife_inputs = _knife_inputs(knife)
    return Request(path, file, knife, entries, knife_inputs, {**inputs, **knife_inputs})


def _knife_inputs(knife: Path) -> dict[str, bytes]:
    """Return the knife file and the drawing it names, if it names one that is there."""
    inputs = {knife.name: read_bytes(knife)}
    outline = parse_toml(inputs[knife.name], knife).get("outline")
    drawing = outline.get("drawing") if isinstance(outline, dict) else None
    if isinstance(drawing, str) and (knife.parent / drawing).is_file():
        path = knife.parent / drawing
        inputs[path.name] = read_bytes(path, LARGEST_DRAWING)
    return inputs
