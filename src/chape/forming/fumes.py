"""What overheated PVC puts into a room's air.

At full loss a unit of PVC, C2H3Cl, 62.50 g/mol, gives off one HCl, 36.46 g/mol; a mole of gas at
25 °C and 1 atm fills 24.45 litres.
"""

from __future__ import annotations

#: g/mol; l/mol.
VINYL_CHLORIDE, HYDROGEN_CHLORIDE, MOLE = 62.50, 36.46, 24.45

#: Never more than this in the air that is breathed, parts per million (29 CFR 1910.1000, Table
#: Z-1, from memory).
CEILING = 5.0


def hydrogen_chloride(pvc: float, room: float) -> float:
    """Return parts per million of hydrogen chloride by volume.

    Args:
        pvc: decomposed to the end, g.
        room: its air, not renewed, m³.
    """
    litres = pvc / VINYL_CHLORIDE * MOLE
    return litres / (room * 1000) * 1e6
