"""The ``chape`` command: thin commands over the pipeline.

Nothing here imports numerics before a command needs them, so that help and completion come at
once.
"""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from chape import __version__
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

AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


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


@app.command()
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


@app.command()
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


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where to put it.")] = Path("chape-demo"),
    afresh: Annotated[bool, typer.Option("--afresh", help="Compute everything again.")] = False,
) -> None:
    """Run the main job on the demo: a camp knife, four sheaths on one blank."""
    from chape.cli.make import make_demo

    raise typer.Exit(make_demo(folder, afresh=afresh))


@app.command()
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


@app.command()
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


@app.command()
def sheet(
    out: Annotated[Path, typer.Argument(help="The PDF file to write.")],
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    sheets: Annotated[int, typer.Option(help="Sheets to tape side by side, 1 to 4.")] = 1,
) -> None:
    """Print the reference sheet that a knife is photographed on."""
    from chape.cli.measure import print_sheets

    print_sheets(out, paper, sheets)


@app.command()
def measure(  # noqa: PLR0913, PLR0917 - one option for each thing a person can say of a picture
    picture: Annotated[Path, typer.Argument(help="A photograph, a flat-bed scan, or a mesh.")],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Folder (default: named as the picture).")
    ] = None,
    name: Annotated[str | None, typer.Option(help="Of the knife (default: the picture's).")] = None,
    bar: Annotated[float | None, typer.Option(help="What the sheet's bar measures.")] = None,
    paper: Annotated[str, typer.Option(help="Paper of the sheet: a4 or letter.")] = "a4",
    handle_thickness: Annotated[
        str | None, typer.Option(help="By caliper: 18.2, or places 115:8,140:17.2.")
    ] = None,
    spine_thickness: Annotated[
        str | None, typer.Option(help="Of the blade, by caliper: 4, or 0:1,20:3.2,115:4.")
    ] = None,
    spine: Annotated[
        Path | None, typer.Option(help="A second photograph, from above the spine.")
    ] = None,
    caliper: Annotated[
        Path | None, typer.Option(help="A knife file whose thickness tables count.")
    ] = None,
    blade_length: Annotated[
        float | None, typer.Option(help="Tip to the front of guard or handle.")
    ] = None,
    tip: Annotated[
        str | None, typer.Option(help="Where it points: left, right, up, down; on a mesh -x …")
    ] = None,
    edge: Annotated[str | None, typer.Option(help="Where it faces, likewise.")] = None,
    turn: Annotated[float, typer.Option(help="Turn it further, degrees.")] = 0.0,
    tip_height: Annotated[
        float, typer.Option(help="Of the blade's middle above the paper, at the tip.")
    ] = 0.0,
    dpi: Annotated[float | None, typer.Option(help="Of a scan, dots per inch.")] = None,
    double: Annotated[bool, typer.Option("--double", help="The blade has two edges.")] = False,
    mesh_unit: Annotated[
        str | None, typer.Option(help="What a mesh is drawn in: mm, cm, inch or m.")
    ] = None,
    unit: Annotated[str, typer.Option(help="Lengths typed and shown: mm or inch.")] = "mm",
    date: Annotated[
        str | None, typer.Option(help="Day of measuring, YYYY-MM-DD (default: the camera's).")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Measure a knife from a photograph, scan or mesh; write its knife file and an overlay."""
    from chape.cli.measure import Typed
    from chape.cli.measure import measure as measure_knife

    typed = Typed(
        out, name, date, unit, paper, bar, handle_thickness, spine_thickness, spine, caliper,
        blade_length, tip, edge, turn, tip_height, dpi, double, mesh_unit,
    )  # fmt: skip
    raise typer.Exit(measure_knife(picture, typed, as_json=as_json))


@app.command()
def compare(
    first: Annotated[Path, typer.Argument(help="A knife file, a mesh, or a sheath file.")],
    second: Annotated[Path, typer.Argument(help="A knife file or a mesh.")],
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="A picture of both, .png or .svg.")
    ] = None,
    unit: Annotated[str, typer.Option(help="Lengths to show: mm or inch.")] = "mm",
    as_json: AsJson = False,
) -> None:
    """Lay two measurements of a knife over one another, or a knife into another's sheath."""
    from chape.cli.compare import compare_files

    raise typer.Exit(compare_files(first, second, out, unit, as_json=as_json))


@app.command()
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


@app.command()
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


@app.command()
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


@app.command()
def catalog(
    kind: Annotated[str | None, typer.Argument(help="sheets, clips, cutters …")] = None,
    name: Annotated[str | None, typer.Argument(help="One entry, with its sources.")] = None,
    as_json: AsJson = False,
) -> None:
    """List what sheaths are made of and made with."""
    from chape.cli.listing import list_catalog

    list_catalog(kind, name, as_json=as_json)


@app.command()
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


@app.command()
def schema(
    file: Annotated[str, typer.Argument(help="knife, sheath or dialect.")],
) -> None:
    """Print the JSON Schema of the files you write."""
    from chape.cli.listing import print_schema

    print_schema(file)


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
    except KeyboardInterrupt:
        say_stopped()
        sys.exit(INTERRUPTED)
