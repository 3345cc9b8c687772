"""The commands that make, check and correct sheaths, as they are typed.

Nothing here imports numerics before a command needs them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from chape.cli.says import AsJson  # noqa: TC001 - likewise


def new(
    folder: Annotated[Path, typer.Argument(help="A new folder to start in.")],
    double: Annotated[
        bool, typer.Option("--double", help="Start from a double-edged knife.")
    ] = False,
    paired: Annotated[
        bool, typer.Option("--paired", help="Start from a sheath of two sheets.")
    ] = False,
) -> None:
    """Start a knife file and a sheath file to edit."""
    from chape.cli.new import start_folder

    for path in start_folder(folder, double_edged=double, paired=paired):
        typer.echo(path)


def make(  # noqa: PLR0913, PLR0917 - the options of one command
    sheath: Annotated[Path, typer.Argument(help="The sheath file.")],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="The job folder (default: beside the file).")
    ] = None,
    paper: Annotated[str, typer.Option(help="Paper of the job sheet: a4 or letter.")] = "a4",
    unit: Annotated[str, typer.Option(help="Lengths in documents: mm or inch.")] = "mm",
    date: Annotated[
        str | None, typer.Option(help="Date to print, YYYY-MM-DD (default: none).")
    ] = None,
    by_hand: Annotated[
        bool, typer.Option("--by-hand", help="Templates, boards and gauges for a maker's hands.")
    ] = False,
    board: Annotated[
        float | None, typer.Option(help="With --by-hand: the former's layers (default: 3 mm).")
    ] = None,
    afresh: Annotated[bool, typer.Option("--afresh", help="Compute everything again.")] = False,
    as_json: AsJson = False,
) -> None:
    """Make the whole job folder of a sheath."""
    from chape.cli.by_hand import make_by_hand, refuse_board
    from chape.cli.make import make_job

    if by_hand:
        code = make_by_hand(sheath, out, paper, unit, date, board, afresh=afresh, as_json=as_json)
    else:
        refuse_board(board)
        code = make_job(sheath, out, paper, unit, date, afresh=afresh, as_json=as_json)
    raise typer.Exit(code)


def demo(
    folder: Annotated[Path, typer.Argument(help="Where to put it.")] = Path("chape-demo"),
    afresh: Annotated[bool, typer.Option("--afresh", help="Compute everything again.")] = False,
) -> None:
    """Run the main job on the demo: a camp knife, four sheaths on one blank."""
    from chape.cli.make import make_demo

    raise typer.Exit(make_demo(folder, afresh=afresh))


def check(  # noqa: PLR0913, PLR0917 -- the options of one command
    what: Annotated[
        Path, typer.Argument(help="A job folder, a sheath or knife file, or any cutter program.")
    ],
    stock: Annotated[
        str | None,
        typer.Option(help="Stock of a program: 300x300x25 (mm), 12x12x1in, or an STL file."),
    ] = None,
    target: Annotated[
        Path | None, typer.Option(help="STL file of the surface the program should leave.")
    ] = None,
    machine: Annotated[str, typer.Option(help="Machine of a program.")] = "router-600",
    rack: Annotated[str, typer.Option(help="Cutters of a program.")] = "rack-6",
    zero: Annotated[
        str | None,
        typer.Option(help="Program zero on the stock: front-left-top, center-center-top, X,Y,Z …"),
    ] = None,
    target_zero: Annotated[
        str, typer.Option(help="Point of the target's file that lies at the program zero.")
    ] = "0,0,0",
    offset: Annotated[
        str | None, typer.Option(help="Work offset to expect (default: the first it calls).")
    ] = None,
    dialect: Annotated[
        str | None, typer.Option(help="Dialect a program is written in (default: any).")
    ] = None,
    spacing: Annotated[
        float | None, typer.Option(help="Grid of the simulation, mm (default: 0.2 or wider).")
    ] = None,
    pictures: Annotated[
        Path | None, typer.Option(help="Folder for pictures of stock and leftover.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Check a job folder, a file before anything is made of it, or a program of anyone's."""
    if stock is not None:
        from chape.cli.check_program import check_loose_program

        code = check_loose_program(
            what,
            stock,
            target=target,
            machine=machine,
            rack=rack,
            zero=zero,
            target_zero=target_zero,
            offset=offset,
            dialect=dialect,
            spacing=spacing,
            pictures=pictures,
            as_json=as_json,
        )
        raise typer.Exit(code)
    from chape.cli.check import check_path

    raise typer.Exit(check_path(what, as_json=as_json))


def fit(  # noqa: PLR0913, PLR0917 - the options of one command
    sheath: Annotated[Path, typer.Argument(help="The sheath file.")],
    hold: Annotated[float | None, typer.Option(help="Hold, N (default: the file's).")] = None,
    measured: Annotated[
        float | None, typer.Option(help="Pull that a spring scale read on a made sheath, N.")
    ] = None,
    samples: Annotated[
        int | None, typer.Option(help="Knives to count (default: the file's).")
    ] = None,
    cluster: Annotated[
        str | None, typer.Option(help="Address of a Dask scheduler, tcp://HOST:PORT.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Fit page (.pdf), or its curves (.png).")
    ] = None,
    paper: Annotated[str, typer.Option(help="Paper of the page: a4 or letter.")] = "a4",
    unit: Annotated[str, typer.Option(help="Lengths on the page: mm or inch.")] = "mm",
    as_json: AsJson = False,
) -> None:
    """Say how hard a sheath holds its knife, how far it moves, and how sure that is."""
    from chape.cli.fit import Asked, fit_file

    asked = Asked(hold, measured, samples, cluster, out, paper, unit)
    raise typer.Exit(fit_file(sheath, asked, as_json=as_json))


def trial(  # noqa: PLR0913, PLR0917 - one option for each thing a maker can tell of a trial
    sheath: Annotated[Path, typer.Argument(help="The sheath file.")],
    at: Annotated[str, typer.Option(help="What was heated: blank or fold.")] = "blank",
    seconds: Annotated[float | None, typer.Option(help="How long, s.")] = None,
    outcome: Annotated[str | None, typer.Option(help="cold, good or overheated.")] = None,
    setting: Annotated[float | None, typer.Option(help="What it was set to, °C.")] = None,
    reading: Annotated[float | None, typer.Option(help="A pyrometer on the face, °C.")] = None,
    gauge: Annotated[float | None, typer.Option(help="Of this sheet, mm.")] = None,
    room: Annotated[float | None, typer.Option(help="°C.")] = None,
    colour: Annotated[str | None, typer.Option(help="For your own notes.")] = None,
    note: Annotated[str | None, typer.Option(help="For your own notes.")] = None,
    as_json: AsJson = False,
) -> None:
    """Note a heat trial, if one is told, and say what time to use or to try next."""
    from chape.cli.trial import note_trial

    told = {
        "seconds": seconds, "outcome": outcome, "setting": setting, "reading": reading,
        "gauge": gauge, "room": room, "colour": colour, "note": note,
    }  # fmt: skip
    known = {name: value for name, value in told.items() if value is not None}
    note_trial(sheath, at, known, as_json=as_json)


def family(
    file: Annotated[Path, typer.Argument(help="The family file.")],
    folder: Annotated[Path, typer.Argument(help="Where the members' job folders go.")],
    paper: Annotated[str, typer.Option(help="Paper of the documents: a4 or letter.")] = "a4",
    unit: Annotated[str, typer.Option(help="Lengths in documents: mm or inch.")] = "mm",
    date: Annotated[
        str | None, typer.Option(help="Date to print, YYYY-MM-DD (default: none).")
    ] = None,
    afresh: Annotated[bool, typer.Option("--afresh", help="Compute everything again.")] = False,
    as_json: AsJson = False,
) -> None:
    """Make a family: one sheath in several hands, clips and gauges, from one file."""
    from chape.cli.family import make_whole_family

    code = make_whole_family(file, folder, paper, unit, date, afresh=afresh, as_json=as_json)
    raise typer.Exit(code)


def blanks(
    stock: Annotated[Path, typer.Argument(help="The stock file.")],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="The plan, .pdf (default: beside the file).")
    ] = None,
    paper: Annotated[str, typer.Option(help="Paper of the plan: a4 or letter.")] = "a4",
    as_json: AsJson = False,
) -> None:
    """Plan how to cut blanks from sheets, strips or rolls of stock."""
    from chape.cli.blanks import plan_blanks

    plan_blanks(stock, out, paper, as_json=as_json)
