"""Compares two measurements of a knife, or a knife with a sheath that was made for another."""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING, Any

import typer

from chape.cli.fit import write_file
from chape.cli.make import HELD_BACK, progress
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError
from chape.findings import errors
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from chape.documents.sketch import Sketch
    from chape.findings import Finding
    from chape.knife.compare import Comparison
    from chape.knife.model import Knife
    from chape.pipeline.file import Request

#: Two knives are compared on this grid, mm.
SPACING = 0.2

#: Endings of files that show a knife but are none.
PICTURES = {".jpg", ".jpeg", ".png", ".heic", ".heif", ".tif", ".tiff"}

#: Said where nineteen of twenty places agree, and some do not.
MOSTLY = "Not everywhere: where most is said above they differ by more. Measure there again."

#: Pixels of a picture for a mm of its paper.
PIXELS = 8


def compare_files(first: Path, second: Path, out: Path | None, unit: str, *, as_json: bool) -> int:
    """Compare a knife or sheath with a knife; return the exit code."""
    if unit not in set(LengthUnit):
        raise InputError(f'found --unit "{unit}"', mend='Write "mm" or "inch"')
    if out is not None and out.suffix.lower() not in {".png", ".svg"}:
        raise InputError(f'found --out "{out}"', mend="Name a .png or .svg file")
    _refuse_no_knife(second)
    if first.is_dir() or _is_sheath(first):
        return _stock(first, second, out, LengthUnit(unit), as_json=as_json)
    _refuse_no_knife(first)
    with progress(quiet=as_json) as watch:
        from chape.documents.picture_compare import comparison_picture
        from chape.knife.compare import compare
        from chape.knife.read import read_any_knife

        watch("Measure both knives")
        one, two = (read_any_knife(path, SPACING) for path in (first, second))
        watch("Lay one over the other")
        seen = compare(one, two)
        _draw(out, lambda: comparison_picture(one, two, seen, LengthUnit(unit)))
    figures = _figures(one, two, seen)
    if as_json:
        print_json({"comparison": figures})
        return 0
    for line in _lines(one, two, seen, LengthUnit(unit)):
        typer.echo(line)
    return 0


def _is_sheath(path: Path) -> bool:
    from chape.catalog.files import parse_toml, read_bytes

    return path.suffix.lower() == ".toml" and "sheath" in parse_toml(read_bytes(path), path)


def _refuse_no_knife(path: Path) -> None:
    if path.suffix.lower() in PICTURES:
        raise InputError(
            "a picture is no knife yet",
            mend="Measure it first with chape measure, and name the knife.toml that comes of it",
            file=path,
        )
    if path.is_file() and _is_sheath(path):
        raise InputError(
            "this is a sheath's file",
            mend="Name the sheath first, or its job folder, and then a knife file or a mesh",
            file=path,
        )


def _request(first: Path) -> Request:
    """Read the sheath: of its own file, or of a job folder's copies."""
    from chape.pipeline.file import read_request

    if not first.is_dir():
        return read_request(first)
    from chape.pipeline.folder import INPUTS, read_manifest

    return read_request(first / INPUTS / read_manifest(first).sheath, copies=True)


def _stock(first: Path, second: Path, out: Path | None, unit: LengthUnit, *, as_json: bool) -> int:
    request = _request(first)
    with progress(quiet=as_json) as watch:
        from chape.documents.picture_compare import stock_picture
        from chape.fit.check_stock import check_stock
        from chape.fit.stock import stock_fit
        from chape.knife.read import read_any_knife
        from chape.pipeline.fit import run_solve
        from chape.pipeline.keep import Keep
        from chape.pipeline.run import run_knife, run_sheath
        from chape.pipeline.stages import Stages

        stages = Stages(Keep.of_person(), watch)
        key, own = run_knife(request, stages)
        solved = run_solve(request, stages, key, own)
        _, (sheath, _) = run_sheath(request, stages, key, own, solved)
        watch("Measure the other knife")
        knife = read_any_knife(second, request.file.sheath.spacing)
        watch("Lay it into the sheath")
        fit = stock_fit(sheath, knife)
        _draw(out, lambda: stock_picture(fit, unit))
    findings = check_stock(fit, request.file.fit.edge_margin)
    if as_json:
        figures = {
            "shift": [round(fit.placement.x, 3), round(fit.placement.y, 3)],
            "turn_degrees": round(degrees(fit.placement.turn), 3),
            "least_room": round(float(fit.room.min()), 3),
            "edge_room": round(fit.edge.least, 3),
            "lift": round(fit.lift, 3),
            "lift_own": round(fit.lift_own, 3),
        }
        print_json({"stock": figures, "findings": finding_rows(findings)})
    else:
        say_findings(findings)
        verdict = _verdict(findings)
        typer.echo(f"\n{knife.name} in {sheath.choices.name}: {verdict}")
    return HELD_BACK if errors(findings) else 0


def _verdict(findings: tuple[Finding, ...]) -> str:
    wrong = {finding.code for finding in errors(findings)}
    if not wrong:
        return "fits, as far as can be measured"
    if wrong == {"stock-unsure"}:
        return "cannot be told: it fits as measured, but was not measured well enough"
    return "does not fit"


def _draw(out: Path | None, picture: Callable[[], Sketch]) -> None:
    if out is None:
        return
    from chape.documents.to_pdf import png_of_svg

    drawing = picture().svg()
    write_file(out, drawing if out.suffix.lower() == ".svg" else png_of_svg(drawing, PIXELS))


def _figures(one: Knife, two: Knife, seen: Comparison) -> dict[str, Any]:
    k, (x, y) = seen.worst, seen.most_at
    return {
        "first": one.name,
        "second": two.name,
        "shift": [round(seen.placement.x, 3), round(seen.placement.y, 3)],
        "turn_degrees": round(degrees(seen.placement.turn), 3),
        "outline_95": round(seen.outline_off, 3),
        "outline_most": round(float(seen.off[k]), 3),
        "outline_most_at": [round(float(value), 1) for value in seen.points[k]],
        "thicker_95": round(seen.thicker, 3),
        "thinner_95": round(seen.thinner, 3),
        "thickness_most": round(seen.most, 3),
        "thickness_most_at": [round(x, 1), round(y, 1)],
        "compared": round(seen.compared, 3),
        "blade_length": round(seen.blade, 2),
        "length": round(two.length - one.length, 2),
        "agree": seen.within(one.uncertainty + two.uncertainty),
    }


def _lines(one: Knife, two: Knife, seen: Comparison, unit: LengthUnit) -> list[str]:
    k, (x, y) = seen.worst, seen.most_at
    error = one.uncertainty + two.uncertainty
    agree = seen.within(error)
    return [
        f"{two.name} laid over {one.name}",
        f"  {'outline, 95 % within':24} {show_length(seen.outline_off, unit)}",
        (
            f"  {'outline, most':24} {show_length(float(seen.off[k]), unit)} at x = "
            f"{seen.points[k][0]:.0f}, y = {seen.points[k][1]:.0f} mm"
        ),
        f"  {'thicker, 95 % within':24} {show_length(seen.thicker, unit)}",
        f"  {'thinner, 95 % within':24} {show_length(seen.thinner, unit)}",
        f"  {'thickness, most':24} {show_length(seen.most, unit)} at x = {x:.0f}, y = {y:.0f} mm",
        f"  {'blade longer by':24} {show_length(seen.blade, unit)}",
        f"  {'whole knife longer by':24} {show_length(two.length - one.length, unit)}",
        (
            f"They {'agree' if agree else 'do not agree'} within what both say of their errors, "
            f"{show_length(error, unit)} together, and twice that in thickness."
        ),
        *(
            [MOSTLY]
            if agree and (abs(float(seen.off[k])) > error or abs(seen.most) > 2 * error)
            else []
        ),
    ]
