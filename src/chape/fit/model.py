"""What a maker asks of the fit, and what is worked out for it.

Forces in N, moduli in MPa, lengths in mm, temperatures in degrees Celsius. Travel is how far the
knife has been drawn from home, along +x.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np
from pydantic import Field

from chape.catalog.model import Length, NotNegative, Positive, Record

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: A sheath is neither made nor worn outside this range, degrees Celsius.
COLDEST, HOTTEST = -60.0, 150.0

Temperature = Annotated[float, Field(strict=True, ge=COLDEST, le=HOTTEST)]
Share = Annotated[float, Field(strict=True, ge=0, le=1)]
Friction = Annotated[float, Field(strict=True, ge=0, le=1.5)]


class FitChoices(Record):
    """The ``[fit]`` table of a sheath file: what hold is wanted, and what varies.

    Spreads are standard deviations.

    Attributes:
        hold: pull wanted, N; None keeps the sheath's own snap depth.
        hold_band: a knife passes within this share of the hold, either way.
        friction: between knife and sheet.
        friction_spread: same unit.
        handle_spread: thickness of handles of one kind, mm.
        position_spread: where the blade comes to lie, mm.
        gauge_spread, modulus_spread: shares.
        temperature: of the workshop, where the hold is asked for.
        cold, hot: the band a sheath is worn in.
        edge_margin: least clearance of the edge anywhere along the draw, mm.
        shake: upside down, in multiples of the earth's pull.
        safety: the hold must be this many times what the shake asks for.
        knife_mass: kg; None takes it from the knife's volume.
        samples: how many knives the share that passes is counted over.
        seed: of the samples.
    """

    hold: Positive | None = None
    hold_band: Annotated[float, Field(strict=True, gt=0, lt=1)] = 0.25
    friction: Friction = 0.25
    friction_spread: Share = 0.05
    handle_spread: Length = 0.1
    position_spread: Length = 0.2
    gauge_spread: Annotated[float, Field(strict=True, ge=0, le=0.3)] = 0.03
    modulus_spread: Annotated[float, Field(strict=True, ge=0, le=0.3)] = 0.06
    temperature: Temperature = 21.0
    cold: Temperature = -10.0
    hot: Temperature = 45.0
    edge_margin: Length = 0.3
    shake: NotNegative = 3.0
    safety: Annotated[float, Field(strict=True, ge=1, le=20)] = 1.5
    knife_mass: Positive | None = None
    samples: Annotated[int, Field(strict=True, ge=8, le=65536)] = 512
    seed: Annotated[int, Field(strict=True, ge=0, le=2**31)] = 1


@dataclass(frozen=True, slots=True)
class Conditions:
    """One knife in one sheath on one day.

    Attributes:
        friction: between knife and sheet.
        modulus: flexural modulus of the sheet at its temperature, MPa.
        swell: the handle is thicker by this per side than the file says, mm; may be negative.
        along: home lies this far further out, mm.
        across: home lies this far nearer the fold, mm.
        gauge_factor: sheet thickness over the one the model was made for.
    """

    friction: float
    modulus: float
    swell: float = 0.0
    along: float = 0.0
    across: float = 0.0
    gauge_factor: float = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class ContactMap:
    """Where knife and sheath touch during the draw: points of one half, sheath frame.

    Attributes:
        points: (m, 3) on the sheath's inner surface, mm.
        pressure: (m,) greatest pressure at each during the pull, MPa; 0 where it never touches.
        at_peak: (m,) pressure when the pull is greatest, MPa.
    """

    points: Floats
    pressure: Floats
    at_peak: Floats


@dataclass(frozen=True, slots=True, eq=False)
class DrawCurve:
    """Force over travel, both halves.

    Attributes:
        travel: (n,) how far the knife is drawn, mm.
        pull: (n,) force that draws it on, N; negative where the sheath pushes it out.
        push: (n,) force that pushes it home at the same place, N; negative where the sheath
            draws it in.
        spread: (n,) normal forces between knife and sheath added up, N: what opens the halves.
        contact_low, contact_high: (n,) x from and to which they touch, sheath frame, mm; NaN
            where nothing does.
        opening: (n,) how far one half gives way, at most, mm.
        strain_eyelets, strain_fold: (n,) greatest strain of a surface within reach of the eyelets,
            and in the fold.
        steepest: (n,) steepest slope that carries load, degrees from the draw.
        energy: (n,) elastic energy held in both halves during the pull, N mm.
        contact: where they touch.
    """

    travel: Floats
    pull: Floats
    push: Floats
    spread: Floats
    contact_low: Floats
    contact_high: Floats
    opening: Floats
    strain_eyelets: Floats
    strain_fold: Floats
    steepest: Floats
    energy: Floats
    contact: ContactMap

    @property
    def peak(self) -> float:
        """Greatest pull, N: the hold."""
        return float(self.pull.max())

    @property
    def push_peak(self) -> float:
        """Greatest push, N."""
        return float(self.push.max())

    @property
    def work(self) -> float:
        """Work of drawing the knife, N mm, over the travel the curve spans."""
        return float(np.trapezoid(self.pull, self.travel))
