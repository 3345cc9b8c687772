"""What is seen of a knife on the shelf: its silhouette, its length, how thick it is."""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

import shapely

from chape.bench.safe_write import write_whole
from chape.errors import OutputError
from chape.knife.read import knife_of, parsed_knife

if TYPE_CHECKING:
    from pathlib import Path

    from shapely import Polygon

    from chape.bench.records import Record

#: A silhouette has no more corners than this.
MOST_CORNERS = 200

#: Silhouettes are drawn from a knife on a grid this wide, mm.
DRAWN_ON = 1.0

#: The first tolerance of a silhouette, mm; doubled until it has few enough corners.
FINEST = 0.05


@dataclass(frozen=True, slots=True)
class Silhouette:
    """A knife in outline. Lengths mm.

    Attributes:
        thickness: the greatest.
        how: it was measured.
        outline: corners (x, y), without the first again.
    """

    length: float
    thickness: float
    how: str
    outline: list[list[float]]


def silhouette(record: Record, folder: Path) -> Silhouette:
    """Return the silhouette of a knife, kept in ``folder`` by the knife's version.

    Raises:
        InputError: no knife can be made of the file.
    """
    kept = folder / f"{record.version}.json"
    with suppress(OSError, ValueError, TypeError):
        return Silhouette(**json.loads(kept.read_text("utf-8")))
    made = _made(record)
    with suppress(OutputError):  # a folder that may only be read costs time, nothing else
        write_whole(kept, json.dumps(asdict(made)).encode())
    return made


def _made(record: Record) -> Silhouette:
    from chape.catalog.files import parse_toml  # noqa: PLC0415 - only for what is not kept

    file = parsed_knife(parse_toml(record.files[record.path.name], record.path), record.path)
    knife = knife_of(file, DRAWN_ON, folder=record.path.parent)
    length, thickness = round(knife.length, 3), round(knife.thickness, 3)
    return Silhouette(length, thickness, knife.source, corners(knife.outline))


def corners(outline: Polygon) -> list[list[float]]:
    """Return an outline's corners, few enough to draw it small."""
    tolerance = FINEST
    line = outline
    while shapely.get_num_coordinates(line) > MOST_CORNERS + 1:
        line = outline.simplify(tolerance)
        tolerance *= 2
    return [[round(x, 2), round(y, 2)] for x, y in line.exterior.coords[:-1]]
