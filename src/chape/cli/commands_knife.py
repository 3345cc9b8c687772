"""The commands that measure knives, as they are typed.

Nothing here imports numerics before a command needs them.
"""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import Annotated

import typer

from chape.cli.says import AsJson  # noqa: TC001 - likewise


def sheet(
    out: Annotated[Path, typer.Argument(help="The PDF file to write.")],
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    sheets: Annotated[int, typer.Option(help="Sheets to tape side by side, 1 to 4.")] = 1,
) -> None:
    """Print the reference sheet that a knife is photographed on."""
    from chape.cli.measure import print_sheets

    print_sheets(out, paper, sheets)


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


def compare(
    first: Annotated[
        Path, typer.Argument(help="A knife file, a mesh, a sheath file, or a job folder.")
    ],
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
