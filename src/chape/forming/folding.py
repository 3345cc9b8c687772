"""Heating the strip the sheath folds about, from one face.

The strip folds without resistance once its far face is warm enough; a line forms in the fold once
its near face passes the sheet's limit. The heated band must hold the fold's flat length at full
heat: at the ends of a band of half-width b, heat spreads along the sheet as
T/T0 = (erf((b − x)/2√(αt)) + erf((b + x)/2√(αt)))/2, which falls to nine tenths of its middle
at x = b − 2√(αt) erf⁻¹(0.8) (Carslaw & Jaeger, Conduction of Heat in Solids, section 2.3).
"""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import erfinv

from chape.catalog.model import HeaterKind
from chape.errors import InputError
from chape.forming.heating import (
    LONGEST,
    heater_figures,
    needed,
    run_heater,
    sheet_figures,
)
from chape.forming.model import Curve, FoldHeating
from chape.solve.conduction import first_time
from chape.solve.spread import estimate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.catalog.model import Heater, SheetStock
    from chape.forming.model import FormingChoices
    from chape.sheath.model import Fold


def heat_fold(
    sheet: SheetStock, heater: Heater, fold: Fold, choices: FormingChoices
) -> FoldHeating:
    """Return when the fold's strip is ready, when it is spoiled, and how wide to heat it.

    Raises:
        InputError: the heater is no strip heater.
    """
    if heater.kind is not HeaterKind.STRIP:
        raise InputError(
            f'"{heater.name}" is no strip heater',
            mend='Name a heater of kind "strip"',
            field="forming.strip",
        )
    wanted, _ = needed(sheet, heater)
    inputs = sheet_figures(sheet) | heater_figures(heater, None)

    def ready(figures: Mapping[str, float]) -> float | None:
        run = run_heater(heater, figures, choices.room)
        return first_time(run.warming.back_face, wanted, LONGEST)

    def limit(figures: Mapping[str, float]) -> float | None:
        run = run_heater(heater, figures, choices.room)
        return first_time(run.warming.front_face, sheet.fume_temperature.value, LONGEST)

    found = estimate(ready, inputs)
    middle = {name: value for name, (value, _) in inputs.items()}
    run = run_heater(heater, middle, choices.room)
    seconds = np.linspace(0.0, min(LONGEST, 1.6 * found.value) if found else LONGEST, 161)
    flat = flat_length(fold)
    return FoldHeating(
        ready=found,
        limit=estimate(limit, inputs),
        flat_length=flat,
        band=flat + 2 * band_margin(sheet, found.value if found else LONGEST),
        heater_band=heater.band,
        curves=(
            Curve("face to the heater", seconds, run.warming.front_face(seconds)),
            Curve("far face", seconds, run.warming.back_face(seconds)),
        ),
    )


def flat_length(fold: Fold) -> float:
    """Return the length of the bent part laid flat, at its longest, mm: π (g + K t)."""
    return float(pi * (fold.height.max() + fold.k_factor * fold.gauge))


def band_margin(sheet: SheetStock, seconds: float) -> float:
    """Return how far inside a heated band's end the sheet has nine tenths of its heat, mm."""
    diffusivity = sheet.conductivity.value / (sheet.density.value * sheet.specific_heat.value)
    return float(2 * sqrt(diffusivity * seconds) * erfinv(0.8)) * 1000
