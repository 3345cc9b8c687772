"""Figures of the finished sheath: what binds its outline, what it weighs, what it is tried with."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.forming.weight import weight_of
from chape.sheath.margins import margins_of
from chape.tooling.check_marks import shown

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.sheath.model import Piece
    from chape.tooling.gauges import Gauges


def outline_figures(results: JobResults) -> dict[str, Any]:
    """Return the figures of every piece's outline, and of the whole sheath's sheet."""
    pieces = {piece.name: _piece(results, n) for n, piece in enumerate(results.sheath.pieces)}
    return {
        "line": results.sheath.choices.edging.line.value,
        "pieces": pieces,
        "mass_of_sheet": sum(piece["mass"] for piece in pieces.values()),
        "mass_spread": sum(piece["mass_spread"] for piece in pieces.values()),
    }


def _piece(results: JobResults, n: int) -> dict[str, Any]:
    piece: Piece = results.sheath.pieces[n]
    margins = margins_of(results.sheath, piece)
    weight = weight_of(piece, results.forming.walls[n], results.sheath.sheet)
    return {
        "bound_by": {kind.value: share for kind, share in margins.shares.items()},
        "spare_most": float(margins.beyond.max()),
        "flat_area": weight.flat,
        "formed_area": weight.surface,
        "mass": weight.mass,
        "mass_spread": weight.spread,
        "slots": [
            {"u": slot.u, "v": slot.v, "length": slot.length, "width": slot.width}
            for slot in piece.slots
        ],
    }


def gauge_figures(gauges: Gauges | None) -> dict[str, Any] | None:
    """Return the measures of every gauge; None where none were made."""
    if gauges is None:
        return None
    mouth, fold = gauges.mouth, gauges.fold
    return {
        "mouth": None
        if mouth is None
        else {
            "x": mouth.x,
            "opening": mouth.opening,
            "knife": mouth.knife,
            "go": mouth.go,
            "no_go": mouth.no_go,
        },
        "fold": None
        if fold is None
        else {
            measure.name: {"nominal": measure.nominal, "go": measure.go, "no_go": measure.no_go}
            for measure in fold.measures
        },
        "drill_guides": {guide.name: len(guide.holes) for guide in gauges.guides},
    }


def mark_figures(results: JobResults) -> list[dict[str, Any]]:
    """Return what each mark is, and how much of it shows on the outside."""
    found = []
    for mark in results.marks:
        seen = shown(results.sheath, mark)
        found.append(
            {
                "said": mark.choice.text or mark.choice.figure,
                "half": mark.choice.half,
                "way": mark.choice.way.value,
                "depth": mark.choice.depth,
                "depth_shown": seen.depth,
                "stroke": seen.stroke,
            }
        )
    return found
