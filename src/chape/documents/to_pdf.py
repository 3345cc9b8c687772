"""Pages, set by typst from our own templates with our own fonts.

What a page says travels as data and is set as plain text, never as mark-up, so no name can change
a page's layout. The clock never enters: the same data gives the same bytes.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping
from datetime import UTC, datetime, time
from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import typst

from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from datetime import date

#: Stands in the file's own record where no date was asked for.
NO_DATE = datetime(2000, 1, 1, tzinfo=UTC)


#: A number and its unit, which are never parted at the end of a line.
_MEASURE = re.compile(r"(?<=[0-9]) (?=(?:mm|in|min|h|s|°C|%|/min)\b|%)")

#: Characters that no font has a sign for.
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def pdf_of(
    template: str, data: Mapping[str, Any], attached: Mapping[str, bytes], day: date | None = None
) -> bytes:
    """Return a PDF file.

    Args:
        template: name of one of our templates, without its folder.
        data: what the page says; read by the template from ``data.json``.
        attached: pictures the template shows, by the name it calls them.
        day: noted in the file as the day it was made.
    """
    return _set(template, data, attached, day, output="pdf", pixels_per_mm=None)


def png_of_svg(drawing: bytes, pixels_per_mm: float) -> bytes:
    """Return a drawing as pixels on white."""
    return _set("picture.typ", {}, {"picture.svg": drawing}, None, "png", pixels_per_mm)


def _set(
    template: str,
    data: Mapping[str, Any],
    attached: Mapping[str, bytes],
    day: date | None,
    output: Literal["pdf", "png"],
    pixels_per_mm: float | None,
) -> bytes:
    stamp = NO_DATE if day is None else datetime.combine(day, time(), UTC)
    ours = files("chape.documents")
    with (
        as_file(ours / "templates") as templates,
        as_file(ours / "fonts") as fonts,
        tempfile.TemporaryDirectory(prefix="chape-") as folder,
    ):
        root = Path(folder)
        for source in sorted(templates.glob("*.typ")):
            (root / source.name).write_bytes(source.read_bytes())
        for name, content in attached.items():
            (root / name).write_bytes(content)
        (root / "data.json").write_text(json.dumps(_kept_together(data), allow_nan=False), "utf-8")
        made = typst.compile(
            str(root / template),
            root=str(root),
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            format=output,
            timestamp=int(stamp.timestamp()),
            ppi=None if pixels_per_mm is None else pixels_per_mm * MM_PER_INCH,
        )
    if not isinstance(made, bytes):
        raise TypeError(f"{template} came out as {type(made).__name__}, not as one file")
    return made


def _kept_together(value: Any) -> Any:  # noqa: ANN401 - walks any nested table
    """Return page data with no-break spaces between numbers and their units."""
    if isinstance(value, str):
        return _MEASURE.sub("\u00a0", _CONTROL.sub("", value))
    if isinstance(value, Mapping):
        return {key: _kept_together(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_kept_together(part) for part in value]
    return value
