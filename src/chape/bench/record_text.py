"""The text of a knife or sheath file, read in mm and changed in the unit it is written in.

The models of the files bring the numerics with them, so they are imported when first needed: the
page is there before that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from chape.bench.place import Kind
from chape.bench.toml_edit import edited, plain, rounded
from chape.catalog.files import LARGEST_FILE, parse_toml
from chape.errors import InputError
from chape.units import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from chape.catalog.model import Record


def tables_in_mm(kind: Kind, tables: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a file holds as JSON holds it, every length and the unit in mm."""
    from chape.pipeline.lengths import in_mm  # noqa: PLC0415 - as said above

    unit = _unit(kind, tables)
    if unit is LengthUnit.MM:
        return dict(plain(dict(tables)))
    held = rounded(plain(in_mm(tables, model_of(kind, tables), unit.in_mm)))
    _set_unit(kind, held, LengthUnit.MM)
    return held


def text_with(kind: Kind, content: bytes, tables: Mapping[str, Any], path: Path) -> str:
    """Return a file's text changed to hold ``tables``, which are in mm, in its own unit.

    Raises:
        InputError: the file is no TOML.
    """
    from chape.pipeline.lengths import in_mm  # noqa: PLC0415 - as said above

    held = parse_toml(content, path)
    unit = _unit(kind, held)
    wanted = dict(tables)
    if unit is not LengthUnit.MM:
        wanted = in_mm(tables, model_of(kind, tables), 1 / unit.in_mm)
        _set_unit(kind, wanted, unit)
    return edited(content.decode("utf-8-sig"), wanted)


def encoded(text: str, path: Path) -> bytes:
    """Return a file's text as its bytes.

    Raises:
        InputError: it holds half a letter.
    """
    try:
        return text.encode("utf-8")
    except UnicodeEncodeError:
        raise InputError(
            "the text holds a letter that cannot be written", mend="Type it anew", file=path
        ) from None


def check_record(kind: Kind, content: bytes, path: Path) -> None:
    """Raise where a file's content cannot be used.

    Raises:
        InputError: it cannot, by file and key.
        CannotMakeError: its blank would need too fine a grid.
    """
    if len(content) > LARGEST_FILE:
        raise InputError(
            f"the file would be larger than {LARGEST_FILE // 1000} kB", mend="Write less", file=path
        )
    if kind is Kind.SHEATH:
        from chape.pipeline.file import read_request  # noqa: PLC0415 - as said above

        read_request(path, content=content)
    else:
        from chape.knife.read import parsed_knife  # noqa: PLC0415 - as said above

        try:
            parsed_knife(parse_toml(content, path), path).in_mm()
        except ValidationError as error:
            raise InputError(
                str(error), mend="Correct the unit or the lengths", file=path
            ) from None


def model_of(kind: Kind, tables: Mapping[str, Any]) -> type[Record]:
    """Return the model of a file."""
    if kind is Kind.SHEATH:
        from chape.pipeline.file import SheathFile  # noqa: PLC0415 - as said above

        return SheathFile
    from chape.knife.file import KnifeFile  # noqa: PLC0415 - as said above
    from chape.knife.file_mesh import MeshKnifeFile  # noqa: PLC0415 - as said above

    return MeshKnifeFile if "mesh" in tables else KnifeFile


def _unit(kind: Kind, tables: Mapping[str, Any]) -> LengthUnit:
    table = tables if kind is Kind.SHEATH else tables.get("knife")
    word = table.get("unit") if isinstance(table, dict) else None
    return LengthUnit.INCH if word == LengthUnit.INCH.value else LengthUnit.MM


def _set_unit(kind: Kind, tables: dict[str, Any], unit: LengthUnit) -> None:
    if kind is Kind.SHEATH:
        tables["unit"] = unit.value
    elif isinstance(tables.get("knife"), dict):
        tables["knife"] = {**tables["knife"], "unit": unit.value}
