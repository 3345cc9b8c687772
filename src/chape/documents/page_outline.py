"""What the job sheet says of the outline, of the finished sheath's weight, and of its gauges."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.forming.weight import weight_of
from chape.sheath.margins import Binding, margins_of
from chape.sheath.model import Line
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.tooling.gauges import Gauges

#: Square mm in a square cm and in a square inch.
SQUARE = {LengthUnit.MM: (100.0, "cm²"), LengthUnit.INCH: (25.4**2, "in²")}

#: Grams in an avoirdupois ounce.
GRAMS_PER_OUNCE = 28.349523125


def outline_said(results: JobResults) -> str:
    """Return one line about the outline."""
    if results.sheath.choices.edging.line is Line.EVEN:
        return "A flange of even width: coloured by what binds it"
    return "As near to rivets and walls as a fair line goes: coloured by what binds it"


def outline_rows(results: JobResults) -> list[list[str]]:
    """Return what the finished sheath takes, weighs, and where its outline is bound."""
    sheath, unit = results.sheath, results.unit
    weights = [
        weight_of(piece, wall, sheath.sheet)
        for piece, wall in zip(sheath.pieces, results.forming.walls, strict=True)
    ]
    share, name = SQUARE[unit]
    mass, spread = sum(w.mass for w in weights), sum(w.spread for w in weights)
    rows = [
        ["Sheet it takes", f"{sum(w.flat for w in weights) / share:.1f} {name}", "seen flat"],
        ["Surface as formed", f"{sum(w.surface for w in weights) / share:.1f} {name}", "inside"],
        ["Sheet weighs", _mass(mass, spread, unit), "without rivets and clips"],
    ]
    for piece in sheath.pieces:
        margins = margins_of(sheath, piece)
        fair = margins.shares[Binding.FAIR]
        which = "Bound" if len(sheath.pieces) == 1 else f"Bound, {piece.name}"
        rows.append(
            [
                which,
                f"{1 - fair:.0%}",
                f"of its length; else up to {show_length(float(margins.beyond.max()), unit)} spare",
            ]
        )
    carry = sheath.choices.carry.value.replace("horizontal-spine", "horizontal, spine")
    drains = sum(hole.use.value == "drain" for piece in sheath.pieces for hole in piece.holes)
    rows.append(["Carried", carry, f"{drains} drain holes" if drains else "runs out by itself"])
    for mark in results.marks:
        said = mark.choice.text or mark.choice.figure or ""
        rows.append([f"Mark, {mark.choice.half} half", said, mark.choice.way.value])
    return rows


def gauge_rows(gauges: Gauges | None, unit: LengthUnit) -> list[list[str]]:
    """Return what each gauge measures, and what it must do."""
    if gauges is None:
        return []
    rows = []
    if gauges.mouth is not None:
        rows += [
            ["Mouth, one hole", show_length(gauges.mouth.go, unit), "must go in by hand"],
            ["Mouth, two holes", show_length(gauges.mouth.no_go, unit), "must not go in"],
        ]
    if gauges.fold is not None:
        for number, measure in enumerate(gauges.fold.measures, start=1):
            notches = "1 notch" if number == 1 else f"{number} notches"
            go, no_go = show_length(measure.go, unit), show_length(measure.no_go, unit)
            rows.append(
                [
                    f"{measure.name.capitalize()}, {notches}",
                    f"{go.split()[0]} and {no_go}",
                    "the notched slot must go on, the other not",
                ]
            )
    for guide in gauges.guides:
        rows.append([f"Drill guide, {guide.name}", f"{len(guide.holes)} holes", ""])
    return rows


def _mass(mass: float, spread: float, unit: LengthUnit) -> str:
    if unit is LengthUnit.INCH:
        ounces, give = mass / GRAMS_PER_OUNCE, spread / GRAMS_PER_OUNCE
        return f"{ounces:.2f} ± {give:.2f} oz"
    return f"{mass:.1f} ± {spread:.1f} g"
