"""What catalogue entries are: records read from TOML, every figure with its source.

Lengths mm, angles degrees in files.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Self

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

#: No figure of a workshop is larger: whatever is, is a slip of the pen.
LARGEST = 1e9

#: No length in a workshop is larger, in mm or in inches.
LONGEST = 10_000

Positive = Annotated[float, Field(strict=True, gt=0, le=LARGEST)]
NotNegative = Annotated[float, Field(strict=True, ge=0, le=LARGEST)]

# Strict: text is no number, and would not be turned from inches into mm.
#: Lengths carry a mark, so that a file in inches can be turned into mm before it is validated.
PositiveLength = Annotated[float, Field(strict=True, gt=0, le=LONGEST), "length"]
Length = Annotated[float, Field(strict=True, ge=0, le=LONGEST), "length"]


class Record(BaseModel):
    """A validated, unchangeable record that refuses unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Status(StrEnum):
    """How far a figure can be trusted."""

    STANDARD = "standard"
    HANDBOOK = "handbook"
    MEASURED = "measured"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"


class Value(Record):
    """A figure with what a reader needs to trust it.

    Attributes:
        value: the figure, in ``unit``.
        unit: its unit.
        spread: half-width of the range it is usually found in, same unit.
        source: document or reasoning.
        status: how far it can be trusted.
    """

    value: float
    unit: str
    source: str
    status: Status
    spread: NotNegative = 0.0


class SheetStock(Record):
    """A thermoplastic sheet the sheath is formed from.

    Attributes:
        flexural_modulus: at room temperature, 23 °C.
        modulus_loss: share of it that is lost with each kelvin above, up to where it softens.
        strain_limit: greatest strain of a joint that is used often.
    """

    name: str
    title: str
    material: str
    gauge: Value
    density: Value
    flexural_modulus: Value
    modulus_loss: Value
    strain_limit: Value
    forming_temperature: Value
    fume_temperature: Value
    deflection_temperature: Value
    shrinkage: Value
    k_factor: Value
    largest_vent: Value
    conductivity: Value
    specific_heat: Value
    expansion: Value
    hot_shear_modulus: Value
    folding_temperature: Value


class Screw(Record):
    """A hold-down screw through an eyelet hole, with the hole for its insert in the fixture."""

    name: str
    title: str
    thread: Value
    head_diameter: Value
    head_height: Value
    clearance_hole: Value
    insert_hole: Value
    insert_depth: Value


class CutterKind(StrEnum):
    """The shapes of cutter, each a body of revolution."""

    BALL = "ball"
    FLAT = "flat"
    BULL_NOSE = "bull-nose"
    DRILL = "drill"
    VEE = "vee"
    TAPERED_BALL = "tapered-ball"


class Cutter(Record):
    """A cutter in the rack.

    Attributes:
        number: the T word.
        diameter: cutting diameter, mm.
        corner: corner radius, mm (half the diameter for a ball, the ball at the tip of a tapered
            one, 0 for flat, drill and vee).
        point_angle: included angle of a drill, a vee or a tapered ball's cone, degrees; 180
            otherwise.
        flute_length: cutting length, mm.
        stick_out: tip to holder, mm.
        shank_diameter, holder_diameter: mm.
        flutes: number of cutting edges.
    """

    number: Annotated[int, Field(ge=1, le=999)]
    name: str
    kind: CutterKind
    diameter: Positive
    corner: NotNegative = 0.0
    point_angle: Annotated[float, Field(gt=0, le=180)] = 180.0
    flute_length: Positive
    stick_out: Positive
    shank_diameter: Positive
    holder_diameter: Positive
    flutes: Annotated[int, Field(ge=1, le=12)]

    @property
    def radius(self) -> float:
        """Half the cutting diameter, mm."""
        return self.diameter / 2

    @model_validator(mode="after")
    def _check_corner(self) -> Self:
        if self.corner > self.radius:
            raise ValueError(f"its corner {self.corner:g} is more than half its diameter")
        if self.kind is CutterKind.BALL and self.corner != self.radius:
            raise ValueError(f"the corner of a ball is half its diameter, {self.radius:g}")
        if self.kind is CutterKind.TAPERED_BALL and not (
            0 < self.corner < self.radius and self.point_angle < 180
        ):
            raise ValueError(
                "a tapered ball has a ball at its tip (corner) smaller than half its diameter, and "
                "a cone (point_angle) below 180 degrees"
            )
        return self


#: One figure for every axis, or one each for x, y and z.
PerAxis = Positive | tuple[Positive, Positive, Positive]


class Machine(Record):
    """A three-axis router.

    Attributes:
        travel: usable travel in x, y and z, mm.
        rapid: rapid rate, which no axis exceeds, mm/min.
        feed_most: highest feed, mm/min.
        spindle_least, spindle_most: rev/min.
        spindle_power: lasting, at the cutter, W; None where it is not known.
        acceleration: mm/s².
        lines_per_second: how fast its controller reads a program; None for no limit.
        change_seconds: of one cutter change, s.
        tool_changer: whether M6 changes the cutter by itself.
        dialect: name of the program dialect it reads.
        safe_height: height above the stock's top at which it may travel, mm.
    """

    name: str
    title: str
    travel: tuple[Positive, Positive, Positive]
    rapid: PerAxis
    feed_most: Positive
    spindle_least: Positive
    spindle_most: Positive
    spindle_power: Positive | None = None
    acceleration: PerAxis
    lines_per_second: Positive | None = None
    change_seconds: NotNegative = 0.0
    tool_changer: bool
    dialect: str
    safe_height: Positive

    @property
    def axis_rates(self) -> tuple[float, float, float]:
        """Highest rate of x, y and z, mm/min."""
        return _each(self.rapid)

    @property
    def axis_accelerations(self) -> tuple[float, float, float]:
        """Acceleration of x, y and z, mm/s²."""
        return _each(self.acceleration)


def _each(figure: float | tuple[float, float, float]) -> tuple[float, float, float]:
    return figure if isinstance(figure, tuple) else (figure, figure, figure)


class Board(Record):
    """A location board on the machine's table, which a mould or fixture drops onto.

    Attributes:
        offset: the work offset that belongs to it ("G54").
        pins: (x, y) of its dowel pins from the blank's front-left corner, mm.
        pin_diameter: mm.
    """

    name: str
    title: str
    offset: str
    pins: tuple[tuple[float, float], ...]
    pin_diameter: Positive

    @field_validator("pins")
    @classmethod
    def _check_pins(cls, pins: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        if len(set(pins)) < 2:
            raise ValueError("a plate needs two pins at different places to lie in one way only")
        return pins


class Rack(Record):
    """A set of cutters, each T number once."""

    name: str
    title: str
    cutters: Annotated[tuple[Cutter, ...], Field(min_length=1)]

    @field_validator("cutters")
    @classmethod
    def _check_numbers(cls, cutters: tuple[Cutter, ...]) -> tuple[Cutter, ...]:
        numbers = [cutter.number for cutter in cutters]
        for number in numbers:
            if numbers.count(number) > 1:
                raise ValueError(f"two cutters have the number T{number}")
        return cutters


class Thermal(Record):
    """How a solid takes up, passes on and answers to heat.

    Attributes:
        conductivity: W/(m K).
        density: kg/m³.
        specific_heat: J/(kg K).
        expansion: 1/K.
        softening: no mould of it should get hotter, °C.
    """

    conductivity: Value
    density: Value
    specific_heat: Value
    expansion: Value
    softening: Value


class CutMaterial(Record):
    """What a cutter meets: starting points for feeds and speeds; what a mould may be made of.

    Attributes:
        cutting_energy: to turn a volume into chips, J/mm³; 1 is a force of 1000 N
            on each mm² of chip.
        shear_strength: of threads and inserts in it, MPa.
        thermal: for materials a sheet may be formed on; None for others.
    """

    name: str
    title: str
    surface_speed: Value
    tooth_load_per_diameter: Value
    depth_per_diameter: Value
    cutting_energy: Value
    shear_strength: Value
    thermal: Thermal | None = None


class HeaterKind(StrEnum):
    """How a heater gets its heat into a sheet."""

    PLATEN = "platen"
    OVEN = "oven"
    RADIANT = "radiant"
    STRIP = "strip"


class ReleaseSheet(Record):
    """A thin sheet between platen and work that nothing sticks to."""

    gauge: Value
    conductivity: Value
    density: Value
    specific_heat: Value


class Heater(Record):
    """A press, an oven, a radiant heater or a strip heater.

    Attributes:
        temperature: of platens or air, °C; of the room for radiant and strip heaters.
        conductance: across each contact (platen) or from air and walls to a face, W/(m² K).
        flux: absorbed by a heated face besides, kW/m²; 0 for platens and ovens.
        back_conductance: what an unheated face loses to the room, W/(m² K).
        sides: how many faces are heated.
        release: between platens and sheet; None for bare ones and all other kinds.
        band: heated width of a strip heater, mm; 0 for the others.
    """

    name: str
    title: str
    kind: HeaterKind
    temperature: Value
    conductance: Value
    flux: Value
    back_conductance: Value
    sides: Annotated[int, Field(ge=1, le=2)]
    release: ReleaseSheet | None = None
    band: NotNegative = 0.0


class VacuumTable(Record):
    """A table with a pump, that draws a hot sheet down over a mould.

    Attributes:
        pump: suction of the pump at its inlet, m³/h.
        ultimate: lowest pressure the pump reaches with the inlet shut, kPa.
        volume: table, hoses and grooves, litres; pumped down with what lies under the sheet.
        tank: an evacuated vessel opened to the table, litres; 0 without one.
        leak: air that leaks in past seal and mould while holding, m³/h at room pressure.
        wanted: share of the room's pressure that forms and holds the sheet.
    """

    name: str
    title: str
    pump: Value
    ultimate: Value
    volume: Value
    tank: Value
    leak: Value
    wanted: Annotated[float, Field(gt=0, lt=1)]
