"""Until a sheet can be formed, and until it is spoiled.

A press heats both faces through its release sheets and their contacts; an oven by its air and
walls; a radiant or strip heater by the flux a face absorbs. The sheet is ready when its coldest
plane is warm enough, and spoiled when its hottest face passes the sheet's limit.

Not modelled: conductivity and specific heat that change with temperature, platens that sag when
a cold sheet comes in, uneven platens, drying.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import HeaterKind
from chape.forming.model import Curve, Heating
from chape.solve.conduction import Face, Layer, first_time, warming
from chape.solve.spread import estimate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.catalog.model import Heater, SheetStock
    from chape.field.grid import Floats
    from chape.forming.model import FormingChoices
    from chape.solve.conduction import Warming

#: Longer than this nobody heats a sheet, s.
LONGEST = 1800.0

#: Cells through the sheet, even, and through a release sheet.
SHEET_CELLS, RELEASE_CELLS = 24, 3


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A heating under way: the stack, and which of its cells are the sheet's."""

    warming: Warming
    first: int

    def coldest(self, times: Floats) -> Floats:
        """Return (m,) temperatures of the sheet's coldest plane, °C."""
        found: Floats = self._sheet(times).min(axis=1)
        return found

    def hottest(self, times: Floats) -> Floats:
        """Return (m,) temperatures of the sheet's hottest face, °C, carried on from its cells."""
        cells = self._sheet(times)
        faces = 1.5 * cells[:, [0, -1]] - 0.5 * cells[:, [1, -2]]
        found: Floats = faces.max(axis=1)
        return found

    def _sheet(self, times: Floats) -> Floats:
        return self.warming.cells(times)[:, self.first : self.first + SHEET_CELLS]


def sheet_layer(figures: Mapping[str, float]) -> Layer:
    """Return the sheet as a layer, of the figures ``sheet_figures`` names."""
    return Layer(
        figures["gauge"],
        figures["conductivity"],
        figures["density"],
        figures["specific heat"],
        SHEET_CELLS,
    )


def sheet_figures(sheet: SheetStock) -> dict[str, tuple[float, float]]:
    """Return value and spread of the sheet's figures that heat depends on."""
    named = {
        "gauge": sheet.gauge,
        "conductivity": sheet.conductivity,
        "density": sheet.density,
        "specific heat": sheet.specific_heat,
    }
    return {name: (value.value, value.spread) for name, value in named.items()}


def heater_figures(heater: Heater, setting: float | None) -> dict[str, tuple[float, float]]:
    """Return value and spread of the heater's figures, with what it is set to."""
    temperature = heater.temperature.value if setting is None else setting
    return {
        "heater temperature": (temperature, heater.temperature.spread),
        "conductance": (heater.conductance.value, heater.conductance.spread),
        "flux": (heater.flux.value, heater.flux.spread),
        "back conductance": (heater.back_conductance.value, heater.back_conductance.spread),
    }


def run_heater(heater: Heater, figures: Mapping[str, float], room: float) -> Run:
    """Return a sheet of some figures in a heater, from the room's temperature."""
    sheet = sheet_layer(figures)
    hot = Face(figures["heater temperature"], figures["conductance"], 1000 * figures["flux"])
    cold = Face(room, figures["back conductance"])
    back = hot if heater.sides == 2 else cold
    if heater.kind is not HeaterKind.PLATEN or heater.release is None:
        return Run(warming((sheet,), (), hot, back, room), 0)
    release = Layer(
        heater.release.gauge.value,
        heater.release.conductivity.value,
        heater.release.density.value,
        heater.release.specific_heat.value,
        RELEASE_CELLS,
    )
    contact = figures["conductance"]
    # The release sheets stay on the platens, and are hot when the sheet comes in.
    resting = np.full(RELEASE_CELLS, hot.temperature)
    start = np.concatenate([resting, np.full(SHEET_CELLS, room), resting])
    if heater.sides == 2:
        stack = warming((release, sheet, release), (contact, contact), hot, back, start)
    else:
        stack = warming((release, sheet), (contact,), hot, back, start[:-RELEASE_CELLS])
    return Run(stack, RELEASE_CELLS)


def needed(sheet: SheetStock, heater: Heater) -> tuple[float, float]:
    """Return what the coldest plane must reach to form, or to fold, and its spread, °C.

    A sheet that is to be formed must lie within its window, and the window's lower end is enough;
    a strip folds from a lower temperature.
    """
    if heater.kind is HeaterKind.STRIP:
        return sheet.folding_temperature.value, sheet.folding_temperature.spread
    window = sheet.forming_temperature
    return window.value - window.spread, window.spread / 2


def heat_sheet(sheet: SheetStock, heater: Heater, choices: FormingChoices) -> Heating:
    """Return when a sheet in a heater can be formed, and when it is spoiled."""
    wanted, _ = needed(sheet, heater)
    highest = sheet.fume_temperature.value
    inputs = sheet_figures(sheet) | heater_figures(heater, choices.setting)

    def ready(figures: Mapping[str, float]) -> float | None:
        run = run_heater(heater, figures, choices.room)
        return first_time(run.coldest, wanted, LONGEST)

    def limit(figures: Mapping[str, float]) -> float | None:
        run = run_heater(heater, figures, choices.room)
        return first_time(run.hottest, highest, LONGEST)

    middle = {name: value for name, (value, _) in inputs.items()}
    run = run_heater(heater, middle, choices.room)
    found = estimate(ready, inputs)
    shown = min(LONGEST, 1.6 * found.value) if found else LONGEST
    seconds = np.linspace(0.0, shown, 161)
    at_ready = np.array([found.value if found else LONGEST])
    return Heating(
        setting=middle["heater temperature"] if middle["flux"] == 0 else None,
        ready=found,
        limit=estimate(limit, inputs),
        wanted=wanted,
        highest=highest,
        dropped=_dropped(sheet, wanted, choices),
        face=float(run.hottest(at_ready)[0]),
        curves=(
            Curve("coldest plane", seconds, run.coldest(seconds)),
            Curve("hottest face", seconds, run.hottest(seconds)),
        ),
    )


#: What a hot face loses to still air and to the room's walls, W/(m² K) (handbook: about 8 by
#: convection and 10 by radiation at 170 °C).
LOSS = 18.0


def _dropped(sheet: SheetStock, start: float, choices: FormingChoices) -> float:
    """Return what the faces lose on the way from heater to table, K."""
    figures = {name: value for name, (value, _) in sheet_figures(sheet).items()}
    air = Face(choices.room, LOSS)
    cooling = warming((sheet_layer(figures),), (), air, air, start)
    return float(start - cooling.front_face(np.array([choices.transfer]))[0])
