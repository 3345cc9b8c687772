"""Until a formed sheet is stiff on its mould, shot after shot.

The sheet lies on the mould with a contact between them and air above. It may be lifted when its
middle is below the deflection temperature. The mould keeps part of the heat of every shot, so
that later shots take longer and the mould is larger when it shapes the sheet.

Not modelled: a sheet that shrinks off the mould's walls, heat that spreads sideways, the vents'
air.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError
from chape.forming.heating import SHEET_CELLS, sheet_figures, sheet_layer
from chape.forming.model import Air, Cooling, Curve
from chape.solve.conduction import Face, Layer, first_time, warming
from chape.solve.spread import estimate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.catalog.model import CutMaterial, SheetStock, Thermal
    from chape.field.grid import Floats
    from chape.forming.model import FormingChoices
    from chape.solve.conduction import Warming

#: Contact of a sheet held down by vacuum, W/(m² K), and its spread (common practice, no source).
CONTACT, CONTACT_SPREAD = 300.0, 120.0

#: What air takes from a hot face, W/(m² K), and its spread: still air with radiation, and a jet of
#: compressed air moved about (handbook ranges of free and forced convection).
AIR = {Air.STILL: (14.0, 4.0), Air.COMPRESSED: (60.0, 20.0)}

#: What the table takes from the back of the mould, W/(m² K) (common practice, no source).
TABLE = 20.0

#: Cells through the mould.
MOULD_CELLS = 40

#: Longer than this nobody waits for a sheet, s.
LONGEST = 3600.0


@dataclass(frozen=True, slots=True)
class MouldBody:
    """A mould as heat sees it.

    Attributes:
        material: named in sentences.
        thermal: its figures.
        thickness: below a formed half, mm.
    """

    material: str
    thermal: Thermal
    thickness: float

    @classmethod
    def of(cls, material: CutMaterial, thickness: float) -> MouldBody:
        """Return the mould of a material.

        Raises:
            CannotMakeError: the catalogue has no heat figures of it.
        """
        if material.thermal is None:
            raise CannotMakeError(
                f"nothing is known of how {material.name} takes up heat",
                mend=f'Add a table "thermal" to the material "{material.name}" in workshop.toml',
            )
        return cls(material.name, material.thermal, thickness)

    @property
    def layer(self) -> Layer:
        """The mould as a layer."""
        figures = self.thermal
        return Layer(
            self.thickness,
            figures.conductivity.value,
            figures.density.value,
            figures.specific_heat.value,
            MOULD_CELLS,
        )


def _on_mould(
    sheet: Layer, mould: MouldBody, contact: float, air: Face, start: Floats, room: float
) -> Warming:
    return warming((sheet, mould.layer), (contact,), air, Face(room, TABLE), start)


def _middle(run: Warming, times: Floats) -> Floats:
    cells = run.cells(times)
    half = SHEET_CELLS // 2
    middle: Floats = (cells[:, half - 1] + cells[:, half]) / 2
    return middle


def cool_sheet(
    sheet: SheetStock, mould: MouldBody, choices: FormingChoices, between: float
) -> Cooling:
    """Return how long a sheet stays on its mould, over a run of shots.

    Args:
        sheet: formed at its forming temperature.
        mould: cold at first.
        choices: room, air, number of shots.
        between: the mould lies bare from lifting one sheet to the next one's touch, s.
    """
    stiff = sheet.deflection_temperature.value - sheet.deflection_temperature.spread
    room, hot = choices.room, sheet.forming_temperature.value
    air, air_spread = AIR[choices.air]
    inputs = sheet_figures(sheet) | {
        "contact": (CONTACT, CONTACT_SPREAD),
        "air": (air, air_spread),
        "forming temperature": (hot, sheet.forming_temperature.spread / 2),
    }

    def lifted(figures: Mapping[str, float], mould_start: Floats) -> tuple[float | None, Warming]:
        start = np.concatenate([np.full(SHEET_CELLS, figures["forming temperature"]), mould_start])
        run = _on_mould(
            sheet_layer(figures), mould, figures["contact"], Face(room, figures["air"]), start, room
        )
        return first_time(lambda t: _middle(run, t), stiff, LONGEST), run

    cold = np.full(MOULD_CELLS, room)
    first = estimate(lambda figures: lifted(figures, cold)[0], inputs)
    middle = {name: value for name, (value, _) in inputs.items()}
    temperatures, state, faces, seconds, shown = [], cold, [], None, []
    for shot in range(choices.shots):
        seconds, run = lifted(middle, state)
        if seconds is None:
            break
        if shot in (0, choices.shots - 1):
            shown.append((shot + 1, seconds, run))
        faces.append(float(run.cells(np.linspace(0, seconds, 40))[:, SHEET_CELLS].max()))
        state = run.cells(np.array([seconds]))[0, SHEET_CELLS:]
        bare = warming((mould.layer,), (), Face(room, AIR[Air.STILL][0]), Face(room, TABLE), state)
        state = bare.cells(np.array([between]))[0]
        temperatures.append(float(state.mean()))
    growth = mould.thermal.expansion.value * ((temperatures[-1] if temperatures else room) - room)
    return Cooling(
        first=first,
        last=seconds,
        stiff=stiff,
        mould=np.array(temperatures),
        mould_face=max(faces, default=room),
        growth=growth,
        scale=(1 + sheet.shrinkage.value) / (1 + growth),
        curves=tuple(curve for found in shown for curve in _curves(*found)),
    )


def _curves(shot: int, seconds: float, run: Warming) -> tuple[Curve, Curve]:
    times = np.linspace(0.0, 1.3 * seconds, 121)
    face = run.cells(times)[:, SHEET_CELLS]
    return (
        Curve(f"middle of the sheet, shot {shot}", times, _middle(run, times)),
        Curve(f"face of the mould, shot {shot}", times, face),
    )
