"""The stock file: which blanks to cut from which stock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.model import Record
from chape.errors import InputError
from chape.pipeline.file import read_request
from chape.pipeline.lengths import read_tables
from chape.tooling.stock import Size, StockBlank, StockSheet
from chape.units import LengthUnit

if TYPE_CHECKING:
    from pathlib import Path


class StockFile(Record):
    """Everything a stock file may hold.

    Attributes:
        unit: what every length in this file is written in.
    """

    unit: LengthUnit = LengthUnit.MM
    stock: StockSheet
    blank: tuple[StockBlank, ...] = Field(default=(), max_length=40)


def read_stock(path: Path) -> tuple[StockSheet, tuple[Size, ...], LengthUnit]:
    """Read a stock file and the sheath files it names.

    Returns:
        The stock, the blanks wanted, and the unit lengths are shown in.

    Raises:
        InputError: whatever is wrong, by file and key.
    """
    file, unit = read_tables(parse_toml(read_bytes(path), path), StockFile, path)
    if not file.blank:
        raise InputError("no blank is wanted", mend="Add a [[blank]] table", file=path)
    return file.stock, tuple(_size(path, n, blank) for n, blank in enumerate(file.blank, 1)), unit


def _size(path: Path, number: int, blank: StockBlank) -> Size:
    place = f"blank {number}"
    width, depth, name = blank.width, blank.depth, blank.name
    if blank.sheath is not None:
        if not (path.parent / blank.sheath).is_file():
            raise InputError(
                f'{place} names the sheath file "{blank.sheath}", and there is none beside it',
                mend="Name the sheath file as seen from this one",
                file=path,
                field="blank.sheath",
            )
        wanted = read_request(path.parent / blank.sheath).file
        width = width or wanted.blank.width
        depth = depth or wanted.blank.depth
        name = name or wanted.sheath.name
    if width is None or depth is None:
        raise InputError(
            f"{place} has no {'width' if width is None else 'depth'}",
            mend="Give its width and depth, or a sheath file to take them from",
            file=path,
            field="blank",
        )
    return Size(name or place, width, depth, blank.count)
