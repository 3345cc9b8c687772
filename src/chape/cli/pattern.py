"""Prints a clip's pattern of holes at its true size."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from chape.cli.fit import write_file
from chape.errors import InputError
from chape.units import LengthUnit

if TYPE_CHECKING:
    from pathlib import Path

#: Read from the folder one is in, where it is there.
WORKSHOP = "workshop.toml"


def print_pattern(
    name: str, out: Path | None, workshop: Path | None, paper: str, unit: str
) -> None:
    """Write the page of one clip of the catalogue, or of a workshop's own.

    Raises:
        InputError: an option or the clip's name is unknown, or the workshop file cannot be used.
    """
    from pathlib import Path as AnyPath

    from chape.catalog.files import parse_toml, read_bytes
    from chape.catalog.read import catalog, with_workshop
    from chape.documents.tiles import PAPERS

    if paper not in PAPERS:
        known = " or ".join(f'"{one}"' for one in PAPERS)
        raise InputError(f'found --paper "{paper}"', mend=f"Write {known}")
    if unit not in set(LengthUnit):
        raise InputError(f'found --unit "{unit}"', mend='Write "mm" or "inch"')
    entries, beside = catalog(), AnyPath(WORKSHOP)
    own = beside if workshop is None and beside.is_file() else workshop
    if own is not None:
        entries = with_workshop(entries, parse_toml(read_bytes(own), own), own)
    clip = entries.clip(name)
    file = AnyPath(f"pattern-{clip.name}.pdf") if out is None else out
    if file.suffix.lower() != ".pdf":
        raise InputError(f'found --out "{file}"', mend="Name a .pdf file")

    from chape.documents.page_pattern import pattern_pdf

    write_file(file, pattern_pdf(clip, paper, LengthUnit(unit)))
    typer.echo(file)
