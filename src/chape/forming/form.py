"""Everything forming comes to, for one blank."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.optimize import brentq

from chape.field.contour import regions_above
from chape.forming.alone import formed_wall
from chape.forming.channel import narrowest_channel
from chape.forming.cooling import MouldBody, cool_sheet
from chape.forming.cycle import cycle_of
from chape.forming.draping import COARSE, FINE, drape
from chape.forming.folding import heat_fold
from chape.forming.heating import (
    LONGEST,
    heat_sheet,
    heater_figures,
    needed,
    run_heater,
    sheet_figures,
)
from chape.forming.model import Forming
from chape.forming.trials import advise, paced_by, trials_of
from chape.forming.vacuum import draw_down
from chape.forming.vents import dip, venting_seconds
from chape.solve.conduction import first_time

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from chape.catalog.model import Heater, SheetStock
    from chape.catalog.read import Catalog
    from chape.field.heights import HeightField
    from chape.forming.model import Drape, FormingChoices, Mounted
    from chape.forming.trials import Advice, Trial
    from chape.sheath.model import Sheath

#: What the trade takes for ordinary gauge, s: in the press, and on the strip (common practice, no
#: source). The pace that would make them so is shown beside the catalogue's.
PRACTICE = {"press": 120.0, "strip": 45.0}

#: A shape is what stands higher than this share of the highest, mm; marks and locators are lower.
SHAPE_SHARE = 0.5

#: A shape's foot is where it is this high, mm.
FOOT = 0.3


def form(
    sheath: Sheath,
    mounted: Mounted,
    choices: FormingChoices,
    catalog: Catalog,
    trials: Sequence[Trial] = (),
) -> Forming:
    """Return what it takes to form a blank, and what the sheet comes to.

    Args:
        sheath: gives the sheet and its fold.
        mounted: the mould on its table.
        choices: heater, table and the rest.
        catalog: where they are found.
        trials: that were noted, of any heater and sheet.

    Raises:
        InputError: a name is not in the catalogue, or the strip heater is none.
        CannotMakeError: the mould's material has no heat figures, or the frame leaves no sheet.
    """
    sheet = sheath.sheet
    heater, strip = catalog.heater(choices.heater), catalog.heater(choices.strip)
    heating = heat_sheet(sheet, heater, choices)
    body = MouldBody.of(mounted.material, mounted.plate)
    wanted = catalog.table(choices.table).wanted
    x_min, y_min, x_max, y_max = mounted.surface.grid.bounds
    opening = (x_max - x_min - 2 * mounted.border) * (y_max - y_min - 2 * mounted.border)
    vacuum = draw_down(catalog.table(choices.table), 0.0, opening, choices.altitude)
    hot_pressure = min(vacuum.wanted, vacuum.reached) / 1000 / hot_stiffness(sheet)
    draped = drape(mounted.surface, hot_pressure, mounted.border, FINE)
    preview = drape(mounted.surface, hot_pressure, mounted.border, COARSE)
    vacuum = draw_down(catalog.table(choices.table), draped.trapped, opening, choices.altitude)
    draw = vacuum.seconds.value if vacuum.seconds else LONGEST
    between = choices.load + choices.transfer + draw + choices.unload
    cooling = cool_sheet(sheet, body, choices, between)
    height = float(mounted.surface.z.max())
    gauge = sheet.gauge.value * draped.thinnest
    return Forming(
        choices=choices,
        sheet=sheet,
        heater=heater,
        heating=heating,
        fold=None if sheath.fold is None else heat_fold(sheet, strip, sheath.fold, choices),
        strip=strip,
        cooling=cooling,
        mould_material=mounted.material,
        vacuum=vacuum,
        venting=venting_seconds(
            draped.trapped,
            mounted.vents,
            mounted.vent,
            vacuum.outside,
            (1 - wanted) * vacuum.outside,
        ),
        vents=mounted.vents,
        vent=mounted.vent,
        dip=dip(mounted.vent, gauge, sheet.hot_shear_modulus.value, vacuum.wanted),
        cycle=cycle_of(
            choices,
            heating.ready.value if heating.ready else LONGEST,
            draw,
            cooling.first.value if cooling.first else LONGEST,
        ),
        copies=mounted.copies,
        drape=draped,
        preview=preview,
        walls=tuple(formed_wall(piece, sheet) for piece in sheath.pieces),
        preview_difference=difference(draped, preview),
        closest=closest_shapes(mounted.surface),
        narrowest=narrowest_channel(height, mounted.draft, hot_pressure),
        mould_scale=mounted.scale,
        practice={
            "press": pace_for(PRACTICE["press"], sheet, heater, choices.room),
            "strip": pace_for(PRACTICE["strip"], sheet, strip, choices.room),
        },
        taught=_taught(trials, sheet, {"blank": heater, "fold": strip}, choices),
    )


def _taught(
    trials: Sequence[Trial],
    sheet: SheetStock,
    heaters: Mapping[str, Heater],
    choices: FormingChoices,
) -> dict[str, Advice]:
    """Return what trials say of each heater that has any."""
    taught = {}
    for place, heater in heaters.items():
        mine = trials_of(trials, sheet, heater)
        if mine:
            setting = choices.setting if place == "blank" else None
            taught[place] = advise(mine, sheet, heater, setting=setting, room=choices.room)
    return taught


def hot_stiffness(sheet: SheetStock) -> float:
    """Return hot shear modulus times gauge, N/mm."""
    return sheet.hot_shear_modulus.value * sheet.gauge.value


def difference(fine: Drape, coarse: Drape) -> float:
    """Return the rms difference of what two drapes leave of the gauge, where the sheet is drawn."""
    x, y = fine.kept.grid.mesh()
    other = coarse.kept.at(np.column_stack([x.ravel(), y.ravel()])).reshape(x.shape)
    drawn = fine.kept.z < 0.99
    if not drawn.any():
        return 0.0
    return float(np.sqrt(np.mean((fine.kept.z - other)[drawn] ** 2)))


def closest_shapes(surface: HeightField) -> float | None:
    """Return the least distance between the feet of two tall shapes, mm; None for a single one."""
    tall = SHAPE_SHARE * float(surface.z.max())
    regions = list(regions_above(surface, FOOT).geoms)
    tops = regions_above(surface, tall)
    shapes = [region for region in regions if shapely.intersects(region, tops)]
    return min((shapely.distance(a, b) for a, b in combinations(shapes, 2)), default=None)


def pace_for(seconds: float, sheet: SheetStock, heater: Heater, room: float) -> float | None:
    """Return the conductance or flux at which a sheet is ready after some time, s.

    None where no pace within a factor of 20 of the catalogue's would do.
    """
    figures = {
        name: value
        for name, (value, _) in (sheet_figures(sheet) | heater_figures(heater, None)).items()
    }
    wanted, _ = needed(sheet, heater)
    usual = figures[paced_by(heater)]

    def late(factor: float) -> float:
        run = run_heater(heater, figures | {paced_by(heater): usual * factor}, room)
        found = first_time(run.coldest, wanted, LONGEST)
        return (found or LONGEST) - seconds

    if late(0.05) < 0 or late(20.0) > 0:
        return None
    return float(usual * brentq(late, 0.05, 20.0, xtol=1e-4))
