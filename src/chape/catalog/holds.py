"""How plates are held while they are cut, and the fixtures that hold work offsets."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Self

from pydantic import Field, model_validator

from chape.catalog.model import LARGEST, Length, PositiveLength, Record, Value


class ScrewHold(Record):
    """Screws from below, through the board into the plate.

    Attributes:
        count: how many.
        thread: nominal diameter, mm.
        engaged: length of thread in the plate, mm.
        torque: each is tightened to, N m.
        nut_factor: K of the torque estimate: clamp force = torque / (K x diameter).
    """

    count: Annotated[int, Field(ge=1, le=64)]
    thread: Value
    engaged: Value
    torque: Value
    nut_factor: Value


class VacuumHold(Record):
    """A vacuum plate under the piece.

    Attributes:
        difference: of pressure wanted under the piece, kPa.
        sealed_share: of the piece's underside that the seal encloses.
        pump: suction at its inlet, m³/h.
        ultimate: lowest pressure the pump reaches with its inlet shut, kPa.
        leak: air that leaks in, m³/h at room pressure.
    """

    difference: Value
    sealed_share: Annotated[float, Field(gt=0, le=1)]
    pump: Value
    ultimate: Value
    leak: Value


class ClampHold(Record):
    """Clamps that bear on the top of the piece at its edges.

    Attributes:
        count: how many.
        force: of each, N.
        reach: how far they stand over the piece, mm.
    """

    count: Annotated[int, Field(ge=1, le=64)]
    force: Value
    reach: PositiveLength


class Hold(Record):
    """One way to hold a plate: exactly one of screws, vacuum and clamps.

    Attributes:
        friction: between the piece and what it lies on.
    """

    name: str
    title: str
    friction: Value
    screws: ScrewHold | None = None
    vacuum: VacuumHold | None = None
    clamps: ClampHold | None = None

    @model_validator(mode="after")
    def _check_one(self) -> Self:
        ways = (self.screws, self.vacuum, self.clamps)
        if sum(way is not None for way in ways) != 1:
            raise ValueError("give it exactly one of the tables screws, vacuum and clamps")
        return self


class NumberedFixture(Record):
    """A fixture of the workshop with the work offset that is its own on one machine.

    Attributes:
        number: painted on it.
        machine: name of the router.
        board: name of the location board it drops onto.
        offset: its work offset, held by no other fixture on that machine.
        checked: day its zero was last checked; None for never.
        method: how.
        by: who checked it.
        drift: how far the zero had moved when it was checked, mm.
        drift_allowed: more than this and nothing is cut on it, mm.
        check_every: days until the next check is due.
    """

    name: str
    title: str
    number: Annotated[int, Field(ge=1, le=9999)]
    machine: str
    board: str
    offset: str
    checked: dt.date | None = None
    method: str = ""
    by: str = ""
    drift: Length = 0.0
    drift_allowed: PositiveLength = 0.05
    check_every: Annotated[int, Field(ge=1, le=LARGEST)] = 90

    @property
    def words(self) -> str:
        """The fixture as a person calls it: 'fixture 7 "seven"'."""
        return f'fixture {self.number} "{self.name}"'
