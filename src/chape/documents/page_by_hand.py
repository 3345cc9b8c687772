"""The pages for making a sheath without a mill: what to get, what to do, how to press and check."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Any

from chape.documents.cautions import Caution, fume_caution
from chape.documents.page_forming import range_words, seconds_words
from chape.documents.page_outline import gauge_rows
from chape.documents.page_setup import size_words
from chape.documents.page_template import shortened
from chape.documents.picture_plan import knife_in_sheath
from chape.documents.picture_press import press_drawing
from chape.documents.to_pdf import pdf_of
from chape.sheath.halves import highest_wall
from chape.units import show_length

if TYPE_CHECKING:
    from datetime import date

    from chape.catalog.model import Heater
    from chape.findings import Finding
    from chape.forming.model import FoldHeating, Heating
    from chape.sheath.model import Sheath
    from chape.tooling.gauges import Gauges
    from chape.tooling.model import Dummy
    from chape.tooling.press import Press
    from chape.tooling.profile_boards import Former
    from chape.units import LengthUnit

#: Pressed between foam and wood the sheet cools slowly, min. Common practice, no source.
COOL_MINUTES = 8


@dataclass(frozen=True, slots=True, eq=False)
class ByHand:
    """Everything the papers of a sheath made by hand are made from.

    Attributes:
        name: of the sheath.
        fold_heating: None for a sheath that is not folded.
        unit: lengths are shown in it.
        date: printed where given.
        paper: "a4" or "letter"; templates come on both.
    """

    name: str
    sheath: Sheath
    dummy: Dummy
    formers: tuple[Former, ...]
    gauges: Gauges
    press: Press
    heater: Heater
    heating: Heating
    fold_heating: FoldHeating | None
    findings: tuple[Finding, ...]
    unit: LengthUnit
    date: date | None
    paper: str


def by_hand_pdf(work: ByHand) -> bytes:
    """Return the pages as PDF."""
    sheath, unit = work.sheath, work.unit
    piece = max(sheath.pieces, key=lambda one: float(one.formed.z.max()))
    u = (sheath.knife.blade_length + sheath.mouth_x) / 2
    gauge = float(sheath.sheet.gauge.value)
    home = knife_in_sheath(sheath, unit)
    picture = press_drawing(piece, u, gauge, work.press.foam, unit)
    return pdf_of(
        "by-hand.typ", _page(work), {"press.svg": picture.svg(), "home.svg": home.svg()}, work.date
    )


def _page(work: ByHand) -> dict[str, Any]:
    sheath, unit = work.sheath, work.unit
    sheet = sheath.sheet
    day = "" if work.date is None else f", {work.date.isoformat()}"
    return {
        "paper": work.paper,
        "name": shortened(work.name, 60),
        "foot": f"{shortened(work.name, 70)}: made by hand{day}",
        "said": f"A {sheath.choices.style} sheath for the {sheath.choices.hand} hand, made "
        "without a mill: over a former built up from boards, pressed with foam.",
        "key": [
            {"value": show_length(sheet.gauge.value, unit), "label": "sheet"},
            {"value": size_words(work.press.sheet, unit), "label": "sheet to cut"},
            {
                "value": f"{sheet.forming_temperature.value:g} {sheet.forming_temperature.unit}",
                "label": "forming temperature",
            },
            {"value": f"{work.press.clamps}", "label": "clamps on the press"},
        ],
        "steps": _steps(work),
        "cautions": [
            str(Caution.HOT),
            fume_caution(sheet),
            str(Caution.EDGE),
            ("Sawing and sanding boards and sheet makes dust that harms lungs. Wear a dust mask "
            "and eye protection, and take the dust away where it is made."),
            ("A drill grabs thin sheet and spins it. Clamp guide, sheet and scrap board together; "
            "never hold the sheet by hand, and wear no gloves at a turning drill."),
            str(Caution.LAW),
        ],
        "needs": _needs(work),
        "press-said": "Former on the base board, hot sheet over it, foam and a stiff board above. "
        "Closed until the foam stops giving.",
        "press": _press(work),
        "heat": _heat(work),
        "check-said": "What a maker without a measuring machine can hold against the sheath.",
        "checks": _checks(work),
        "gauges": gauge_rows(work.gauges, work.unit),
        "findings": [
            [f"{finding.severity.value}: {finding.place}", finding.code,
             f"{finding.message} {finding.mend}"]
            for finding in work.findings
        ],
    }  # fmt: skip


def _steps(work: ByHand) -> list[list[str]]:
    sheath, unit = work.sheath, work.unit
    folded = sheath.fold is not None
    layers = max(len(former.layers) for former in work.formers)
    board = show_length(work.formers[0].board, unit)
    steps = [
        ["Print", "the templates and the boards at 100 %, and measure the bar on every sheet."],
        [
            "Build the former.",
            (
                f"Saw up to {layers} layers from board of {board}, glue them on their "
                "dowels, and sand until the steps are gone and the glue lines just show. "
                f"Fill the foot to a radius of {show_length(sheath.choices.fillet, unit)} and hold "
                "the profile boards across it. Or print the mesh of the former."
            ),
        ],
        [
            "Cut the sheet",
            f"to {size_words(work.press.sheet, unit)} and mark its outside.",
        ],
        [
            "Heat it",
            (
                f"right through to {sheath.sheet.forming_temperature.value:g} °C: "
                f"{seconds_words(work.heating.ready)} in the {work.heater.name}."
            ),
        ],
        [
            "Press it.",
            (
                "Lay the sheet over the former within ten seconds, foam and board on top, and "
                "close the clamps crosswise. Leave it until it is cold."
            ),
        ],
        [
            "Drill.",
            (
                "Drop the drill guide over the walls, clamp it, drill the pilot holes and open "
                "them to size. Drains have no guide: prick them through the template."
            ),
        ],
        [
            "Trim.",
            (
                "Scribe along the guide or the template, saw beside the line, file to it, and "
                "break the edges."
            ),
        ],
    ]
    if folded:
        steps.append(
            [
                "Fold.",
                (
                    "Heat the strip from its inside, fold it over the dummy, clamp the flanges "
                    "until cold, and try the fold gauge."
                ),
            ]
        )
    else:
        steps.append(["Join.", "Lay both halves over the dummy and clamp them hole on hole."])
    steps.append(
        [
            "Rivet and try.",
            (
                "Set the eyelets, try the mouth gauge, then the dummy, then the knife with its "
                "edge taped."
            ),
        ]
    )
    return steps


def _needs(work: ByHand) -> list[list[str]]:
    sheath, unit = work.sheath, work.unit
    counts = sum(len(former.layers) for former in work.formers)
    board = work.formers[0].board
    size = size_words(work.press.board, unit)
    eyelets = (
        sum(hole.use.value == "eyelet" for piece in sheath.pieces for hole in piece.holes) // 2
    )
    return [
        ["Sheet", sheath.sheet.title, size_words(work.press.sheet, unit)],
        ["Board for the former", f"{counts} layers of {show_length(board, unit)}",
         "plywood or medium-density board"],
        ["Boards of the press", f"2 of {size}", "stiff: 18 mm or more"],
        ["Foam", f"{size}, {show_length(work.press.foam, unit)}",
         "closed-cell, heat-proof; soft enough to press in by half with one hand"],
        ["Clamps", str(work.press.clamps)],
        ["Eyelets", f"{eyelets}, {sheath.eyelet.title}"],
        ["Dummy of the knife", "from its mesh", "or the knife itself, its edge taped"],
    ]  # fmt: skip


def _press(work: ByHand) -> list[list[str]]:
    press, unit = work.press, work.unit
    return [
        ["Former", show_length(highest_wall(work.sheath), unit), "high"],
        ["Foam", show_length(press.foam, unit), "pressed to about half"],
        ["Pressure", f"{press.pressure:g} kPa", "common practice, no source"],
        ["All clamps together", f"{ceil(press.force / 100) / 10:g} kN"],
        ["Each clamp", f"{press.force / press.clamps:.0f} N", f"{press.clamps} of them"],
    ]


def _heat(work: ByHand) -> list[list[str]]:
    heating = work.heating
    rows = [["Heater", work.heater.title]]
    if heating.setting is not None:
        rows.append(["Set to", f"{heating.setting:.0f} °C"])
    spoiled = "not by this setting" if heating.limit is None else seconds_words(heating.limit)
    rows += [
        ["Ready", seconds_words(heating.ready), range_words(heating.ready)],
        ["Spoiled", spoiled],
        ["Cold", f"after {COOL_MINUTES} min or more",
         "when a thumb leaves no mark; common practice, no source"],
    ]  # fmt: skip
    if work.fold_heating is not None:
        fold = work.fold_heating
        rows += [
            ["Fold strip ready", seconds_words(fold.ready), range_words(fold.ready)],
            ["Heated band", show_length(fold.band, work.unit)],
        ]
    return rows


def _checks(work: ByHand) -> list[list[str]]:
    unit, sheath = work.unit, work.sheath
    mouth, fold = work.gauges.mouth, work.gauges.fold
    rows = [
        [measure.name.capitalize(), show_length(measure.nominal, unit), "over the outside"]
        for measure in (fold.measures if fold is not None else ())
    ]
    if mouth is not None:
        rows.append(["Inside the mouth", show_length(mouth.opening, unit), "thickness"])
    rows += [
        ["Highest wall", show_length(highest_wall(sheath), unit), "inside, above the flange"],
        [
            "Sheet outside a rivet's flange",
            show_length(sheath.choices.edging.margin, unit),
            "at least",
        ],
    ]
    return rows
