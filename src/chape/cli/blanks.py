"""Plans blanks from stock."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from chape.cli.says import print_json
from chape.errors import InputError, OutputError

if TYPE_CHECKING:
    from pathlib import Path


def plan_blanks(path: Path, out: Path | None, paper: str, *, as_json: bool) -> None:
    """Write the cutting plan of a stock file beside it, and say what it comes to."""
    from chape.documents.page_stock import bound_words, stock_figures, stock_pdf
    from chape.pipeline.stock_file import read_stock
    from chape.tooling.stock import plan_stock

    if paper not in {"a4", "letter"}:
        raise InputError(f'found --paper "{paper}"', mend='Write "a4" or "letter"')
    stock, sizes, unit = read_stock(path)
    plan = plan_stock(stock, sizes)
    target = out if out is not None else path.with_name(f"{path.stem}-plan.pdf")
    page = stock_pdf(plan, f"Blanks: {path.stem}", paper, unit)
    try:
        target.write_bytes(page)
    except OSError as error:
        raise OutputError(
            target, f"it could not be written ({error.strerror})", mend="Choose another name"
        ) from error
    if as_json:
        print_json({"plan": str(target), **stock_figures(plan)})
        return
    sheets = "1 sheet" if plan.used == 1 else f"{plan.used} sheets"
    typer.echo(f"{sum(size.count for size in sizes)} blanks from {sheets}; {bound_words(plan)}.")
    typer.echo(f"{100 * plan.share:.1f} % of the stock becomes blanks.")
    typer.echo(f"The plan: {target}")
