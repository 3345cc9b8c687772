"""Feeds and speeds.

    n     rev/min    spindle            n = 1000 Vc / (pi D)
    Vc    m/min      surface speed      from the material
    f     mm/min     feed               f = n z fz
    fz    mm         load of one tooth  a share of the cutter's diameter, from the material
    h     mm         scallop            h = R - sqrt(R² - (s/2)²), s = 2 sqrt(2 R h - h²)

Formulas: Machinery's Handbook (speeds and feeds); Choi and Jerard, Sculptured Surface Machining
(scallops). Not modelled: chip thinning, the cutter's bending, the machine's power.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, radians, sqrt, tan
from typing import TYPE_CHECKING

from chape.catalog.model import CutterKind
from chape.errors import CannotMakeError

if TYPE_CHECKING:
    from chape.catalog.model import CutMaterial, Cutter, Machine

#: A twist drill's speed and tooth load, as a share of a router bit's in the same plastic: its
#: chips must climb the flutes before they melt (common practice, no source).
DRILL_SHARE = 0.5

#: Straight down, as a share of the feed sideways (common practice, no source).
PLUNGE_SHARE = 0.33

#: Slope of a ramp into full material, mm per mm: eight degrees (common practice, no source).
RAMP_SLOPE = tan(radians(8))


@dataclass(frozen=True, slots=True)
class Rates:
    """How fast and how deep one cutter cuts one material on one machine.

    Attributes:
        spindle: rev/min.
        feed, plunge: sideways and straight down, mm/min.
        depth: deepest level at full width, mm.
        air: where nothing is cut, mm/min.
    """

    spindle: float
    feed: float
    plunge: float
    depth: float
    air: float


def spindle_speed(surface_speed: float, diameter: float) -> float:
    """Return rev/min for a surface speed (m/min) and a diameter (mm).

    >>> round(spindle_speed(300, 6.35), 1)
    15038.3
    """
    return 1000 * surface_speed / (pi * diameter)


def feed_rate(spindle: float, flutes: int, tooth_load: float) -> float:
    """Return mm/min for rev/min, cutting edges and mm per tooth.

    >>> feed_rate(18000, 2, 0.1)
    3600.0
    """
    return spindle * flutes * tooth_load


def scallop_height(radius: float, step_over: float) -> float:
    """Return the ridge (mm) that a ball leaves between level passes ``step_over`` mm apart."""
    return radius - sqrt(radius**2 - (step_over / 2) ** 2)


def step_over(radius: float, scallop: float) -> float:
    """Return how far apart (mm) level passes of a ball may lie for a ridge of ``scallop`` mm."""
    return 2 * sqrt(2 * radius * scallop - scallop**2)


def rates_for(cutter: Cutter, material: CutMaterial, machine: Machine) -> Rates:
    """Return what the material asks of the cutter, as far as the machine can give it.

    Where the spindle cannot turn fast enough the feed falls with it, so that the tooth load stays.

    Raises:
        CannotMakeError: the slowest spindle speed is twice what the material bears.
    """
    drill = cutter.kind is CutterKind.DRILL
    share = DRILL_SHARE if drill else 1.0
    wanted = spindle_speed(material.surface_speed.value * share, cutter.diameter)
    if machine.spindle_least > 2 * wanted:
        raise CannotMakeError(
            f"T{cutter.number} of {cutter.diameter:g} mm should turn at {wanted:.0f} rev/min in "
            f"{material.title}, and the spindle's slowest is {machine.spindle_least:.0f}",
            mend="Take a smaller cutter",
        )
    # Whole tens: a spindle is set no finer, and the text stays easy to read.
    spindle = round(min(max(wanted, machine.spindle_least), machine.spindle_most) / 10) * 10.0
    load = material.tooth_load_per_diameter.value * cutter.diameter * share
    feed = round(min(feed_rate(spindle, cutter.flutes, load), machine.feed_most))
    plunge = feed if drill else round(feed * PLUNGE_SHARE)
    depth = material.depth_per_diameter.value * cutter.diameter
    return Rates(spindle, float(feed), float(plunge), depth, machine.feed_most)
