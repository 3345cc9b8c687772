"""What one input alone does to the hold: friction, clearance, gauge, a cold morning, a hot car."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from chape.fit.share import holds_of
from chape.fit.vary import middle

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Executor

    from chape.fit.model import FitChoices
    from chape.fit.share import HoldModel


@dataclass(frozen=True, slots=True)
class Band:
    """The hold with one input at its lower and at its upper end, all others as in the file.

    Attributes:
        name: of the input.
        unit: of its ends.
        ends: lower and upper value of the input.
        holds: the hold at each, N.
    """

    name: str
    unit: str
    ends: tuple[float, float]
    holds: tuple[float, float]


def hold_bands(
    model: HoldModel,
    fit: FitChoices,
    clearance: float,
    modulus_at: Callable[[float], float],
    executor: Executor,
) -> tuple[Band, ...]:
    """Return how far each input moves the hold, the one that moves it furthest first.

    Ends lie one spread to either side; those of the temperature are the coldest and the hottest.

    Args:
        model: of a sheath.
        fit: gives middle values and spreads.
        clearance: round the handle, as designed, mm.
        modulus_at: the sheet's modulus at a temperature, MPa.
        executor: who works.
    """
    usual = middle(fit, modulus_at)
    swell, place = fit.handle_spread / 2, fit.position_spread
    least, most = max(0.0, fit.friction - fit.friction_spread), fit.friction + fit.friction_spread
    gauge, stiff = fit.gauge_spread, fit.modulus_spread

    by_gauge, by_modulus = (1 - gauge, 1 + gauge), (1 - stiff, 1 + stiff)
    moduli = tuple(usual.modulus * factor for factor in by_modulus)
    by_temperature = tuple(modulus_at(each) for each in (fit.cold, fit.hot))
    # What the input is called and where its ends lie, and which condition that changes to what.
    changes = (
        ("friction", "", (least, most), "friction", (least, most)),
        # A thicker handle leaves less.
        ("clearance", "mm", (clearance - swell, clearance + swell), "swell", (swell, -swell)),
        ("blade position", "mm", (-place, place), "across", (-place, place)),
        ("sheet gauge", "of nominal", by_gauge, "gauge_factor", by_gauge),
        ("sheet modulus", "of nominal", by_modulus, "modulus", moduli),
        ("temperature", "°C", (fit.cold, fit.hot), "modulus", by_temperature),
    )
    every = [replace(usual, **{key: each}) for *_, key, values in changes for each in values]
    holds = holds_of(model, every, executor)
    pairs = [(float(low), float(high)) for low, high in holds.reshape(-1, 2)]
    bands = [
        Band(name, unit, ends, pair)
        for (name, unit, ends, *_), pair in zip(changes, pairs, strict=True)
    ]
    return tuple(sorted(bands, key=lambda band: -abs(band.holds[1] - band.holds[0])))
