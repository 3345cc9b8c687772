"""Feeds and speeds.

    n     rev/min    spindle            n = 1000 Vc / (pi D)
    Vc    m/min      surface speed      from the material
    f     mm/min     feed               f = n z fz
    fz    mm         load of one tooth  a share of the cutter's diameter, from the material
    h     mm         scallop            h = R - sqrt(R² - (s/2)²), s = 2 sqrt(2 R h - h²)

Formulas: Machinery's Handbook (speeds and feeds); Choi and Jerard, Sculptured Surface Machining
(scallops). Where the spindle's power or the cutter's bending would not bear a level at full width,
the level gets shallower; where the feed is too slow for the spindle, the spindle slows with it, so
that the tooth load stays and the material does not melt under an edge that only rubs.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, radians, sqrt, tan
from typing import TYPE_CHECKING

from chape.catalog.model import CutterKind
from chape.cutting.force import bending, cutting_power, tooth_force
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


#: Share of the spindle's lasting power that a level may ask for (common practice, no source).
POWER_SHARE = 0.7

#: A cutter's tip may bend aside by this in a level at full width, mm (common practice, no source).
BENDING_MOST = 0.1

#: A level is never worth less than this share of the depth the material bears.
LEVEL_LEAST = 0.1

#: A tooth that takes less than this share of what it should rubs (common practice, no source).
RUBBING = 0.4


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

    Raises:
        CannotMakeError: the machine is too fast, too slow or too weak for it, or the cutter too
            slender.
    """
    drill = cutter.kind is CutterKind.DRILL
    share = DRILL_SHARE if drill else 1.0
    load = material.tooth_load_per_diameter.value * cutter.diameter * share
    spindle = _spindle(cutter, material, machine, share, load)
    feed = round(min(feed_rate(spindle, cutter.flutes, load), machine.feed_most))
    if feed < RUBBING * feed_rate(spindle, cutter.flutes, load):
        raise CannotMakeError(
            f"T{cutter.number} of {cutter.diameter:g} mm needs a feed of "
            f"{feed_rate(spindle, cutter.flutes, load):.0f} mm/min in {material.title} at the "
            f"spindle's slowest, and the machine's highest is {machine.feed_most:g} mm/min: it "
            "would rub",
            mend="Take a cutter with fewer flutes, or a machine with a slower spindle",
        )
    plunge = feed if drill else round(feed * PLUNGE_SHARE)
    plunge = round(min(plunge, machine.axis_rates[2]))
    depth = material.depth_per_diameter.value * cutter.diameter
    if not drill:
        depth = _borne(depth, cutter, material, machine, float(feed), load)
    return Rates(spindle, float(feed), float(plunge), depth, machine.feed_most)


def _spindle(
    cutter: Cutter, material: CutMaterial, machine: Machine, share: float, load: float
) -> float:
    """Return the spindle's speed: for the material, the machine and its highest feed, rev/min."""
    wanted = spindle_speed(material.surface_speed.value * share, cutter.diameter)
    if machine.spindle_least > 2 * wanted:
        raise CannotMakeError(
            f"T{cutter.number} of {cutter.diameter:g} mm should turn at {wanted:.0f} rev/min in "
            f"{material.title}, and the spindle's slowest is {machine.spindle_least:.0f}",
            mend="Take a smaller cutter",
        )
    fed = machine.feed_most / (cutter.flutes * load)
    turning = min(wanted, fed, machine.spindle_most)
    # Whole tens: a spindle is set no finer, and the text stays easy to read.
    return round(max(turning, machine.spindle_least) / 10) * 10.0


def _borne(
    depth: float, cutter: Cutter, material: CutMaterial, machine: Machine, feed: float, load: float
) -> float:
    """Return the deepest level at full width that spindle and cutter bear, mm."""
    energy = material.cutting_energy.value
    bent = bending(tooth_force(energy, load, depth), cutter.stick_out, cutter.diameter)
    borne = depth * min(1.0, BENDING_MOST / bent)
    why = "bends too far"
    if machine.spindle_power is not None:
        power = cutting_power(energy, cutter.diameter, depth, feed)
        by_power = depth * min(1.0, POWER_SHARE * machine.spindle_power / power)
        if by_power < borne:
            borne, why = by_power, "asks for more power than the spindle has"
    if borne < LEVEL_LEAST * depth:
        raise CannotMakeError(
            f"T{cutter.number} of {cutter.diameter:g} mm {why} in {material.title}, even in levels "
            f"of {LEVEL_LEAST * depth:.2f} mm",
            mend="Take a stouter or shorter cutter, a softer material or a stronger machine",
        )
    return borne
