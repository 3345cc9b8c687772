"""Says how a sheath holds its knife, and sets the fit page when asked."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import typer

from chape.catalog.sentences import first_problem
from chape.cli.make import HELD_BACK, PAPERS, progress
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError, OutputError
from chape.findings import errors
from chape.units import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from chape.fit.calibrate import Calibrated
    from chape.fit.fit import Fit
    from chape.pipeline.file import Request


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked on the command line.

    Attributes:
        hold: N; None leaves the file's.
        measured: a spring scale's reading on a made sheath, N.
        samples: knives counted; None leaves the file's.
        cluster: address of a Dask scheduler; None works on this machine.
        out: a .pdf file, or a .png file of its first page.
        paper: of the page.
        unit: lengths on the page.
    """

    hold: float | None
    measured: float | None
    samples: int | None
    cluster: str | None
    out: Path | None
    paper: str
    unit: str


def fit_file(path: Path, asked: Asked, *, as_json: bool) -> int:
    """Print how the sheath of a file holds its knife; return the exit code."""
    _check(asked)
    from chape.pipeline.file import read_request

    request = _with_options(read_request(path), asked)
    with progress(quiet=as_json) as watch:
        from chape.documents.figures import figures_json
        from chape.documents.figures_fit import fit_figures
        from chape.documents.page_fit import FitPage, fit_drawings, fit_pdf
        from chape.documents.to_pdf import png_of_svg
        from chape.fit.check import check_fit
        from chape.pipeline.fit import calibrated, run_fit, run_solve
        from chape.pipeline.keep import Keep
        from chape.pipeline.run import run_knife, run_sheath
        from chape.pipeline.stages import Stages

        stages = Stages(Keep.of_person(), watch)
        knife_key, knife = run_knife(request, stages)
        solved = run_solve(request, stages, knife_key, knife)
        key, (sheath, _) = run_sheath(request, stages, knife_key, knife, solved)
        fit = run_fit(request, stages, key, sheath, solved, asked.cluster)
        learnt = None
        if asked.measured is not None:
            watch("Learn from the reading")
            learnt = calibrated(fit, sheath, asked.measured, asked.cluster)
        if asked.out is not None:
            page = FitPage(sheath.choices.name, sheath, fit, LengthUnit(asked.unit), asked.paper)
            drawings = fit_drawings(page)
            pdf = asked.out.suffix.lower() == ".pdf"
            write_file(
                asked.out, fit_pdf(page, drawings) if pdf else png_of_svg(drawings["force"], 8)
            )
    findings = check_fit(fit)
    if as_json:
        import json

        figures = json.loads(figures_json(fit_figures(fit)))
        more = {} if learnt is None else {"calibrated": _calibrated(learnt)}
        print_json({"fit": figures, **more, "findings": finding_rows(findings)})
    else:
        for line in _lines(fit, learnt):
            typer.echo(line)
        for line in () if learnt is None else _kept(learnt):
            typer.echo(line)
        typer.echo("")
        say_findings(findings)
        typer.echo("\nTry every made sheath by hand over something soft, the edge covered.")
    return HELD_BACK if errors(findings) else 0


def _check(asked: Asked) -> None:
    """Refuse options that cannot be, before any work is done."""
    for name, value in (("--hold", asked.hold), ("--measured", asked.measured)):
        if value is not None and not 0 < value < 1e4:
            raise InputError(f"found {name} {value:g}", mend="Give a force in N, like 30")
    if asked.paper not in PAPERS:
        raise InputError(f'found --paper "{asked.paper}"', mend='Write "a4" or "letter"')
    if asked.unit not in set(LengthUnit):
        raise InputError(f'found --unit "{asked.unit}"', mend='Write "mm" or "inch"')
    if asked.out is not None and asked.out.suffix.lower() not in (".pdf", ".png"):
        raise InputError(
            f'found --out "{asked.out}"', mend="Name a .pdf file, or a .png file of the curves"
        )


def _with_options(request: Request, asked: Asked) -> Request:
    """Return the request with the command line's hold and samples in place of the file's."""
    from pydantic import ValidationError

    from chape.fit.model import FitChoices

    changes = {"hold": asked.hold, "samples": asked.samples}
    given = {key: value for key, value in changes.items() if value is not None}
    if not given:
        return request
    try:
        fit = FitChoices.model_validate(request.file.fit.model_dump() | given)
    except ValidationError as error:
        raise first_problem(error, file="command line") from None
    return replace(request, file=request.file.model_copy(update={"fit": fit}))


def write_file(out: Path, content: bytes) -> None:
    """Write one file that was asked for by name.

    Raises:
        OutputError: it cannot be written.
    """
    try:
        out.write_bytes(content)
    except OSError as error:
        raise OutputError(
            out, f"it cannot be written: {error.strerror}", mend="Name another file"
        ) from None


def _lines(fit: Fit, learnt: Calibrated | None) -> Iterator[str]:
    """Yield the key figures, one line each."""
    from chape.fit.play import Way
    from chape.fit.words import scale_words

    motions = fit.play.motions
    if fit.solved is not None:
        yield f"{'asked':24} {fit.solved.wanted:g} N; found: {fit.solved.reason}"
    rows = [
        ("snap depth", f"{fit.snap_depth:.3f} mm"),
        ("hold, to draw", scale_words(fit.hold)),
        ("to push home", scale_words(fit.curve.push_peak)),
        ("over friction and heat", f"{fit.hold_least:.1f} to {fit.hold_most:.1f} N"),
        ("work of a draw", f"{fit.curve.work / 1000:.2f} J"),
        ("shake asks for", f"{fit.weight.needed:.1f} N, knife {1000 * fit.weight.mass:.0f} g"),
        ("strain of the sheet", f"{100 * fit.strain:.2f} %, limit {100 * fit.strain_limit:.1f} %"),
        ("edge, sheath closed", f"{fit.clearance.closed.min():.2f} mm at the nearest"),
        ("edge, halves spread", f"{fit.clearance.spread.min():.2f} mm at the nearest"),
        ("play of the tip", f"{fit.play.rattle:.2f} mm across, {fit.play.wag:.2f} mm in its plane"),
        ("rattle", f"{motions[Way.SWAY].amount:.2f}° across, {motions[Way.ROCK].amount:.2f}°"),
    ]
    if fit.share is not None:
        share = fit.share
        rows.append(
            (
                "knives that pass",
                (
                    f"{100 * share.passing:.0f} % "
                    f"({100 * share.low:.0f} to {100 * share.high:.0f} %) "
                    f"of {len(share.holds)} hold {share.least:.1f} to {share.most:.1f} N"
                ),
            )
        )
        rows += [(f"  by {each.name}", f"{100 * each.total:.0f} %") for each in share.influences]
    if learnt is not None:
        rows += [
            ("friction, learnt", f"{learnt.friction:.3f} ± {learnt.spread:.3f}"),
            ("holds before, and now", f"{_span(learnt.before)}; {_span(learnt.after)}"),
            ("band of holds", f"{learnt.narrowing:.2f} times narrower"),
        ]
    yield from (f"{name:24} {words}" for name, words in rows)


def _kept(learnt: Calibrated) -> Iterator[str]:
    """Yield what to write down of a reading, and a doubt where it is hard to believe."""
    from chape.fit.calibrate import lines_to_keep

    if learnt.surprising:
        yield (
            f"\nAbout {learnt.expected:.0f} N was to be expected, and a reading so far off comes "
            f"once in {1 / max(learnt.chance, 1e-6):.0f}: measure the handle and the gauge of that "
            "sheath before you believe the friction."
        )
    yield "\nFor the same handle finish and sheet, write into the next sheath file:\n\n[fit]"
    yield lines_to_keep(learnt)


def _span(band: tuple[float, float]) -> str:
    return f"{band[0]:.1f} to {band[1]:.1f} N"


def _calibrated(learnt: Calibrated) -> dict[str, Any]:
    return {
        "friction": learnt.friction,
        "spread": learnt.spread,
        "low": learnt.low,
        "high": learnt.high,
        "expected": learnt.expected,
        "chance": learnt.chance,
        "surprising": learnt.surprising,
        "before": list(learnt.before),
        "after": list(learnt.after),
    }
