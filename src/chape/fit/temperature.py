"""The sheet's stiffness on a cold morning and in a hot car.

    E(T) = E23 (1 - s (T - 23))        up to SOFTENS below the deflection temperature T_d
         then straight down to E_d at T_d, and on

E23 and s stand in the catalogue. E_d follows from what a deflection temperature is (ASTM D648): a
bar 12.7 mm deep on supports 100 mm apart, under a stress of 1.82 MPa in its middle, has sunk by
0.25 mm, so that E_d = sigma L²/(6 d y) = 955 MPa. Not modelled: creep. A sheath left in the heat
with a knife that spreads it loses hold for good.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chape.catalog.model import SheetStock

#: Temperature at which a catalogue's modulus is meant, degrees Celsius.
ROOM = 23.0

#: From so far below its deflection temperature a sheet softens fast, K. Common practice, no source.
SOFTENS = 15.0

#: Stress MPa, span, depth and deflection mm of ASTM D648's bar, edgewise (from memory).
BAR_STRESS, BAR_SPAN, BAR_DEPTH, BAR_DEFLECTION = 1.82, 100.0, 12.7, 0.25

#: Soft as rubber, the sheet keeps this share of its stiffness.
RUBBER = 0.002


def modulus_at(sheet: SheetStock, temperature: float) -> float:
    """Return the sheet's flexural modulus at a temperature in degrees Celsius, MPa."""
    softens = softens_at(sheet)
    modulus = _glassy(sheet, min(temperature, softens))
    if temperature > softens:
        deflected = min(BAR_STRESS * BAR_SPAN**2 / (6 * BAR_DEPTH * BAR_DEFLECTION), modulus)
        modulus -= (modulus - deflected) * (temperature - softens) / SOFTENS
    return max(modulus, RUBBER * sheet.flexural_modulus.value)


def softens_at(sheet: SheetStock) -> float:
    """Return the temperature from which the sheet softens fast, degrees Celsius.

    A knife that is left in the sheath above it spreads it for good.
    """
    return sheet.deflection_temperature.value - SOFTENS


def _glassy(sheet: SheetStock, temperature: float) -> float:
    return sheet.flexural_modulus.value * (1 - sheet.modulus_loss.value * (temperature - ROOM))
