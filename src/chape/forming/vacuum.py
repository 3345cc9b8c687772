"""What the pump does to a table, and the air to a sheet.

Pressure of the air at geopotential height H, below 11 km:
p = p0 (1 − 0.0065 H / 288.15)^5.25588 (ISO 2533:1975). A volume V pumped at S falls from p0 to p in
t = V/S ln((p0 − pu)/(p − pu)), pu the lowest the pump reaches against its leaks (for instance
Jousten, Handbook of Vacuum Technology). A tank opened to the table first shares its vacuum.

Not modelled: hoses that throttle, a sheet that seals late.
"""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING

from chape.forming.model import Vacuum
from chape.solve.spread import estimate

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.catalog.model import VacuumTable

#: Sea level, kPa; lapse, K/m; sea-level temperature, K; exponent g/(R lapse) (ISO 2533).
SEA_LEVEL, LAPSE, SEA_TEMPERATURE, EXPONENT = 101.325, 0.0065, 288.15, 5.25588


def pressure_at(altitude: float) -> float:
    """Return the air's pressure (kPa) at a geopotential altitude, m below 11,000."""
    return float(SEA_LEVEL * (1 - LAPSE * altitude / SEA_TEMPERATURE) ** EXPONENT)


def pump_down(
    volume: float, speed: float, start: float, end: float, ultimate: float = 0.0
) -> float | None:
    """Return the time (s) to pump a volume down; None where the pump never gets there.

    Args:
        volume: litres.
        speed: of the pump, m³/h.
        start: pressure at first, kPa.
        end: pressure wanted, kPa.
        ultimate: lowest pressure the pump reaches, kPa.
    """
    if end <= ultimate:
        return None
    if end >= start:
        return 0.0
    return volume / (speed / 3.6) * log((start - ultimate) / (end - ultimate))


def draw_down(table: VacuumTable, trapped: float, opening: float, altitude: float) -> Vacuum:
    """Return what a table does under one sheet.

    Args:
        table: its pump, volumes and leak.
        trapped: air under the sheet, between it and the mould, litres.
        opening: area inside the frame, mm².
        altitude: of the workshop, m.
    """
    outside = pressure_at(altitude)
    # Holding, the pump carries away what leaks in: S p = q p0.
    lowest = table.ultimate.value + table.leak.value / table.pump.value * outside
    wanted = table.wanted * outside
    inputs = {
        "pump": (table.pump.value, table.pump.spread),
        "volume": (table.volume.value, table.volume.spread),
        "leak": (table.leak.value, table.leak.spread),
        "ultimate": (table.ultimate.value, table.ultimate.spread),
    }

    def seconds(figures: Mapping[str, float]) -> float | None:
        if figures["pump"] <= 0:
            return None
        floor = figures["ultimate"] + figures["leak"] / figures["pump"] * outside
        volume, start = figures["volume"] + trapped, outside
        if table.tank.value:
            # The tank stood at the pump's lowest, and shares that with the table at once.
            volume += table.tank.value
            start = (outside * (volume - table.tank.value) + floor * table.tank.value) / volume
        return pump_down(volume, figures["pump"], start, outside - wanted, floor)

    reached = max(0.0, outside - lowest)
    return Vacuum(
        outside=outside,
        trapped=trapped,
        wanted=wanted,
        reached=reached,
        seconds=estimate(seconds, inputs),
        load=reached * 1000 * opening * 1e-6,
    )
