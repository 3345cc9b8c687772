"""What a vent does to the sheet over it, and to the air under it.

Over a hole of radius a the hot sheet is pressed by p alone. Where the sheet is thicker than the
hole is wide its surface dips like a half-space relieved over a circle,
(2 − 4/π)(1 − ν²) p a/E below the rim (Timoshenko & Goodier, Theory of Elasticity, section 139);
a thinner one bends like a clamped plate, p a⁴/(64 D) (Timoshenko & Woinowsky-Krieger, Theory of
Plates and Shells, section 16). The larger is taken, with E = 3 G and ν = ½ for a hot sheet.

Air leaves through the vents at the speed of sound while the table below is well pumped:
a volume falls from p0 to p in V ln(p0/p)/(C A w), w = √(γ R T) (2/(γ + 1))^((γ + 1)/(2(γ − 1))),
198.6 m/s in air at 20 °C, discharge C = 0.6 for a sharp small hole (gas dynamics handbooks).
"""

from __future__ import annotations

from math import log, pi

#: Discharge of a sharp hole; choked flow, m/s.
DISCHARGE, CHOKED = 0.6, 198.6

#: A dip no deeper than this is not found with a fingernail, mm (common practice, no source).
UNSEEN = 0.05


def dip(diameter: float, gauge: float, hot_shear_modulus: float, pressure: float) -> float:
    """Return how deep a hot sheet dips into a vent, mm.

    Args:
        diameter: of the vent, mm.
        gauge: of the sheet there, mm.
        hot_shear_modulus: MPa.
        pressure: difference across the sheet, kPa.
    """
    radius, modulus, p = diameter / 2, 3 * hot_shear_modulus, pressure / 1000
    thick = (2 - 4 / pi) * 0.75 * p * radius / modulus
    stiffness = modulus * gauge**3 / (12 * 0.75)
    thin = p * radius**4 / (64 * stiffness)
    return max(thick, thin)


def venting_seconds(
    trapped: float, vents: int, diameter: float, outside: float, end: float
) -> float:
    """Return how long the air under a sheet takes to leave through the vents, s.

    Args:
        trapped: litres.
        vents: how many.
        diameter: of each, mm.
        outside: pressure at first, kPa.
        end: pressure at last, kPa.
    """
    area = vents * pi * diameter**2 / 4
    if area == 0:
        return float("inf")
    return trapped * 1e6 * log(outside / end) / (DISCHARGE * area * CHOKED * 1000)
