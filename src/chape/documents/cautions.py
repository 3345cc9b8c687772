"""What can hurt, said where the step is done."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from chape.catalog.model import SheetStock
    from chape.cutting.model import Setup


class Caution(StrEnum):
    """One caution in the words a page prints."""

    EDGE = (
        "A sharp edge cuts. Tape the edge before you measure or fit, point it away from you, or "
        "fit with the dummy knife instead."
    )
    HOT = "Sheet, mould and platens burn. Wear heat-proof gloves and long sleeves until it is cool."
    AIR = (
        "Compressed air drives chips and hot scraps into eyes and skin. Below 30 psi (2 bar) at "
        "the nozzle for cleaning, with chip guards and eye protection (29 CFR 1910.242(b)); never "
        "point it at anyone."
    )
    CHIPS = (
        "Chips fly and dust lingers. Wear eye and hearing protection and a dust mask; brush or "
        "vacuum, do not blow chips about with compressed air."
    )
    CUTTER = (
        "A turning cutter takes fingers. Guard closed, sleeves and hair tied back, no gloves near "
        "the spindle. Stop it and wait before you reach in or touch a screw."
    )
    FIRST = (
        "Prove the zero first: run above the work with the hand near the stop, then at a reduced "
        "feed."
    )
    LOOSE = "Parts come free at the end of their outline. Keep the screws in, and hands out."
    LAW = (
        "Laws on carrying knives differ from place to place; so do rules for workshops. Those, and "
        "the makers' data sheets, go before anything printed here."
    )


def fume_caution(sheet: SheetStock) -> str:
    """Return the caution on overheating, with the sheet's own limit."""
    return fume_words(sheet.fume_temperature.value)


def fume_words(limit: float) -> str:
    """Return the caution on overheating, with a limit in °C."""
    return (
        "Overheated PVC gives off hydrogen chloride, which burns lungs and rusts tools. Ventilate, "
        f"and never heat above the sheet maker's limit (here taken as {limit:g} °C)."
    )


def machine_cautions(setup: Setup) -> tuple[str, ...]:
    """Return what to mind while this setup is cut."""
    always = (Caution.FIRST, Caution.CUTTER, Caution.CHIPS)
    return (*always, Caution.LOOSE) if setup.outlines else always
