"""The fit page: how a sheath holds its knife, in newtons, kilograms and pictures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from chape.documents.cautions import Caution
from chape.documents.picture_fit import (
    clearance_chart,
    contact_map,
    force_chart,
    holds_chart,
    influence_picture,
    play_picture,
)
from chape.documents.to_pdf import pdf_of
from chape.fit.freedom import FURTHEST
from chape.fit.play import Way
from chape.fit.words import scale_reading
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from datetime import date

    from chape.fit.fit import Fit
    from chape.sheath.model import Sheath

#: What the model leaves out, for the page and for the documentation.
LEFT_OUT = (
    (
        "The shell is linear: it takes the sheet as giving way by a fraction of its gauge. Where a "
        "half opens by much more than half a millimetre, it is some per cent stiffer than computed."
    ),
    (
        "The wall is taken as thin as the drape leaves it. How stiff the hot sheet was decides "
        "that, and no figure of it is published."
    ),
    (
        "Creep is left out: a knife that spreads its sheath for months, or in the heat, loses "
        "hold. So are wear, dirt, oil, and the moisture that swells a wooden handle."
    ),
    "Free play takes knife and sheath as rigid, and the knife as frictionless.",
    (
        "Friction moves the hold more than anything computed here. Pull one made sheath with a "
        "spring scale, run chape fit with --measured, and the next one is nearer."
    ),
)


@dataclass(frozen=True, slots=True, eq=False)
class FitPage:
    """What a fit page is made from.

    Attributes:
        name: of the job.
        unit: lengths are shown in it.
        paper: "a4" or "letter".
        date: printed where given.
    """

    name: str
    sheath: Sheath
    fit: Fit
    unit: LengthUnit = LengthUnit.MM
    paper: str = "a4"
    date: date | None = None


def fit_drawings(page: FitPage) -> dict[str, bytes]:
    """Return name -> SVG of every picture of the fit."""
    sheath, fit, unit = page.sheath, page.fit, page.unit
    drawings = {
        "force": force_chart(fit, unit).svg(),
        "contact": contact_map(sheath, fit).svg(),
        "clearance": clearance_chart(fit, unit).svg(),
        "play": play_picture(sheath, fit, unit).svg(),
    }
    if fit.share is not None:
        drawings["holds"] = holds_chart(fit).svg()
        drawings["influence"] = influence_picture(fit).svg()
    return drawings


def fit_pdf(page: FitPage, drawings: dict[str, bytes]) -> bytes:
    """Return the fit page as PDF, with its drawings (``fit_drawings``)."""
    attached = {f"{name}.svg": drawing for name, drawing in drawings.items()}
    return pdf_of("fit.typ", _page(page), attached, page.date)


def _page(page: FitPage) -> dict[str, Any]:
    fit, unit = page.fit, page.unit
    day = "" if page.date is None else f"{page.date.isoformat()}  ·  "
    return {
        "paper": page.paper,
        "foot": f"{day}{page.name}: fit",
        "said": _said(fit, unit),
        "key": [
            {"value": force_words(fit.hold), "label": "hold, to draw the knife"},
            {"value": kilograms(fit.hold), "label": "the same on a kitchen scale"},
            {"value": show_length(fit.snap_depth, unit), "label": "snap depth"},
            {
                "value": "not counted" if fit.share is None else f"{100 * fit.share.passing:.0f} %",
                "label": "of knives pass",
            },
        ],
        "hold": _hold(fit, unit),
        "shake": _shake(fit),
        "cautions": [
            (
                "Figures are no test. Before it is worn, try every made sheath by hand over "
                "something soft, the edge covered: draw it, push it home, turn it over, shake it."
            ),
            str(Caution.EDGE),
            str(Caution.LAW),
        ],
        "touch-said": "The front half from outside, the knife home; it leaves to the right.",
        "edge": _edge(fit, unit),
        "play": _motions(fit, unit),
        "turns": _turns(fit),
        "counted": fit.share is not None,
        "share-said": _share_words(fit),
        "band-head": ["", "from, to", "hold"],
        "bands": [
            [
                band.name,
                f"{_plain(band.ends[0])} to {_plain(band.ends[1])} {band.unit}".strip(),
                f"{force_words(band.holds[0])} to {force_words(band.holds[1])}",
            ]
            for band in fit.bands
        ],
        "left-out": list(LEFT_OUT),
    }


def force_words(force: float) -> str:
    """Write a force: "30.1 N", or that the knife locks."""
    return f"{force:.1f} N" if np.isfinite(force) else "locks"


def kilograms(force: float) -> str:
    """Write what a kitchen scale shows: "3.07 kg"."""
    return f"{scale_reading(force):.2f} kg" if np.isfinite(force) else "locks"


def _said(fit: Fit, unit: LengthUnit) -> str:
    depth = show_length(fit.snap_depth, unit)
    if fit.solved is None:
        return f"With the snap depth of the file, {depth}: what the knife is held by."
    return (
        f"{fit.solved.wanted:g} N were asked for. A snap depth of {depth} was found for it, of the "
        f"{show_length(fit.solved.undercut, unit)} this knife is undercut by, and holds with "
        f"{force_words(fit.hold)}."
    )


def _hold(fit: Fit, unit: LengthUnit) -> list[list[str]]:
    asked = "none" if fit.choices.hold is None else f"{fit.choices.hold:g} N"
    return [
        ["Asked for", asked],
        ["To draw it", force_words(fit.hold), f"friction {fit.choices.friction:g}"],
        ["To push it home", force_words(fit.curve.push_peak)],
        ["Work of a draw", f"{fit.curve.work / 1000:.2f} J" if np.isfinite(fit.hold) else "locks"],
        [
            "Over friction and temperature",
            f"{force_words(fit.hold_least)} to {force_words(fit.hold_most)}",
            f"{fit.choices.cold:g} to {fit.choices.hot:g} °C",
        ],
        ["Each half gives way by", show_length(float(fit.curve.opening.max()), unit)],
        [
            "Strain of the sheet",
            f"{100 * fit.strain:.2f} %",
            f"limit {100 * fit.strain_limit:.1f} % in use",
        ],
    ]


def _shake(fit: Fit) -> list[list[str]]:
    weight = fit.weight
    how = "weighed" if weight.weighed else f"± {1000 * weight.spread:.0f} g, from its volume"
    held = fit.hold_least >= weight.needed
    return [
        ["Knife", f"{1000 * weight.mass:.0f} g", how],
        ["Shaken with", f"{fit.choices.shake:g} times the earth's pull", "on top of its weight"],
        ["The knife pulls with", f"{weight.pull:.1f} N"],
        [
            "Hold that asks for",
            f"{weight.needed:.1f} N",
            f"with a safety factor of {fit.choices.safety:g}",
        ],
        ["Least hold", force_words(fit.hold_least), "little friction, the softest day"],
        ["Stays in", "yes" if held else "no"],
    ]


def _edge(fit: Fit, unit: LengthUnit) -> list[list[str]]:
    seen = fit.clearance
    x = seen.places[seen.worst, 0]
    pads = "nothing touches" if seen.pads is None else show_length(seen.pads, unit)
    return [
        ["Nearest, closed", show_length(float(seen.closed.min()), unit)],
        ["Nearest, halves spread", show_length(float(seen.spread.min()), unit)],
        ["Least allowed", show_length(fit.choices.edge_margin, unit)],
        ["Where, from the tip", show_length(float(x), unit)],
        ["Drawn by", show_length(float(seen.travel[seen.worst]), unit)],
        ["Handle lifts a half by", show_length(float(seen.lifted.max()), unit)],
        ["Touches behind the edge by", pads, "at home, pads and all else"],
    ]


def _motions(fit: Fit, unit: LengthUnit) -> list[list[str]]:
    motions = fit.play.motions
    rows = [
        ["Tip, across the flats", show_length(fit.play.rattle, unit), "to and fro"],
        ["Tip, spine side to edge side", show_length(fit.play.wag, unit), "to and fro"],
    ]
    for way in (Way.IN, Way.OUT):
        amount = show_length(min(motions[way].amount, FURTHEST), unit)
        rows.append([way.capitalize(), ("over " if motions[way].free else "") + amount])
    return rows


def _turns(fit: Fit) -> list[list[str]]:
    motions = fit.play.motions
    return [
        [way.capitalize(), f"{motions[way].amount:.2f}°", "to and fro"]
        for way in (Way.ROCK, Way.SWAY, Way.TWIST)
    ]


def _share_words(fit: Fit) -> str:
    share = fit.share
    if share is None:
        return "No hold to speak of a band around, so that no knives were counted."
    return (
        f"{len(share.holds)} knives, sheets and days were drawn at random (seed "
        f"{fit.choices.seed}). {100 * share.passing:.0f} % hold with {share.least:.1f} to "
        f"{share.most:.1f} N; with so many drawn, it is {100 * share.low:.0f} to "
        f"{100 * share.high:.0f} %."
    )


def _plain(value: float) -> str:
    return f"{value:.3g}"
