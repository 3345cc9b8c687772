"""What is seen about forming a blank. Nothing here holds programs back: a sheet can be saved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.findings import Finding, Severity
from chape.forming.vents import UNSEEN

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.forming.model import FoldHeating, Forming, Place
    from chape.solve.spread import Estimate

#: A wall thinner than this share of its gauge is weak (common practice, no source).
THIN = 0.6

#: A bridge of this height leaves a foot that is not crisp, mm (common practice, no source).
OPEN_FOOT = 1.0

#: A run slows down noticeably when its last sheet cools this many times as long as its first.
SLOWER = 1.5

#: Scales closer than this are the same, as a share: 0.3 mm in 300.
SAME_SCALE = 0.001


def check_forming(forming: Forming) -> tuple[Finding, ...]:
    """Return everything that is seen about forming a blank."""
    return (
        *_heating(forming),
        *([] if forming.fold is None else _folding(forming, forming.fold)),
        *_cooling(forming),
        *_vacuum(forming),
        *_drape(forming),
    )


def _heating(forming: Forming) -> Iterator[Finding]:
    heating = forming.heating
    if heating.ready is None:
        yield Finding(
            "heater-too-cold",
            Severity.WARNING,
            f"forming, {forming.heater.name}",
            "The sheet never gets warm enough to form",
            "Set the heater higher, within the sheet maker's limit.",
            heating.face,
            heating.wanted,
            "°C",
        )
    elif _narrow(heating.ready, heating.limit):
        yield Finding(
            "heating-window-narrow",
            Severity.WARNING,
            f"forming, {forming.heater.name}",
            "The face may pass the sheet's limit before the middle is ready",
            "Set the heater lower and heat longer, or heat both faces.",
            heating.ready.high,
            heating.limit.value if heating.limit else None,
            "s",
        )


def _folding(forming: Forming, fold: FoldHeating) -> Iterator[Finding]:
    if fold.ready is None:
        yield Finding(
            "heater-too-cold",
            Severity.WARNING,
            f"fold, {forming.strip.name}",
            "The far face of the strip never gets warm enough to fold",
            "Turn the sheet half way, or give the strip heater more power.",
            None,
            forming.sheet.folding_temperature.value,
            "°C",
        )
    elif _narrow(fold.ready, fold.limit):
        yield Finding(
            "fold-window-narrow",
            Severity.WARNING,
            f"fold, {forming.strip.name}",
            "The near face may pass the sheet's limit, and show a line, before the strip folds",
            "Hold the sheet further from the heater and heat longer, or turn it half way; try a "
            "strip first.",
            fold.ready.high,
            fold.limit.value if fold.limit else None,
            "s",
        )
    if fold.heater_band < fold.band:
        yield Finding(
            "heated-band-narrow",
            Severity.WARNING,
            f"fold, {forming.strip.name}",
            "The heated band is narrower than the fold's bent part needs",
            "Move the sheet across the heater while it warms, or use a wider one.",
            fold.heater_band,
            fold.band,
        )


def _narrow(ready: Estimate, limit: Estimate | None) -> bool:
    """Say whether the limit may come before the sheet is surely ready."""
    return limit is not None and ready.high > limit.value


def _cooling(forming: Forming) -> Iterator[Finding]:
    cooling = forming.cooling
    shots = forming.choices.shots
    if cooling.last is None or cooling.first is None:
        yield Finding(
            "mould-too-warm",
            Severity.WARNING,
            f"cooling, shot {len(cooling.mould) + 1}",
            "The mould gets so warm that the sheet never stiffens on it",
            "Blow air over sheet and mould, or rest the mould between shots.",
            float(cooling.mould[-1]) if len(cooling.mould) else None,
            cooling.stiff,
            "°C",
        )
    elif cooling.last > SLOWER * cooling.first.value:
        yield Finding(
            "cooling-slows",
            Severity.NOTE,
            f"cooling, shot {shots}",
            "The mould warms over the run, and its last sheet cools much longer than the first",
            "Blow air over the mould while it is bare, or work with two moulds in turn.",
            cooling.last,
            cooling.first.value,
            "s",
        )
    thermal = forming.mould_material.thermal
    if thermal is not None and cooling.mould_face > thermal.softening.value:
        yield Finding(
            "mould-face-hot",
            Severity.NOTE,
            f"cooling, {forming.mould_material.name}",
            "The mould's face gets hotter than its material bears for long",
            "Watch sharp corners for wear; cool the mould between shots, or cut it from a harder "
            "material.",
            cooling.mould_face,
            thermal.softening.value,
            "°C",
        )
    if abs(cooling.scale - forming.mould_scale) > SAME_SCALE:
        yield Finding(
            "mould-scale-off",
            Severity.NOTE,
            "mould",
            "For this run the mould would rather be scaled by another factor",
            "Measure a formed part of a warm mould, and write [mould] shrink.",
            100 * (forming.mould_scale - 1),
            100 * (cooling.scale - 1),
            "%",
        )


def _vacuum(forming: Forming) -> Iterator[Finding]:
    vacuum = forming.vacuum
    if vacuum.seconds is None:
        yield Finding(
            "vacuum-low",
            Severity.WARNING,
            f"vacuum, {forming.choices.table}",
            "The pump does not reach the wanted difference against its leaks at this altitude",
            "Mend the seal, or use a larger pump.",
            vacuum.reached,
            vacuum.wanted,
            "kPa",
        )
    if forming.dip > UNSEEN:
        yield Finding(
            "vents-print",
            Severity.WARNING,
            "vents",
            "The sheet dips into its vents deep enough to be seen",
            "Drill smaller vents, or form less hot.",
            forming.dip,
            UNSEEN,
        )


def _drape(forming: Forming) -> Iterator[Finding]:
    drape = forming.drape
    if drape.thinnest < THIN:
        yield Finding(
            "wall-thin",
            Severity.WARNING,
            "drape",
            "Some of the wall keeps little of its gauge",
            "Give more draft, larger fillets or more room between shapes, or use thicker sheet.",
            100 * drape.thinnest,
            100 * THIN,
            "%",
        )
    if drape.webs:
        worst = min(drape.webs, key=lambda web: web.worst)
        yield Finding(
            "sheet-webs",
            Severity.NOTE,
            f"drape, {_at(worst)}",
            f"The sheet is pushed together at {len(drape.webs)} places and may fold there",
            "Keep corners of shapes and of the frame further apart; press a fold flat while hot.",
            100 * worst.worst,
            100.0,
            "%",
        )
    open_feet = [place for place in drape.bridges if place.worst > OPEN_FOOT]
    if open_feet:
        worst = max(open_feet, key=lambda place: place.worst)
        yield Finding(
            "sheet-bridges",
            Severity.WARNING,
            f"drape, {_at(worst)}",
            f"The sheet stays above the mould's feet at {len(open_feet)} places",
            "Form hotter within the sheet's limit, or press the foot down by a gloved hand with a "
            "block; the hot modulus in the catalogue decides this, so compare with a formed part.",
            worst.worst,
            OPEN_FOOT,
        )
    if forming.closest is not None and (
        forming.narrowest is None or forming.closest < forming.narrowest
    ):
        yield Finding(
            "shapes-close",
            Severity.WARNING,
            "blank",
            "Two shapes stand so close that the sheet bridges between them",
            "Give [blank] gap more, or put fewer copies on the blank.",
            forming.closest,
            forming.narrowest,
        )


def _at(place: Place) -> str:
    return f"x = {place.x:.0f}, y = {place.y:.0f} mm on the blank"
