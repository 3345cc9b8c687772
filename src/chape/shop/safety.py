"""What can hurt at each station, and what a customer has to know: in the words papers print."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.cautions import Caution, fume_caution

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.model import SheetStock

#: Goes before everything else, on every card.
FIRST = (
    "Local codes, the machine's manual and the data sheet of your material go before anything "
    "printed here."
)

_PINCH = "Platens, clamps and setters crush fingers. Close them with both hands on their handles."
_ELECTRIC = "Unplug a heater before you clean it; never reach in with anything that conducts."
_DUST = (
    "Dust of plastics gets into lungs and eyes. Extract it where it is made, wear a mask, and "
    "brush or vacuum rather than blow."
)
_SHARP = (
    "Cut sheet and burrs have sharp edges. Wear gloves that resist cuts when you carry blanks, "
    "none near anything that turns."
)
_TURNING = (
    "Whatever turns takes hair, sleeves and gloves with it. Tie back, roll up, no gloves; stop it "
    "before you reach in."
)

#: Station -> its cautions; "fumes" stands for the caution with the sheet's own limit.
CARDS: dict[str, tuple[str, ...]] = {
    "press": (str(Caution.HOT), "fumes", _PINCH, _ELECTRIC, _SHARP),
    "table": (
        str(Caution.HOT),
        "fumes",
        "A vacuum frame comes down hard. Keep fingers off its rim.",
        str(Caution.AIR),
    ),
    "router": (str(Caution.FIRST), str(Caution.CUTTER), str(Caution.CHIPS), str(Caution.LOOSE)),
    "buffer": (
        _TURNING,
        _DUST,
        "A wheel throws what it catches: hold a sheath below its middle, edges trailing.",
        "Buff briefly: plastic that smokes gives off what burns lungs.",
    ),
    "strip": (str(Caution.HOT), "fumes", _ELECTRIC),
    "jig": (str(Caution.HOT), _PINCH),
    "setter": (
        _PINCH,
        "Eyelets split and fly. Wear eye protection, and keep your other hand off the die.",
    ),
    "bench": (
        str(Caution.EDGE),
        (
            "Pull away from yourself and from others, the edge covered, with nobody in the line "
            "of draw."
        ),
        str(Caution.LAW),
    ),
    "packing": (
        "Knives of customers are packed with their edges covered and their points blunted by card.",
        "Solvents for cleaning burn and make dizzy: open a window, no flame, lid on.",
    ),
}

#: What goes with every sheath that is sold.
CARE = (
    (
        "Before you wear it",
        (
            (
                "Try it at home, the edge taped, over something soft: held upside down and "
                "shaken, the knife must stay; drawn and put back, its edge must touch nothing."
            ),
            (
                "Do that again after every fall, and every few weeks. A sheath that holds less "
                "than it did goes back to its maker."
            ),
            (
                "Draw away from your body, with your other hand well clear of the mouth, and "
                "put the knife back slowly, looking at it."
            ),
        ),
    ),
    (
        "Keep it well",
        (
            (
                "Heat softens it. Never leave it in a car in the sun, beside a stove, on a "
                "heater: it opens and lets go of the knife."
            ),
            (
                "Rinse it with lukewarm water and let it dry upside down. Sand inside scratches "
                "the blade. No solvents."
            ),
            "A crack at an eyelet, a white line in the fold or a loose clip: stop using it.",
        ),
    ),
    (
        "The law",
        (
            (
                "Laws on carrying knives differ from place to place, and change. Find out what "
                "holds where you are and where you travel before you carry it."
            ),
            "Keep it out of the hands of children.",
        ),
    ),
)


def card_of(station: str, sheets: Sequence[SheetStock]) -> tuple[str, ...]:
    """Return the cautions of a station; fumes with the lowest limit of the sheets in use."""
    lowest = min(sheets, key=lambda sheet: sheet.fume_temperature.value)
    return tuple(fume_caution(lowest) if words == "fumes" else words for words in CARDS[station])
