"""Eyelets and clips: what closes a sheath, and what it hangs by. Lengths mm, angles degrees."""

from __future__ import annotations

from enum import StrEnum
from math import hypot
from typing import Annotated, Literal

from pydantic import Field, field_validator

from chape.catalog.model import Record, Value


class Eyelet(Record):
    """A hollow rivet that closes the flanges.

    Attributes:
        hole: diameter to drill, mm.
        flange: diameter of its head, mm.
        grip_least, grip_most: thinnest and thickest stack it clinches, mm.
        family: eyelets of one family differ in their length alone; "" for one that has no others.
    """

    name: str
    title: str
    hole: Value
    flange: Value
    grip_least: Value
    grip_most: Value
    family: str = ""


#: More holes than this no clip has, and none nearer than this to another, mm.
HOLES_MOST, HOLES_APART = 12, 2.0


class Fixing(StrEnum):
    """What holds a clip: screws through the eyelets, or the eyelets themselves."""

    SCREW = "screw"
    EYELET = "eyelet"


#: From a pattern's origin no hole is further than this, mm.
PATTERN_MOST = 300.0

PatternLength = Annotated[float, Field(strict=True, ge=-PATTERN_MOST, le=PATTERN_MOST)]


class Clip(Record):
    """A belt clip's hole pattern.

    Attributes:
        holes: (x, y) of each hole from the pattern's own origin, mm, seen with the sheath behind
            the clip.
        hole: diameter, mm.
        angles: permitted angles of the pattern's x axis to the line of eyelets, from the way mouth
            to tip, turning away from the wall, degrees.
        half: which half of the sheath it sits on; with "both" the back is taken.
        thickness: of its foot, where screw or eyelet goes through, mm.
        washer: thickness of all washers on one screw or eyelet, mm; None for none.
        seat: diameter of level sheet round each hole, mm; None where an eyelet's flange will do.
        fixing: what holds it.
    """

    name: str
    title: str
    holes: Annotated[tuple[tuple[PatternLength, PatternLength], ...], Field(min_length=1)]
    hole: Value
    angles: Annotated[tuple[Annotated[float, Field(ge=-180, le=180)], ...], Field(min_length=1)]
    half: Literal["back", "front", "both"]
    thickness: Value | None = None
    washer: Value | None = None
    seat: Value | None = None
    fixing: Fixing = Fixing.SCREW
    source: str

    @field_validator("holes")
    @classmethod
    def _check_holes(
        cls, holes: tuple[tuple[float, float], ...]
    ) -> tuple[tuple[float, float], ...]:
        if len(holes) > HOLES_MOST:
            raise ValueError(f"a pattern has {HOLES_MOST} holes at most")
        for k, (x, y) in enumerate(holes):
            for other in holes[:k]:
                if hypot(x - other[0], y - other[1]) < HOLES_APART:
                    raise ValueError(
                        f"two holes lie nearer than {HOLES_APART:g} mm at {x:g}, {y:g}"
                    )
        return holes

    @field_validator("hole")
    @classmethod
    def _check_hole(cls, hole: Value) -> Value:
        if not 1 <= hole.value <= 20:
            raise ValueError("a clip's holes are 1 to 20 mm wide")
        return hole

    @field_validator("thickness", "washer", "seat")
    @classmethod
    def _check_length(cls, value: Value | None) -> Value | None:
        if value is not None and not 0 <= value.value <= 40:
            raise ValueError("it lies between 0 and 40 mm")
        return value
