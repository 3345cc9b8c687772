"""What cutting asks of spindle, cutter and hold.

    Q     mm³/s   removal rate       width x depth x feed / 60
    P     W       power              u Q
    T     N m     torque             60 P / (2 pi n)
    F     N       on one tooth       1000 u x chip thickness x depth
    hm    mm      mean chip          2 fz sqrt(r (1 - r)), r = width / D below a half
    De    mm      a ball's effective diameter at a depth, 2 sqrt(2 R a - a²)
    y     mm      bending at the tip F L³ / (3 E I), I = pi (share D)^4 / 64

u is the energy to turn a cubic millimetre into chips, J/mm³ (1 J/mm³ is 1000 N on each mm² of
chip). Formulas: Machinery's Handbook; Choi and Jerard, Sculptured Surface Machining; a cantilever
loaded at its end. Not modelled: that thin chips ask for more energy, blunt edges, vibration.
"""

from __future__ import annotations

from math import pi, radians, sqrt

#: Modulus of cemented carbide, N/mm² (550-650 GPa; from memory).
CARBIDE = 600_000.0
#: Flutes wind at this angle, and lift what they cut (common practice, no source).
HELIX = radians(30)
#: A cutter bends like a bar of this share of its diameter (common practice, no source).
CORE_SHARE = 0.8


def mean_chip(tooth_load: float, width: float, diameter: float) -> float:
    """Return the mean thickness of a chip, mm, where less than half the cutter is engaged.

    >>> round(mean_chip(0.1, 0.6, 6), 4)
    0.06
    """
    share = min(width / diameter, 0.5)
    return 2 * tooth_load * sqrt(share * (1 - share))


def effective_diameter(radius: float, depth: float) -> float:
    """Return the diameter a ball cuts with at a depth, mm: its surface speed is that one's.

    >>> round(effective_diameter(3, 0.5), 5)
    3.31662
    """
    deep = min(depth, radius)
    return 2 * sqrt(2 * radius * deep - deep**2)


def cutting_power(energy: float, width: float, depth: float, feed: float) -> float:
    """Return the power (W) to cut a width and a depth (mm) at a feed (mm/min)."""
    return energy * width * depth * feed / 60


def torque(power: float, spindle: float) -> float:
    """Return the torque (N m) of a power (W) at a speed (rev/min)."""
    return 60 * power / (2 * pi * spindle)


def tooth_force(energy: float, chip: float, depth: float) -> float:
    """Return the force (N) on one tooth for a chip thickness and a depth, mm."""
    return 1000 * energy * chip * depth


def bending(force: float, stick_out: float, diameter: float) -> float:
    """Return how far a cutter's tip bends aside (mm) under a force (N)."""
    second_moment = pi * (CORE_SHARE * diameter) ** 4 / 64
    return force * stick_out**3 / (3 * CARBIDE * second_moment)
