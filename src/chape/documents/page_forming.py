"""The settings page: what to set, how long, how it shows that it is right, and how sure that is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.catalog.model import HeaterKind
from chape.documents.cautions import Caution, fume_caution
from chape.documents.picture_forming import (
    cooling_chart,
    fold_chart,
    heating_chart,
    thickness_map,
)
from chape.documents.to_pdf import pdf_of
from chape.forming.fumes import CEILING, hydrogen_chloride
from chape.forming.model import Air
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.forming.model import FoldHeating, Forming
    from chape.solve.spread import Estimate


def settings_pdf(results: JobResults) -> bytes:
    """Return the settings page as PDF."""
    forming, unit = results.forming, results.unit
    patterns = results.layout.patterns
    pictures = {
        "heating.svg": heating_chart(forming).svg(),
        "cooling.svg": cooling_chart(forming).svg(),
        "wall.svg": thickness_map(
            forming.drape, forming.sheet.gauge.value, patterns, unit, 150.0
        ).svg(),
    }
    if forming.fold is not None:
        pictures["fold.svg"] = fold_chart(forming, forming.fold).svg()
    return pdf_of("settings.typ", _page(results), pictures, results.date)


def _page(results: JobResults) -> dict[str, Any]:
    forming, unit = results.forming, results.unit
    return {
        "paper": results.paper,
        "name": results.name,
        "foot": f"{results.name}: forming settings",
        "title": "Heat, draw down, cool" if forming.fold is None else "Heat, draw down, cool, fold",
        "said": f"{forming.sheet.title}, {forming.copies} on a blank. Times are what the physics "
        "expects; the range beside each is how far the figures it stands on may be off. Record "
        "your trials with chape trial, and the next page knows better.",
        "key": [
            {
                "value": seconds_words(forming.heating.ready),
                "label": "in the " + forming.heater.name,
            },
            *(
                []
                if forming.fold is None
                else [{"value": seconds_words(forming.fold.ready), "label": "on the strip heater"}]
            ),
            {"value": seconds_words(forming.cooling.first), "label": "on the mould, first sheet"},
            {
                "value": f"{forming.copies * forming.cycle.per_hour:.0f} / h",
                "label": "sheaths formed",
            },
        ],
        "heating": _heating(forming),
        "fold": [] if forming.fold is None else _fold(forming, forming.fold, unit),
        "cooling": _cooling(forming),
        "vacuum": _vacuum(forming, unit),
        "wall": _wall(forming, unit),
        "cycle": [
            [step, f"{seconds:.0f} s", "hands" if hands else "alone"]
            for step, seconds, hands in forming.cycle.steps
        ],
        "cycle-said": f"One blank by itself takes {forming.cycle.alone:.0f} s. With one at the "
        f"heater and one on the table, one follows another every {forming.cycle.period:.0f} s: it "
        f"waits for {forming.cycle.held_by}.",
        "by-hand": [AT_HEATER, ON_MOULD, *([] if forming.fold is None else [AT_FOLD]), COLD],
        "cautions": [
            str(Caution.HOT),
            f"{fume_caution(forming.sheet)} {_fume_words()}",
            str(Caution.AIR),
            str(Caution.LAW),
        ],
    }


#: A workshop small enough to worry about, m³.
SMALL_ROOM = 30.0


def _fume_words() -> str:
    return (
        f"One gram of it decomposed puts {hydrogen_chloride(1.0, SMALL_ROOM):.0f} ppm into a "
        f"closed room of {SMALL_ROOM:.0f} m³, and {CEILING:.0f} ppm is the ceiling."
    )


#: How hands and eyes tell that a step is right (common practice, no source).
AT_HEATER = (
    "Out of the heater the sheet hangs like leather and shows no cold, stiff patch; a corner "
    "lifted with a gloved finger falls back slowly."
)
ON_MOULD = (
    "On the mould every edge comes up within a second or two of the vacuum. A foot that stays "
    "round wants hotter sheet or a block pressed into it."
)
AT_FOLD = (
    "At the fold the strip bends by its own weight over the bar. If it pushes back, it is too "
    "cold; if it shines or shows a line, it was too hot."
)
COLD = "Cold enough to lift: it rings when tapped, and a thumb leaves no mark."


def seconds_words(found: Estimate | None) -> str:
    """Write a time with its range: "113 s", or "never" where there is none."""
    return "never" if found is None else f"{found.value:.0f} s"


def _taught(forming: Forming, place: str) -> list[list[str]]:
    advice = forming.taught.get(place)
    if advice is None:
        return []
    count = "1 trial" if advice.trials == 1 else f"{advice.trials} trials"
    return [
        [
            f"After {count}",
            f"{advice.seconds:.0f} s",
            (
                f"good with a chance of {advice.good:.0%}; ready between "
                f"{advice.ready_low:.0f} and {advice.ready_high:.0f} s; "
                f"try {advice.telling:.0f} s to learn most"
            ),
        ]
    ]


def range_words(found: Estimate | None) -> str:
    """Write the range a time is expected in, and what makes it wide."""
    if found is None:
        return ""
    words = f"{found.low:.0f} to {found.high:.0f} s"
    return f"{words}; most of it from the {found.shares[0][0]}" if found.shares else words


def _heating(forming: Forming) -> list[list[str]]:
    heating, heater = forming.heating, forming.heater
    rows = [
        ["Heater", heater.title],
        ["Ready", seconds_words(heating.ready), range_words(heating.ready)],
        [
            "Spoiled",
            "not by this setting" if heating.limit is None else seconds_words(heating.limit),
            range_words(heating.limit),
        ],
        ["Face when ready", f"{heating.face:.0f} °C", f"limit {heating.highest:.0f} °C"],
        ["Lost on the way to the table", f"{heating.dropped:.0f} K"],
    ]
    if heating.setting is not None:
        rows.insert(1, ["Set to", f"{heating.setting:.0f} °C"])
    rows += _taught(forming, "blank")
    pace = forming.practice["press"]
    if pace is not None and heater.kind is HeaterKind.PLATEN:
        rows.append(
            [
                "The trade's two minutes",
                f"would be {pace:.0f} W/(m² K)",
                (
                    f"at each contact; here {heater.conductance.value:g} ± "
                    f"{heater.conductance.spread:g}"
                ),
            ]
        )
    return rows


def _fold(forming: Forming, fold: FoldHeating, unit: LengthUnit) -> list[list[str]]:
    rows = [
        ["Heater", forming.strip.title],
        ["Ready", seconds_words(fold.ready), range_words(fold.ready)],
        [
            "A line forms",
            "not within half an hour" if fold.limit is None else seconds_words(fold.limit),
            range_words(fold.limit),
        ],
        ["Bent part, laid flat", show_length(fold.flat_length, unit)],
        ["Heated band", show_length(fold.band, unit), "bent part and what its ends lose"],
        *_taught(forming, "fold"),
    ]
    pace = forming.practice["strip"]
    if pace is not None:
        rows.append(
            [
                "The trade's 45 s",
                f"would be {pace:.0f} kW/m²",
                f"absorbed; here {forming.strip.flux.value:g} ± {forming.strip.flux.spread:g}",
            ]
        )
    return rows


def _cooling(forming: Forming) -> list[list[str]]:
    cooling, shots = forming.cooling, forming.choices.shots
    air = "still air" if forming.choices.air is Air.STILL else "compressed air"
    last = "never" if cooling.last is None else f"{cooling.last:.0f} s"
    return [
        ["Mould", forming.mould_material.title, air],
        ["First sheet", seconds_words(cooling.first), range_words(cooling.first)],
        [f"Sheet {shots} of a run", last, "the mould has warmed by then"],
        ["Lift below", f"{cooling.stiff:.0f} °C", "middle of the sheet"],
        ["Mould's face at most", f"{cooling.mould_face:.0f} °C"],
        [
            "Mould scale for this run",
            f"{100 * (cooling.scale - 1):+.2f} %",
            (
                f"cut with {100 * (forming.mould_scale - 1):+.2f} %; a warm mould is larger by "
                f"{100 * cooling.growth:.2f} %"
            ),
        ],
    ]


def _vacuum(forming: Forming, unit: LengthUnit) -> list[list[str]]:
    vacuum = forming.vacuum
    return [
        [
            "Difference wanted",
            f"{vacuum.wanted:.0f} kPa",
            f"of {vacuum.outside:.1f} kPa outside; the pump holds {vacuum.reached:.0f}",
        ],
        ["Drawn down in", seconds_words(vacuum.seconds), range_words(vacuum.seconds)],
        ["Air under the sheet", f"{vacuum.trapped:.2f} l", f"leaves in {forming.venting:.2f} s"],
        [
            "Vents",
            f"{forming.vents} of {show_length(forming.vent, unit)}",
            f"the sheet dips {show_length(forming.dip, LengthUnit.MM)} into one",
        ],
        ["Load on mould and frame", f"{vacuum.load:.0f} N"],
    ]


def _wall(forming: Forming, unit: LengthUnit) -> list[list[str]]:
    drape, gauge = forming.drape, forming.sheet.gauge.value
    closest = "one shape" if forming.closest is None else show_length(forming.closest, unit)
    narrowest = (
        "none found"
        if forming.narrowest is None
        else f"the sheet gets down from {show_length(forming.narrowest, unit)}"
    )
    return [
        [
            "Thinnest wall",
            show_length(gauge * drape.thinnest, unit),
            (
                "99 % of the formed sheet is thicker; a single place "
                f"{show_length(gauge * drape.least, unit)}"
            ),
        ],
        ["Drawn area", f"{drape.draw_ratio:.2f} times", "formed over flat"],
        ["Places that may fold", str(len(drape.webs))],
        [
            "Places not down",
            str(len(drape.bridges)),
            f"at most {show_length(max((p.worst for p in drape.bridges), default=0.0), unit)} high",
        ],
        ["Closest feet of two shapes", closest, narrowest],
        [
            "Preview on coarse nodes",
            f"{100 * forming.preview_difference:.1f} %",
            "rms difference from the full drape",
        ],
    ]
