"""Makes a family of sheaths from one file."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from chape.cli.make import page_of, progress
from chape.cli.says import print_json
from chape.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.pipeline.family import Made


def make_whole_family(
    path: Path,
    folder: Path,
    paper: str,
    unit: str,
    date: str | None,
    *,
    afresh: bool,
    as_json: bool,
) -> int:
    """Make every member of a family, and a page that compares them; return the exit code."""
    page = page_of(paper, unit, date)

    from chape.pipeline.family_file import read_family

    name, members = read_family(path)
    with tempfile.TemporaryDirectory() as passing, progress(quiet=as_json) as watch:
        from chape.documents.figures import figures_json
        from chape.documents.page_family import family_pdf
        from chape.pipeline.family import (
            CountingKeep,
            exit_code_of,
            family_figures,
            make_family,
        )
        from chape.pipeline.keep import Keep

        # Afresh, nothing kept earlier is used; what members share is still computed once.
        keep = CountingKeep(Path(passing) if afresh else Keep.of_person().folder)
        today = dt.datetime.now().astimezone().date()
        made = list(make_family(members, folder, page, today, keep, watch))
        figures = family_figures(name, made)
        pages = {
            "family.pdf": family_pdf(figures, page.paper, page.unit, page.date),
            "figures.json": figures_json(figures),
        }
        _write(folder, pages)
    if as_json:
        print_json({"folder": str(folder), **figures})
    else:
        _say(made, folder)
    return exit_code_of(made)


def _write(folder: Path, pages: dict[str, bytes]) -> None:
    """Write the family's own pages beside its members' folders, each whole or not at all."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in pages.items():
            partial = folder / f".{name}.partial"
            partial.write_bytes(content)
            partial.replace(folder / name)
    except OSError as error:
        raise OutputError(
            folder, f"it could not be written ({error.strerror})", mend="Choose another folder"
        ) from error


def _say(made: Sequence[Made], folder: Path) -> None:
    for each in made:
        if each.figures is None:
            state = f"not made: {each.reason}"
        elif each.released:
            state = "released"
        else:
            state = f"held back: {each.reason}"
        typer.echo(f"{each.member.name:32} {state}")
    asked, computed = (sum(getattr(each, key) for each in made) for key in ("asked", "computed"))
    typer.echo(f"\n{len(made)} members: {asked} stages, {computed} of them computed.")
    typer.echo(f"Open {folder / 'family.pdf'} first.")
