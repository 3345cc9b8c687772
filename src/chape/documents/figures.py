"""Every figure the documents show, for other programs to read.

Lengths mm, angles degrees, times s, whatever unit the pages show. Keys are sorted and figures
rounded to what they are worth, so that the same job gives the same file.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from math import isfinite, pi
from typing import TYPE_CHECKING, Any

import shapely

from chape.cutting.bound import least_time
from chape.documents.figures_clips import hole_plan_figures
from chape.documents.figures_fit import fit_figures
from chape.documents.figures_forming import forming_figures
from chape.documents.figures_outline import gauge_figures, mark_figures, outline_figures
from chape.documents.picture_leftover import band_shares
from chape.findings import errors
from chape.sheath.halves import highest_wall

if TYPE_CHECKING:
    from chape.documents.model import CheckedProgram, JobResults
    from chape.documents.picture_section import Section
    from chape.sheath.model import Piece
    from chape.tooling.model import Layout

#: Decimals kept: a tenth of what anything here is measured to.
DECIMALS = 4


def figures_of(results: JobResults, sections: tuple[Section, ...]) -> dict[str, Any]:
    """Return the figures as plain numbers and words in nested tables."""
    return {
        "name": results.name,
        "shown_in": results.unit.value,
        "released": not errors(results.findings),
        "knife": _knife(results),
        "sheath": _sheath(results),
        "hole_plan": hole_plan_figures(results.sheath),
        "fold": _fold(results),
        "fit": fit_figures(results.fit),
        "sections": [_section(section) for section in sections],
        "blank": _blank(results),
        "mould": _mould(results),
        "fixture": _fixture(results),
        "forming": forming_figures(results.forming),
        "outline": outline_figures(results),
        "marks": mark_figures(results),
        "gauges": gauge_figures(results.gauges),
        "dummy": {"edge_thickness": results.dummy.edge_thickness},
        "programs": {program.setup.name: _program(program) for program in results.programs},
        "findings": [
            {
                "code": finding.code,
                "severity": finding.severity.value,
                "place": finding.place,
                "message": finding.message,
                "mend": finding.mend,
                "measured": finding.measured,
                "limit": finding.limit,
                "unit": finding.unit,
            }
            for finding in results.findings
        ],
    }


def figures_json(figures: dict[str, Any]) -> bytes:
    """Return the figures as JSON, keys sorted.

    Raises:
        ValueError: a figure is not finite.
    """
    text = json.dumps(
        _rounded(figures, ""), indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False
    )
    return (text + "\n").encode("utf-8")


def _rounded(value: Any, place: str) -> Any:  # noqa: ANN401 - walks any nested table
    if isinstance(value, dict):
        return {str(key): _rounded(part, f"{place}.{key}") for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(part, f"{place}[{number}]") for number, part in enumerate(value)]
    if value is None or isinstance(value, bool | str | int):
        return value
    figure = float(value)
    if not isfinite(figure):
        raise ValueError(f"the figure {place.lstrip('.')} is {figure}")
    # Adding 0.0 turns a rounded -0.0 into 0.0.
    return round(figure, DECIMALS) + 0.0


def _knife(results: JobResults) -> dict[str, Any]:
    knife = results.knife
    return {
        "name": knife.name,
        "length": knife.length,
        "blade_length": knife.blade_length,
        "thickness": knife.thickness,
        "edges": knife.edges.value,
        "uncertainty": knife.uncertainty,
        "source": knife.source,
        "measured": None if knife.measured is None else knife.measured.isoformat(),
    }


def _sheath(results: JobResults) -> dict[str, Any]:
    sheath = results.sheath
    counts: dict[str, int] = {}
    for piece in sheath.pieces:
        for hole in piece.holes:
            counts[hole.use.value] = counts.get(hole.use.value, 0) + 1
    return {
        "style": sheath.choices.style.value,
        "hand": sheath.choices.hand.value,
        "sheet": sheath.sheet.name,
        "gauge": sheath.sheet.gauge.value,
        "snap_depth": sheath.choices.snap_depth,
        "mouth_x": sheath.mouth_x,
        "highest_wall": highest_wall(sheath),
        "clearance_blade": sheath.choices.clearance.blade,
        "clearance_handle": sheath.choices.clearance.handle,
        "clearance_side": sheath.choices.clearance.side,
        "clearance_spine": sheath.choices.clearance.spine,
        "draft": sheath.choices.clearance.draft,
        "fillet": sheath.choices.fillet,
        "holes": counts,
        "pieces": [_piece(piece) for piece in sheath.pieces],
    }


def _piece(piece: Piece) -> dict[str, Any]:
    polygon = piece.pattern.polygon()
    u_min, v_min, u_max, v_max = polygon.bounds
    return {
        "name": piece.name,
        "width": u_max - u_min,
        "height": v_max - v_min,
        "area": float(shapely.area(polygon)),
        "length": float(shapely.length(polygon)),
        "holes": [
            {"u": hole.u, "v": hole.v, "diameter": hole.diameter, "use": hole.use.value}
            for hole in piece.holes
        ],
    }


def _fold(results: JobResults) -> dict[str, Any] | None:
    fold = results.sheath.fold
    if fold is None:
        return None
    strip = 2 * (fold.line - fold.end)
    return {
        "line": fold.line,
        "k_factor": fold.k_factor,
        "relief": results.sheath.choices.fold.relief,
        "longer_than_inside": pi * fold.k_factor * fold.gauge,
        "shorter_than_outside": pi * (1 - fold.k_factor) * fold.gauge,
        "radius_least": float(fold.height.min()),
        "radius_most": float(fold.height.max()),
        "strip_least": float(strip.min()),
        "strip_most": float(strip.max()),
        "over_flanges": 2 * fold.gauge,
        "over_fold_least": 2 * (float(fold.height.min()) + fold.gauge),
        "over_fold_most": 2 * (float(fold.height.max()) + fold.gauge),
    }


def _section(section: Section) -> dict[str, Any]:
    return {
        "x": section.x,
        "title": section.title,
        "gaps": {gap.words: gap.width for gap in section.gaps},
    }


def _blank(results: JobResults) -> dict[str, Any]:
    blank = results.layout.blank
    used = sum(float(pattern.polygon().area) for pattern in results.layout.patterns)
    return {
        "width": blank.width,
        "depth": blank.depth,
        "copies": results.layout.copies,
        "at_most": _at_most(results.layout),
        "share_used": used / (blank.width * blank.depth),
    }


def _at_most(layout: Layout) -> dict[str, Any] | None:
    most = layout.at_most
    if most is None:
        return None
    return {"copies": most.number, "known": most.said(layout.copies)}


def _mould(results: JobResults) -> dict[str, Any]:
    mould = results.mould
    return {
        "width": mould.width,
        "depth": mould.depth,
        "plate_thickness": mould.z_stock - mould.z_bottom,
        "below_flange_plane": -mould.z_bottom,
        "highest": float(mould.surface.z.max()),
        "shrink_scale": mould.scale,
        "vents": len(mould.vents),
        "vent_diameters": sorted({vent.diameter for vent in mould.vents}),
        "grooves": len(mould.grooves),
        "dowels": len(mould.dowels),
    }


def _fixture(results: JobResults) -> dict[str, Any]:
    fixture = results.fixture
    return {
        "width": fixture.width,
        "depth": fixture.depth,
        "plate_thickness": fixture.z_stock - fixture.z_bottom,
        "inserts": len(fixture.inserts),
        "screws_on_sheaths": len(fixture.screws),
        "pins": len(fixture.pins),
        "screw": fixture.screw.name,
        "board": fixture.board.name,
    }


def _hold(program: CheckedProgram) -> dict[str, Any] | None:
    grip = program.setup.grip
    if grip is None:
        return None
    return {"by": grip.words, "clamp_force": grip.clamp, "friction": grip.friction}


def _least(program: CheckedProgram) -> dict[str, float] | None:
    """Return the least time of a plate's surfaces, and the time they take."""
    bound = least_time(program.setup)
    if bound is None:
        return None
    spent = program.planned.surface_seconds
    return {
        "volume": bound.volume,
        "area": bound.area,
        "rough_seconds": bound.rough,
        "finish_seconds": bound.finish,
        "spent_seconds": spent,
        "times_least": spent / bound.seconds,
        "stops_seconds": bound.stops,
        "times_least_with_stops": spent / bound.with_stops,
    }


def _cutters(program: CheckedProgram) -> list[dict[str, Any]]:
    """Return how long each cutter of a program cuts."""
    names = {cutter.number: cutter.name for cutter in program.setup.cutters}
    return [
        {"number": number, "name": names.get(number, f"T{number}"), "seconds": seconds}
        for number, seconds in program.verdict.cutter_seconds
    ]


def _program(program: CheckedProgram) -> dict[str, Any]:
    verdict = program.verdict
    return {
        "title": program.setup.title,
        "offset": program.setup.offset,
        "machine": program.setup.machine.name,
        "proved": verdict.released,
        "files": dict(zip(program.file_names, verdict.hashes, strict=True)),
        "seconds": verdict.seconds,
        "seconds_at_full_speed": verdict.at_full_speed,
        "least": _least(program),
        "cutter_change_seconds": verdict.change_seconds,
        "cutters": _cutters(program),
        "material": None if program.setup.material is None else program.setup.material.name,
        "fixture": program.setup.fixture,
        "hold": _hold(program),
        "loads": [asdict(load) for load in verdict.loads],
        "rapid_saved": program.planned.rapid_saved,
        "gouge_most": verdict.gouge_most,
        "leftover_most": verdict.leftover_most,
        "lines": sum(text.count("\n") for text in program.texts),
        "leftover_shares": [
            {"up_to": None if bound == float("inf") else bound, "share": share}
            for bound, share in band_shares(verdict.leftover)
        ],
    }
