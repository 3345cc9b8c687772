"""The commands that list and print what there is to choose from, as they are typed."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import Annotated

import typer

from chape.cli.says import AsJson  # noqa: TC001 - likewise


def catalog(
    kind: Annotated[str | None, typer.Argument(help="sheets, clips, cutters …")] = None,
    name: Annotated[str | None, typer.Argument(help="One entry, with its sources.")] = None,
    as_json: AsJson = False,
) -> None:
    """List what sheaths are made of and made with."""
    from chape.cli.listing import list_catalog

    list_catalog(kind, name, as_json=as_json)


def pattern(
    name: Annotated[str, typer.Argument(help="A clip of the catalogue.")],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="The PDF (default: pattern-NAME.pdf).")
    ] = None,
    workshop: Annotated[
        Path | None, typer.Option(help="Workshop file with clips of your own.")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    unit: Annotated[str, typer.Option(help="Lengths shown: mm or inch.")] = "mm",
) -> None:
    """Print a clip's pattern of holes at 1:1, to lay over the hardware."""
    from chape.cli.pattern import print_pattern

    print_pattern(name, out, workshop, paper, unit)


def schema(
    file: Annotated[str, typer.Argument(help="knife, sheath or dialect.")],
) -> None:
    """Print the JSON Schema of the files you write."""
    from chape.cli.listing import print_schema

    print_schema(file)
