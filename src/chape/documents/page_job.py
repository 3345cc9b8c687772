"""What the job sheet says, apart from the setup pages."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Any

import numpy as np

from chape.documents.cautions import Caution, fume_caution
from chape.documents.page_clips import clips_page
from chape.documents.page_outline import gauge_rows, outline_rows, outline_said
from chape.documents.page_setup import setup_page, size_words, time_words
from chape.documents.page_sheaths import (
    HEADS,
    copies_words,
    job_said,
    job_title,
    of_which,
    sheath_rows,
)
from chape.documents.page_template import shortened
from chape.documents.pattern import stem_of
from chape.findings import Severity, errors
from chape.sheath.halves import fold_ends, highest_wall, reach_along
from chape.sheath.stacks import stacks_of
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.findings import Finding
    from chape.sheath.model import Fold

#: Stations of the fold that the table shows.
FOLD_ROWS = 7

_WEIGHT = {Severity.ERROR: 0, Severity.WARNING: 1, Severity.NOTE: 2}


def job_page(results: JobResults, pictures: list[str]) -> dict[str, Any]:
    """Return the data of the job sheet.

    Args:
        results: of the job.
        pictures: names of the sections' pictures, from tip to mouth.
    """
    stopping = errors(results.findings)
    title = job_title(results)
    name = shortened(title, 110)
    made = results.sheath
    return {
        "paper": results.paper,
        "name": name,
        "name-size": 30 if len(name) <= 26 else 22 if len(name) <= 55 else 16,
        "said": job_said(results),
        "header": shortened(title, 70),
        "kind": "job sheet",
        "foot": _foot(results),
        "key": _key(results),
        "released": not stopping,
        "state": _state(results, len(stopping)),
        "order": _order(results),
        "cautions": {
            "law": Caution.LAW,
            "edge": Caution.EDGE,
            "hot": Caution.HOT,
            "fume": fume_caution(made.sheet),
        },
        "sheath-heads": HEADS,
        "sheaths": sheath_rows(results),
        "knife-said": of_which(results, "What was measured, and what was made of it"),
        "knife": _knife(results),
        "sheath": _sheath(results),
        "margins": [f"{stem_of('margins', made, piece)}.svg" for piece in made.pieces],
        "outline-said": of_which(results, outline_said(results)),
        "outline": outline_rows(results),
        "gauges": gauge_rows(results.gauges, results.unit),
        "flats": [f"{stem_of('flat', made, piece)}.svg" for piece in made.pieces],
        "sections-said": of_which(
            results, "Across the closed sheath; the sheet as thick as forming leaves it"
        ),
        "sections": pictures,
        "forming-title": "Form, trim, fold" if _folded(results) else "Form, trim, join",
        "forming-said": _forming_words(results),
        "mould": _mould(results),
        "fixture": _fixture(results),
        "fold-said": of_which(
            results,
            "The flat strip is as long as the layer that keeps its length; one straight line "
            "serves the whole sheath.",
        ),
        "fold": [] if made.fold is None else _fold(made.fold, results.unit),
        "fold-head": ["x", "inside radius", "flat strip", "inner apex y"],
        "fold-stations": [] if made.fold is None else _fold_stations(made.fold, results),
        "setups": [setup_page(program, results) for program in results.programs],
        "findings": [_finding(finding, results.unit) for finding in _by_weight(results.findings)],
        **clips_page(results),
        "findings-said": _count_words(results.findings),
        "hashes": [
            [name, digest]
            for program in results.programs
            for name, digest in zip(program.file_names, program.verdict.hashes, strict=True)
        ],
    }


def _foot(results: JobResults) -> str:
    lengths = "lengths in inches" if results.unit is LengthUnit.INCH else "lengths in mm"
    return lengths if results.date is None else f"{results.date.isoformat()}  ·  {lengths}"


def _key(results: JobResults) -> list[dict[str, str]]:
    unit = results.unit
    u_min, u_max = reach_along(results.sheath)
    ramp = " with thumb ramp" if results.sheath.choices.thumb_ramp.height > 0 else ""
    seconds = sum(program.verdict.seconds for program in results.programs)
    forming = results.sheath.sheet.forming_temperature
    return [
        {"value": show_length(results.knife.length, unit), "label": "knife, tip to butt"},
        {
            "value": show_length(u_max - u_min, unit),
            "label": f"sheath{ramp}",
        },
        {"value": show_length(results.sheath.sheet.gauge.value, unit), "label": "sheet"},
        {"value": show_length(results.sheath.choices.snap_depth, unit), "label": "snap depth"},
        {"value": str(results.layout.copies), "label": "sheaths on one blank"},
        {"value": f"{forming.value:g} {forming.unit}", "label": "forming temperature"},
        {"value": time_words(seconds), "label": "machine time, all programs"},
        {"value": str(len(results.findings)), "label": "findings, see the last page"},
    ]


def _state(results: JobResults, stopping: int) -> str:
    if not stopping:
        count = len(results.programs)
        return f"{count} programs were read back from their own text and passed every check."
    ones = "One finding stops" if stopping == 1 else f"{stopping} findings stop"
    return f"{ones} the release. Mend them and make the job again."


def _order(results: JobResults) -> list[str]:
    sheet = results.sheath.sheet
    blank = f"{show_length(sheet.gauge.value, results.unit)} {sheet.material}"
    sheaths = results.layout.sheaths
    clip = " fit the clip," if any(sheath.clips for sheath in sheaths) else ""
    heat = f"{sheet.forming_temperature.value:g} {sheet.forming_temperature.unit}"
    folded, paired = _folded(results), any(sheath.fold is None for sheath in sheaths)
    several = len(sheaths) > 1
    return [
        _templates(several=several, folded=folded, paired=paired),
        "Cut mould and fixture; each has its own page here. Make "
        + ("each knife's dummy from its mesh." if several else "the dummy from its mesh."),
        f"Heat a blank of {blank} to {heat} right through; form it; cool it on the mould.",
        f"Trim: {copies_words(results.layout)} out of the blank on the fixture.",
        *["Lay front and back over the dummy, hole on hole, and clamp them."] * paired,
        *["Heat the fold strip, fold over the dummy, and clamp until cool."] * folded,
        f"Set the eyelets,{clip} and try the draw: dummy first, then the knife.",
    ]


def _templates(*, several: bool, folded: bool, paired: bool) -> str:
    if several:
        return (
            "Print each sheath's templates at 100 %, those in the folder others too; measure their "
            "bars, cut them out and try each on its knife."
        )
    if paired and not folded:
        return (
            "Print both templates at 100 %, measure their bars, cut them out and lay the knife "
            "between."
        )
    return "Print a template at 100 %, measure its bar, cut it out and fold it round the knife."


def _forming_words(results: JobResults) -> str:
    blank = results.layout.blank
    size = size_words((blank.width, blank.depth), results.unit)
    return f"{copies_words(results.layout)} on a blank of {size}"


def _folded(results: JobResults) -> bool:
    return any(sheath.fold is not None for sheath in results.layout.sheaths)


def _knife(results: JobResults) -> list[list[str]]:
    knife, unit = results.knife, results.unit
    measured = "" if knife.measured is None else f"on {knife.measured.isoformat()}"
    return [
        ["Name", shortened(knife.name, 60)],
        ["Length", show_length(knife.length, unit)],
        ["Blade", show_length(knife.blade_length, unit), f"{knife.edges} edge"],
        ["Greatest thickness", show_length(knife.thickness, unit)],
        ["Measured by", shortened(knife.source, 60), measured],
        ["Uncertainty", f"± {show_length(knife.uncertainty, unit)}"],
        ["Dummy, least thickness", show_length(results.dummy.edge_thickness, unit)],
    ]


def _sheath(results: JobResults) -> list[list[str]]:
    made, unit = results.sheath, results.unit
    room = made.choices.clearance
    flanges = stacks_of(made)[0]
    clips = "; ".join(placed.clip.title for placed in made.clips) or "none"
    return [
        ["Sheet", made.sheet.title, made.sheet.gauge.status.value],
        [
            "Room, blade and handle",
            f"{_short(room.blade, unit)} and {show_length(room.handle, unit)}",
        ],
        ["Room at the edge", show_length(room.side, unit)],
        ["Draft of the walls", f"{room.draft:g}°", "from upright"],
        ["Snap depth", show_length(made.choices.snap_depth, unit)],
        ["Highest wall", show_length(highest_wall(made), unit), "above the flange"],
        ["Eyelets", f"{flanges.count}, {(flanges.eyelet or made.eyelet).title}"],
        ["Clips" if len(made.clips) > 1 else "Clip", clips],
    ]


def _mould(results: JobResults) -> list[list[str]]:
    mould, unit = results.mould, results.unit
    plate = mould.z_stock - mould.z_bottom
    vents = sorted({vent.diameter for vent in mould.vents})
    size = ", ".join(f"ø {show_length(diameter, unit)}" for diameter in vents)
    return [
        ["Plate", size_words((mould.width, mould.depth, plate), unit)],
        ["Highest", show_length(float(mould.surface.z.max()), unit), "above the flange plane"],
        ["Vents", f"{len(mould.vents)}{', ' + size if size else ''}"],
        ["Back grooves", str(len(mould.grooves))],
        ["Scaled up by", f"{(mould.scale - 1) * 100:.2f} %", "for net shrinkage"],
    ]


def _fixture(results: JobResults) -> list[list[str]]:
    fixture, unit = results.fixture, results.unit
    plate = fixture.z_stock - fixture.z_bottom
    return [
        ["Plate", size_words((fixture.width, fixture.depth, plate), unit)],
        ["Board", fixture.board.title],
        ["Offset", fixture.board.offset],
        ["Inserts", f"{len(fixture.inserts)}, {len(fixture.screws)} under eyelets"],
        ["Screws", fixture.screw.title],
    ]


def _fold(fold: Fold, unit: LengthUnit) -> list[list[str]]:
    least, most = (2 * (float(g) + fold.gauge) for g in (fold.height.min(), fold.height.max()))
    over = show_length(most, unit)
    longer = pi * fold.k_factor * fold.gauge
    if show_length(least, unit) != over:
        over = f"{_short(least, unit)} to {over}"
    return [
        ["Fold line above the tip", show_length(fold.line, unit), "y in the knife's frame"],
        ["Neutral factor K", f"{fold.k_factor:g}", "check it by a test strip"],
        [
            "Strip longer than the fold's inside",
            show_length(longer, unit),
            "π K times the gauge",
        ],
        ["and shorter than its outside", show_length(pi * fold.gauge - longer, unit)],
        ["Check over the folded flanges", show_length(2 * fold.gauge, unit)],
        ["Check over the fold", over],
    ]


def _fold_stations(fold: Fold, results: JobResults) -> list[list[str]]:
    first, last = fold_ends(results.sheath, fold)
    rows = []
    for x in np.linspace(max(0.0, first), last, FOLD_ROWS):
        height = float(np.interp(x, fold.x, fold.height))
        end = float(np.interp(x, fold.x, fold.end))
        lengths = (float(x), height, 2 * (fold.line - end), end + height)
        rows.append([_short(length, results.unit) for length in lengths])
    return rows


def _finding(finding: Finding, unit: LengthUnit) -> dict[str, str]:
    return {
        "severity": finding.severity.value,
        "code": finding.code,
        "place": finding.place,
        "message": finding.message,
        "mend": finding.mend,
        "measured": _measure(finding.measured, finding.unit, unit),
        "limit": _measure(finding.limit, finding.unit, unit),
    }


def _measure(value: float | None, of: str, unit: LengthUnit) -> str:
    if value is None:
        return ""
    return show_length(value, unit) if of == "mm" else f"{value:.4g} {of}".strip()


def _by_weight(findings: tuple[Finding, ...]) -> list[Finding]:
    return sorted(findings, key=lambda finding: _WEIGHT[finding.severity])


def _count_words(findings: tuple[Finding, ...]) -> str:
    if not findings:
        return "Nothing to remark"
    parts = []
    for severity in Severity:
        count = sum(finding.severity is severity for finding in findings)
        if count:
            parts.append(f"{count} {severity.value}{'' if count == 1 else 's'}")
    return ", ".join(parts)


def _short(length: float, unit: LengthUnit) -> str:
    return show_length(length, unit).split()[0]
