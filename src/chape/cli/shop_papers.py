"""``chape shop papers``: what goes with a batch, a piece, a parcel, and on the wall."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import Annotated

import typer

from chape.cli.shop_open import HERE, ShopFolder, day_of, opened, write_new


def papers(
    kind: Annotated[
        str,
        typer.Argument(help="batch, travellers, labels, slip, care, safety, reorder"),
    ],
    out: Annotated[Path, typer.Argument(help="The PDF file to write.")],
    of: Annotated[
        str | None, typer.Option(help="Batch B7, or for a slip the order 2026-0042.")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    date: Annotated[str | None, typer.Option(help="Date to note (default: today).")] = None,
    folder: ShopFolder = HERE,
) -> None:
    """Print the shop's papers."""
    from chape.shop.paper_sets import shop_paper

    day = day_of(date)
    with opened(folder) as found:
        content = shop_paper(found, kind, of, paper, day)
    write_new(out, content)
    typer.echo(out)
