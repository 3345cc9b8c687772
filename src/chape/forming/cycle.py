"""How often a blank comes off the table.

One blank passes load, heat, move, draw down, cool, lift. While one cools on the table, the next can
heat, so that blanks follow each other at the pace of the slower station, or of the one pair of
hands: whichever takes longest.
"""

from __future__ import annotations

from chape.forming.model import Cycle, FormingChoices


def cycle_of(choices: FormingChoices, heat: float, draw: float, cool: float) -> Cycle:
    """Return the cycle of one heater and one table.

    Args:
        choices: what the hands take.
        heat: from closing the press until the sheet is ready, s.
        draw: until the vacuum is reached, s.
        cool: until the sheet may be lifted, s.
    """
    steps = (
        ("load", choices.load, True),
        ("heat", heat, False),
        ("move to the table", choices.transfer, True),
        ("draw down", draw, True),
        ("cool", cool, False),
        ("lift", choices.unload, True),
    )
    alone = sum(seconds for _, seconds, _ in steps)
    # The heater is busy until the sheet leaves it, the table from then until it is lifted.
    stations = {
        "the heater": choices.load + heat + choices.transfer,
        "the table": choices.transfer + draw + cool + choices.unload,
        "the hands": sum(seconds for _, seconds, hands in steps if hands),
    }
    held_by = max(stations, key=lambda name: stations[name])
    period = stations[held_by]
    return Cycle(steps, alone, period, held_by, 3600 / period)
