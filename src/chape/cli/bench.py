"""``chape bench``: the local page."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def bench(
    folder: Annotated[Path, typer.Argument(help="The folder with knives and sheaths.")] = Path(),
    port: Annotated[int, typer.Option(help="Where to listen; 0 takes any free port.")] = 8017,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones and computers of your network be paired.")
    ] = False,
    cert: Annotated[Path | None, typer.Option(help="Serve with this certificate, PEM.")] = None,
    key: Annotated[Path | None, typer.Option(help="The key of the certificate, PEM.")] = None,
    no_open: Annotated[bool, typer.Option("--no-open", help="Open no browser.")] = False,
) -> None:
    """Open the bench: the page on which knives and sheaths are made by eye."""
    from chape.bench.serve import Serving, serve

    serving = Serving(folder, port, lan=lan, show=not no_open, cert=cert, key=key)
    serve(serving, typer.echo)
