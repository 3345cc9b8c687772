"""Heat trials of the shop: noted at the press and at the strip heater, and what they teach.

Each says how long a sheet was heated and how it came out. What follows from all of one kind of
sheet on one heater is worked out in ``chape.forming.trials``; the time to use next is proposed for
the step, and used once a person accepts it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError
from sqlalchemy import insert, select

from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.forming.trials import Advice, Trial, advise, trials_of
from chape.shop.tables import HEATS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy.engine import Connection

    from chape.catalog.read import Catalog

#: Steps that heat, and the heater of the catalogue that they use unless told otherwise.
HEATERS = {"heat": "press", "warm": "strip"}

#: Room temperature unless told, °C.
ROOM = 22.0


def note_heat(
    connection: Connection, catalog: Catalog, step: str, told: Mapping[str, object], now: datetime
) -> Trial:
    """Keep a heat trial.

    Args:
        connection: of one transaction.
        catalog: that names the sheet and the heater.
        step: "heat" for the blank, "warm" for the fold.
        told: ``sheet``, ``seconds`` and ``outcome``; ``heater``, ``gauge``, ``setting``, ``room``
            and ``note`` where they are not the usual.
        now: it was made.

    Raises:
        InputError: no such step, sheet or heater, or a figure that cannot be.
    """
    if step not in HEATERS:
        raise InputError(f'found the step "{step}"', mend=f"Use one of: {', '.join(HEATERS)}")
    sheet = catalog.sheet(str(told["sheet"]))
    heater = catalog.heater(str(told.get("heater") or HEATERS[step]))
    base = {"gauge": sheet.gauge.value, "room": ROOM}
    given = {name: value for name, value in told.items() if value is not None}
    try:
        trial = Trial.model_validate({**base, **given, "heater": heater.name})
    except ValidationError as error:
        raise first_problem(error, file="the trial") from None
    connection.execute(
        insert(HEATS).values(
            step=step, heater=trial.heater, sheet=trial.sheet, gauge=trial.gauge,
            setting=trial.setting, seconds=trial.seconds, outcome=trial.outcome, room=trial.room,
            note=trial.note[:200], at=now,
        )
    )  # fmt: skip
    return trial


def heats_of(connection: Connection) -> dict[tuple[str, str], tuple[Trial, ...]]:
    """Return (step, sheet) -> its trials, oldest first, all on the heater used last."""
    rows = connection.execute(select(HEATS).order_by(HEATS.c.id)).mappings()
    found: dict[tuple[str, str], list[Trial]] = {}
    for row in rows:
        trial = Trial(
            sheet=row["sheet"], gauge=row["gauge"], heater=row["heater"], setting=row["setting"],
            seconds=row["seconds"], outcome=row["outcome"], room=row["room"], note=row["note"],
        )  # fmt: skip
        found.setdefault((row["step"], row["sheet"]), []).append(trial)
    return {
        key: tuple(each for each in trials if each.heater == trials[-1].heater)
        for key, trials in found.items()
    }


def advice_of(catalog: Catalog, trials: tuple[Trial, ...]) -> Advice:
    """Return what trials of one kind of sheet on one heater teach, at the setting used last.

    Raises:
        InputError: the catalogue no longer names the sheet or the heater.
    """
    last = trials[-1]
    sheet, heater = catalog.sheet(last.sheet), catalog.heater(last.heater)
    mine = trials_of(trials, sheet, heater)
    return advise(mine, sheet, heater, setting=last.setting, room=last.room)
