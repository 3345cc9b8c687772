"""The ``chape`` command: thin commands over the pipeline, put together.

Nothing here imports numerics before a command needs them, so that help and completion come at
once.
"""

from __future__ import annotations

import errno
import os
import sys
from typing import Annotated

import typer

from chape import __version__
from chape.cli.bench import bench
from chape.cli.commands_catalog import catalog, pattern, schema
from chape.cli.commands_knife import compare, measure, sheet
from chape.cli.commands_sheath import blanks, check, demo, family, fit, make, new, trial
from chape.cli.says import say_error, say_stopped
from chape.cli.shop import shop
from chape.errors import ChapeError, OutputError

app = typer.Typer(
    name="chape",
    help="From a measured knife to a checked job folder for a moulded sheath.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.add_typer(shop, name="shop")

#: Exit code of a shell's interrupt.
INTERRUPTED = 130


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"chape {__version__}")
        raise typer.Exit


@app.callback()
def chape(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """From a measured knife to a checked job folder for a moulded sheath."""


#: In the order in which ``chape --help`` lists them.
COMMANDS = (
    *(new, bench, make, demo, check, fit, sheet, measure, compare),
    *(trial, family, blanks, catalog, pattern, schema),
)

for command in COMMANDS:
    app.command()(command)


def run() -> None:
    """Run the command line; turn chape's errors into one sentence and an exit code."""
    from chape.workers import THREADS

    # The last bit of a sum shared among threads depends on their number, and a job's must not.
    os.environ.update(dict.fromkeys(THREADS, "1"))
    as_json = "--json" in sys.argv
    try:
        app()
    except ChapeError as error:
        say_error(error, as_json=as_json)
        sys.exit(error.exit_code)
    except OSError as error:
        if error.errno != errno.ENOSPC:
            raise
        sys.stderr.write("chape: the disk is full. Free some space, and run again.\n")
        sys.exit(OutputError.exit_code)
    except SystemExit as ended:
        # An interrupt inside a command is caught before it comes here, and leaves only its code.
        if ended.code == INTERRUPTED:
            say_stopped()
        raise
    except KeyboardInterrupt:
        say_stopped()
        sys.exit(INTERRUPTED)
