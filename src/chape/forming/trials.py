"""What heat trials teach about one heater and one kind of sheet.

Unknown are the heater's pace (its conductance, or the flux it gives), the temperature from which a
sheet forms, and the temperature that spoils it. The catalogue's figures are the prior. Each trial
says that a sheet heated for so long came out cold, good or overheated, perhaps with a reading of a
pyrometer; Bayes' rule weighs every combination of the unknowns by how well it foretells that:

    P(overheated) = Φ((hottest − limit)/σ)
    P(cold) = (1 − P(overheated)) Φ((wanted − coldest)/σ)
    P(good) = the rest;  reading ~ N(hottest, σ_reading)

over a grid of the three. The next time to use is the shortest whose chance of a good sheet is
nearly the best there is; the most telling next trial is the one whose outcome is expected to
reduce the unknown most (mutual information, in bits).

Not modelled: a heater that changes from day to day, colours that take up radiation differently.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import numpy as np
from pydantic import Field
from scipy.special import ndtr

from chape.catalog.model import HeaterKind, Positive, Record
from chape.forming.heating import heater_figures, needed, run_heater, sheet_figures
from chape.forming.model import Temperature

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import Heater, SheetStock
    from chape.field.grid import Floats

#: Scatter of what a maker calls cold, good or overheated, and of a pyrometer, K (common practice,
#: no source).
JUDGEMENT, PYROMETER = 3.0, 5.0

#: A range "usually found" is taken as nine tenths of a normal distribution.
NINE_TENTHS = 1.645

#: The catalogue's pace is trusted less than its spread says: every press is its own.
DOUBT = 2.0

#: Nodes of the grid: pace, forming temperature, limit.
NODES = (41, 9, 9)

#: A time is nearly the best when its chance of a good sheet is this share of the best.
NEARLY = 0.95

#: Times looked at, s.
TIMES = np.unique(np.round(np.geomspace(4.0, 900.0, 160), 1))


class Outcome(StrEnum):
    """How a sheet came out of a heater."""

    COLD = "cold"
    GOOD = "good"
    OVERHEATED = "overheated"


class Trial(Record):
    """One heat trial.

    Attributes:
        sheet: its name in the catalogue.
        gauge: measured, mm.
        heater: its name in the catalogue.
        setting: what it was set to, °C; None for its usual one.
        seconds: in it.
        outcome: how it came out.
        reading: a pyrometer on the hottest face, °C; None without.
        room: °C.
        colour, day, note: for the maker.
    """

    sheet: str
    gauge: Positive
    heater: str
    setting: Temperature | None = None
    seconds: Annotated[float, Field(gt=0, le=3600)]
    outcome: Outcome
    reading: Temperature | None = None
    room: Annotated[float, Field(ge=-10, le=45)] = 22.0
    colour: str = ""
    day: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """The unknowns as a grid with weights.

    Attributes:
        pace: (a,) conductance W/(m² K), or flux kW/m².
        wanted: (b,) forming temperatures, °C.
        limit: (c,) limits, °C.
        weight: (a, b, c), summing to 1.
    """

    pace: Floats
    wanted: Floats
    limit: Floats
    weight: Floats

    @property
    def pace_mean(self) -> float:
        """The pace expected."""
        return float((self.weight.sum(axis=(1, 2)) * self.pace).sum())


@dataclass(frozen=True, slots=True, eq=False)
class Advice:
    """What the trials so far say of one sheet, heater and setting.

    Attributes:
        seconds: the next time to use.
        good: its chance of a good sheet.
        attainable: the chance that the best time would give, were the unknowns known.
        ready_low, ready_high: between these the sheet becomes ready, with a chance of 90 %, s.
        telling: the time of the most telling next trial, s.
        bits: what that trial is expected to teach.
        belief: the unknowns.
        trials: how many were used.
    """

    seconds: float
    good: float
    attainable: float
    ready_low: float
    ready_high: float
    telling: float
    bits: float
    belief: Belief
    trials: int


def trials_of(trials: Sequence[Trial], sheet: SheetStock, heater: Heater) -> tuple[Trial, ...]:
    """Return those trials of a heater that were made with a sheet of the catalogue."""
    return tuple(t for t in trials if t.sheet == sheet.name and t.heater == heater.name)


def paced_by(heater: Heater) -> str:
    """Return which of a heater's figures sets its pace."""
    by_flux = heater.kind in (HeaterKind.RADIANT, HeaterKind.STRIP)
    return "flux" if by_flux else "conductance"


def prior(sheet: SheetStock, heater: Heater) -> Belief:
    """Return what the catalogue says of the unknowns."""
    value, spread = heater_figures(heater, None)[paced_by(heater)]
    wide = DOUBT * np.log1p(spread / value) / NINE_TENTHS
    offsets = [np.linspace(-2.5, 2.5, nodes) for nodes in NODES]
    (wanted, wanted_spread), limit = needed(sheet, heater), sheet.fume_temperature
    weights = [np.exp(-(each**2) / 2) for each in offsets]
    joint = weights[0][:, None, None] * weights[1][None, :, None] * weights[2][None, None, :]
    return Belief(
        value * np.exp(wide * offsets[0]),
        wanted + offsets[1] * wanted_spread / NINE_TENTHS,
        limit.value + offsets[2] * limit.spread / NINE_TENTHS,
        joint / joint.sum(),
    )


def advise(
    trials: Sequence[Trial],
    sheet: SheetStock,
    heater: Heater,
    *,
    setting: float | None,
    room: float,
) -> Advice:
    """Return what trials of a heater teach for one sheet in it.

    Args:
        trials: of this heater and this kind of sheet; gauges, settings and rooms may differ.
        sheet: the one to be heated next.
        heater: that heats it.
        setting: what it will be set to, °C; None for its usual one.
        room: °C.
    """
    belief = prior(sheet, heater)
    weight = belief.weight
    for trial in trials:
        weight = weight * _likelihood(trial, belief, sheet, heater)
    belief = Belief(belief.pace, belief.wanted, belief.limit, weight / weight.sum())
    coldest, hottest = _histories(belief, sheet, heater, setting, room)
    chances = _chances(coldest, hottest, belief)
    expected = np.einsum("otabc,abc->ot", chances, belief.weight)
    good = expected[1]
    best = int(np.argmax(good >= NEARLY * good.max()))
    low, high = _ready(coldest, belief)
    bits = _bits(expected) - np.einsum("tabc,abc->t", _bits(chances), belief.weight)
    telling = int(np.argmax(bits))
    return Advice(
        float(TIMES[best]),
        float(good[best]),
        float((chances[1].max(axis=0) * belief.weight).sum()),
        low,
        high,
        float(TIMES[telling]),
        float(bits[telling]),
        belief,
        len(trials),
    )


def _histories(
    belief: Belief, sheet: SheetStock, heater: Heater, setting: float | None, room: float
) -> tuple[Floats, Floats]:
    """Return coldest plane and hottest face, (times, paces)."""
    return _temperatures(belief, sheet, heater, setting, room, TIMES)


def _temperatures(
    belief: Belief,
    sheet: SheetStock,
    heater: Heater,
    setting: float | None,
    room: float,
    times: Floats,
    gauge: float | None = None,
) -> tuple[Floats, Floats]:
    figures = {
        name: value
        for name, (value, _) in (sheet_figures(sheet) | heater_figures(heater, setting)).items()
    }
    if gauge is not None:
        figures["gauge"] = gauge
    runs = [
        run_heater(heater, figures | {paced_by(heater): float(pace)}, room) for pace in belief.pace
    ]
    coldest = np.column_stack([run.coldest(times) for run in runs])
    hottest = np.column_stack([run.hottest(times) for run in runs])
    return coldest, hottest


def _chances(coldest: Floats, hottest: Floats, belief: Belief) -> Floats:
    """Return the chance of each outcome, (cold good overheated, times, a, b, c)."""
    over = ndtr((hottest[:, :, None] - belief.limit) / JUDGEMENT)[:, :, None, :]
    short = ndtr((belief.wanted - coldest[:, :, None]) / JUDGEMENT)[:, :, :, None]
    cold = (1 - over) * short
    good = (1 - over) * (1 - short)
    return np.stack([cold, good, np.broadcast_to(over, cold.shape)])


def _likelihood(trial: Trial, belief: Belief, sheet: SheetStock, heater: Heater) -> Floats:
    times = np.array([trial.seconds])
    coldest, hottest = _temperatures(
        belief, sheet, heater, trial.setting, trial.room, times, trial.gauge
    )
    chances = _chances(coldest, hottest, belief)
    likelihood: Floats = chances[list(Outcome).index(trial.outcome), 0]
    if trial.reading is not None:
        away = (trial.reading - hottest[0]) / PYROMETER
        likelihood = likelihood * np.exp(-(away**2) / 2)[:, None, None]
    # Nobody's word is quite certain: a slip must not rule out what is true.
    return likelihood + 1e-4


def _ready(coldest: Floats, belief: Belief) -> tuple[float, float]:
    """Return the times before which a sheet is ready with a chance of 5 % and of 95 %."""
    warm = coldest[:, :, None] >= belief.wanted
    chance = np.einsum("tab,ab->t", warm, belief.weight.sum(axis=2))
    low, high = np.searchsorted(chance, [0.05, 0.95]).clip(max=len(TIMES) - 1)
    return float(TIMES[low]), float(TIMES[high])


def _bits(chances: Floats) -> Floats:
    """Return the entropy over the first axis, bits."""
    bits: Floats = -(chances * np.log2(np.maximum(chances, 1e-300))).sum(axis=0)
    return bits
