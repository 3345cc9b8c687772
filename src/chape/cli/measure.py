"""Measures a knife, shows what was found, and prints reference sheets."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import typer

from chape.cli.fit import write_file
from chape.cli.make import PAPERS, progress
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from pathlib import Path

    from chape.knife.caliper import Disagreement
    from chape.pipeline.measure import Asked
    from chape.pipeline.measured import Measurement

#: So many differences between caliper and photograph are told one by one.
MOST_DIFFERENCES = 4


@dataclass(frozen=True, slots=True)
class Typed:
    """The options of ``chape measure`` as typed; lengths in ``unit``."""

    out: Path | None
    name: str | None
    day: str | None
    unit: str
    paper: str
    bar: float | None
    handle_thickness: str | None
    spine_thickness: str | None
    spine: Path | None
    caliper: Path | None
    blade_length: float | None
    tip: str | None
    edge: str | None
    turn: float
    tip_height: float
    dpi: float | None
    double: bool
    mesh_unit: str | None


def print_sheets(out: Path, paper: str, sheets: int) -> None:
    """Write reference sheets as a PDF file.

    Raises:
        InputError: no such paper, no PDF, or too many sheets.
    """
    _check_paper(paper)
    if out.suffix.lower() != ".pdf":
        raise InputError(f'found "{out}"', mend="Name a .pdf file")
    from chape.documents.page_reference import reference_pdf
    from chape.knife.reference_sheet import SHEETS, Paper, reference_sheet

    if not 1 <= sheets <= SHEETS:
        raise InputError(f"found --sheets {sheets}", mend=f"Write 1 to {SHEETS}")
    write_file(out, reference_pdf(tuple(reference_sheet(Paper(paper), n) for n in range(sheets))))
    typer.echo(out)
    typer.echo("Print it at 100 %, and measure the bar of each sheet with a caliper.")


def measure(path: Path, typed: Typed, *, as_json: bool) -> int:
    """Measure a knife, write its files, and say what was found; return the exit code."""
    if typed.unit not in set(LengthUnit):
        raise InputError(f'found --unit "{typed.unit}"', mend='Write "mm" or "inch"')
    _check_paper(typed.paper)
    unit, day = LengthUnit(typed.unit), _day(typed.day)
    if path.is_dir():
        raise InputError("this is a folder", mend="Name the picture inside it", file=path)
    folder = typed.out or path.with_suffix("")
    with progress(quiet=as_json) as watch:
        from chape.field.mesh_file import is_mesh
        from chape.knife.write import DRAWING
        from chape.pipeline.measured import KNIFE, OVERLAY, refuse_taken, write_measured

        refuse_taken(folder, (KNIFE, DRAWING, OVERLAY))
        watch("Find the knife")
        if is_mesh(path):
            found = _mesh(path, typed, day, unit)
        else:
            from chape.pipeline.measure import measure_file

            found = measure_file(path, _asked(typed, day, unit))
        watch("Write its files")
        written = write_measured(folder, found.files)
    if as_json:
        print_json({**_figures(found), "files": [str(path) for path in written]})
        return 0
    say_findings(found.findings)
    for line in _lines(found, unit):
        typer.echo(line)
    for each in written:
        typer.echo(each)
    typer.echo("Look at the overlay first: the red line must lie on the knife's edge all round.")
    return 0


def _check_paper(paper: str) -> None:
    if paper not in PAPERS:
        raise InputError(f'found --paper "{paper}"', mend='Write "a4" or "letter"')


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f'found --date "{text}"', mend="Write it as year-month-day, such as 2026-03-14"
        ) from None


def _asked(typed: Typed, day: date | None, unit: LengthUnit) -> Asked:
    if typed.mesh_unit is not None:
        raise InputError("--mesh-unit says nothing of a picture", mend="Remove it")
    from chape.knife.caliper import read_rows
    from chape.knife.file import Direction
    from chape.knife.model import Edges
    from chape.knife.reference_sheet import Paper
    from chape.pipeline.measure import Asked

    directions: dict[str, Direction | None] = {}
    for key, word in (("tip", typed.tip), ("edge", typed.edge)):
        if word is not None and word not in set(Direction):
            raise InputError(f'found --{key} "{word}"', mend="Write left, right, up or down")
        directions[key] = None if word is None else Direction(word)
    rows = {
        key: () if text is None else read_rows(text, key, unit.in_mm)
        for key, text in (
            ("spine-thickness", typed.spine_thickness),
            ("handle-thickness", typed.handle_thickness),
        )
    }
    return Asked(
        name=typed.name,
        day=day,
        tip=directions["tip"],
        edge=directions["edge"],
        blade_length=_in_mm(typed.blade_length, "blade-length", unit),
        turn=_number(typed.turn, "turn", -45, 45),
        edges=Edges.DOUBLE if typed.double else Edges.SINGLE,
        paper=Paper(typed.paper),
        bar=_in_mm(typed.bar, "bar", unit),
        tip_height=_number(typed.tip_height * unit.in_mm, "tip-height", -1, 100),
        dpi=None if typed.dpi is None else _number(typed.dpi, "dpi", 1, 1e5),
        spine=typed.spine,
        spine_rows=rows["spine-thickness"],
        handle_rows=rows["handle-thickness"],
        caliper=typed.caliper,
        unit=unit,
    )


def _mesh(path: Path, typed: Typed, day: date | None, unit: LengthUnit) -> Measurement:
    from chape.knife.file_mesh import MeshUnit
    from chape.knife.model import Edges
    from chape.pipeline.measure_mesh import headings, measure_mesh_file

    odd = {
        "--bar": typed.bar, "--dpi": typed.dpi, "--spine": typed.spine,
        "--caliper": typed.caliper, "--handle-thickness": typed.handle_thickness,
        "--spine-thickness": typed.spine_thickness,
    }  # fmt: skip
    for option, value in odd.items():
        if value is not None:
            raise InputError(f"{option} says nothing of a mesh, which is solid", mend="Remove it")
    if typed.mesh_unit is not None and typed.mesh_unit not in set(MeshUnit):
        raise InputError(
            f'found --mesh-unit "{typed.mesh_unit}"', mend=f"Write {', '.join(MeshUnit)}"
        )
    said: dict[str, str | float] = dict(headings({"tip": typed.tip, "edge": typed.edge}))
    if typed.turn:
        said["turn"] = _number(typed.turn, "turn", -45, 45)
    if typed.mesh_unit is not None:
        said["unit"] = typed.mesh_unit
    length = _in_mm(typed.blade_length, "blade-length", unit)
    if length is not None:
        said["blade_length"] = length
    edges = Edges.DOUBLE if typed.double else Edges.SINGLE
    return measure_mesh_file(path, typed.name, day, edges, said, unit)


def _in_mm(length: float | None, key: str, unit: LengthUnit) -> float | None:
    return None if length is None else _number(length * unit.in_mm, key, 1, 1000)


def _number(value: float, key: str, least: float, most: float) -> float:
    if not least <= value <= most:
        raise InputError(f"found --{key} {value:g}", mend=f"Write {least:g} to {most:g}")
    return value


def _lines(found: Measurement, unit: LengthUnit) -> list[str]:
    """Return what is said of a knife: its size, how sure that is, what to measure."""
    measured, knife = found.measured, found.knife

    def show(length: float) -> str:
        return show_length(length, unit)

    wide, blade = show(measured.width), show(knife.blade_length)
    lines = [
        f"{knife.name}: {show(knife.length)} long, {wide} wide at most, blade {blade}",
        f"True to about {show(knife.uncertainty)} all round; every clearance grows by it.",
    ]
    lines += _differences(found.disagreements, unit)
    lines.append("Check with a caliper, from the tip along x:")
    lines += [f"  {words:<28}{show(length):>12}" for words, length in _checks(found, unit)]
    if found.guesses:
        lines.append(f"To be measured yet, and programs wait for it: {', '.join(found.guesses)}")
    return lines


def _differences(found: tuple[Disagreement, ...], unit: LengthUnit) -> list[str]:
    """Return where caliper and spine photograph differ most, and what the others keep to."""
    worst = sorted(found, key=lambda each: -abs(each.difference))
    shown = worst if len(worst) <= MOST_DIFFERENCES + 1 else worst[:MOST_DIFFERENCES]
    lines = [
        f"At {show_length(each.x, unit)} the {each.part} is {show_length(each.caliper, unit)} by "
        f"caliper and {show_length(each.photo, unit)} in the spine's picture, "
        f"{show_length(abs(each.difference), unit)} {'more' if each.difference > 0 else 'less'}; "
        "the caliper counts."
        for each in sorted(shown, key=lambda each: each.x)
    ]
    if len(shown) < len(worst):
        rest = worst[len(shown)]
        lines.append(
            f"The other {len(worst) - len(shown)} readings agree within "
            f"{show_length(abs(rest.difference), unit)}."
        )
    return lines


def _checks(found: Measurement, unit: LengthUnit) -> list[tuple[str, float]]:
    """Return what a caliper can check: words and the length to find, mm."""
    import numpy as np

    from chape.knife.landmarks import columns_of, width_at

    columns = columns_of(found.measured.outline)
    width = columns.high - columns.low
    widest = float(columns.x[int(np.nanargmax(width))])
    middle = found.knife.blade_length / 2
    across = width_at(found.measured.outline, np.array([middle]))
    return [
        ("length, tip to butt", found.knife.length),
        (f"width at {show_length(widest, unit)}", float(np.nanmax(width))),
        (f"width at {show_length(middle, unit)}", float(across[0])),
    ]


def _figures(found: Measurement) -> dict[str, Any]:
    measured, marks = found.measured, found.measured.landmarks
    return {
        "name": found.knife.name,
        "source": measured.how,
        "length_mm": found.knife.length,
        "width_mm": measured.width,
        "blade_length_mm": found.knife.blade_length,
        "guard_mm": marks.guard,
        "uncertainty_mm": found.knife.uncertainty,
        "scale_error": measured.scale_error,
        "outline_error_mm": measured.residual,
        "to_be_measured": list(found.guesses),
        "guessed_on_weak_signs": list(measured.laid.doubts),
        "caliper_against_spine_picture": [
            {"part": each.part, "x_mm": each.x, "caliper_mm": each.caliper, "photo_mm": each.photo}
            for each in found.disagreements
        ],
        "findings": finding_rows(found.findings),
    }
