"""What a maker decides about forming, and what is worked out of it.

Temperatures °C, times s, pressures kPa, lengths mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

from pydantic import Field

from chape.catalog.model import NotNegative, Positive, Record

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.catalog.model import CutMaterial, Heater, SheetStock
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.forming.trials import Advice
    from chape.solve.spread import Estimate

Temperature = Annotated[float, Field(strict=True, ge=-40, le=400)]


class Air(StrEnum):
    """What blows over a sheet that cools on its mould."""

    STILL = "still"
    COMPRESSED = "compressed"


class FormingChoices(Record):
    """The ``[forming]`` table of a sheath file.

    Attributes:
        heater, strip, table: names in the catalogue: what heats the blank, what heats the fold,
            what draws the blank down.
        setting: what the heater is set to, °C; None takes the catalogue's.
        room: °C.
        altitude: of the workshop, m.
        air: that cools the sheet on its mould.
        transfer: from the heater to the table, s.
        load, unload: what the hands take to lay a blank in, and to lift it off, s.
        shots: how many one after the other.
    """

    heater: str = "press"
    strip: str = "strip"
    table: str = "table-400"
    setting: Temperature | None = None
    room: Annotated[float, Field(strict=True, ge=-10, le=45)] = 22.0
    altitude: Annotated[float, Field(strict=True, ge=-400, le=5000)] = 0.0
    air: Air = Air.STILL
    transfer: NotNegative = 6.0
    load: Positive = 20.0
    unload: Positive = 15.0
    shots: Annotated[int, Field(ge=1, le=500)] = 20


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Temperatures over time: seconds (n,), °C (n,)."""

    title: str
    seconds: Floats
    temperature: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Heating:
    """How a sheet gets hot.

    Attributes:
        setting: of the heater, °C; None for heaters that give a flux.
        ready: the coldest plane is warm enough to form, s; None where it never is.
        limit: the hottest face reaches the sheet's limit, s; None where it never does.
        wanted, highest: the two temperatures, °C.
        dropped: what the faces lose on the way to the table, K.
        face: temperature of the hotter face when the sheet is ready, °C.
        curves: coldest plane and hottest face.
    """

    setting: float | None
    ready: Estimate | None
    limit: Estimate | None
    wanted: float
    highest: float
    dropped: float
    face: float
    curves: tuple[Curve, ...]


@dataclass(frozen=True, slots=True, eq=False)
class FoldHeating:
    """How the fold's strip gets hot, from one face.

    Attributes:
        ready: the far face is warm enough, it folds without resistance, s.
        limit: the near face reaches the sheet's limit and a line forms, s.
        flat_length: of the fold's bent part, at its longest, mm.
        band: heated width that the flat length needs, mm.
        heater_band: heated width there is, mm.
        curves: near and far face.
    """

    ready: Estimate | None
    limit: Estimate | None
    flat_length: float
    band: float
    heater_band: float
    curves: tuple[Curve, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Cooling:
    """How a formed sheet gets cold on its mould.

    Attributes:
        first, last: until the sheet's middle is stiff, first shot and last of the run, s.
        stiff: that temperature, °C.
        mould: mean temperature of the mould after each shot, °C.
        mould_face: hottest the mould's face gets in the run, °C.
        growth: the mould's own growth by then, share of its length.
        scale: what the mould should be scaled by for this run, from the sheet's shrinkage and the
            mould's growth.
        curves: middle of the sheet and face of the mould, first and last shot.
    """

    first: Estimate | None
    last: float | None
    stiff: float
    mould: Floats
    mould_face: float
    growth: float
    scale: float
    curves: tuple[Curve, ...]


@dataclass(frozen=True, slots=True)
class Vacuum:
    """What the pump does. Pressures kPa, absolute unless said otherwise.

    Attributes:
        outside: pressure of the room at its altitude.
        trapped: air under the sheet before it is drawn down, litres.
        wanted: difference that forms the sheet.
        reached: difference the pump holds against the leak.
        seconds: until the wanted difference; None where it is never reached.
        load: force of that difference on sheet, mould and frame, N.
    """

    outside: float
    trapped: float
    wanted: float
    reached: float
    seconds: Estimate | None
    load: float


@dataclass(frozen=True, slots=True)
class Cycle:
    """One blank from the stack to the pile, s.

    Attributes:
        steps: (name, seconds, whether hands are needed), in order.
        alone: one blank by itself, from flat sheet to formed.
        period: from blank to blank with heater and table at work at once.
        held_by: what the period waits for.
        per_hour: blanks per hour.
    """

    steps: tuple[tuple[str, float, bool], ...]
    alone: float
    period: float
    held_by: str
    per_hour: float


@dataclass(frozen=True, slots=True)
class Place:
    """A place where something goes wrong: its middle, mm, its size, mm², and how bad it is."""

    x: float
    y: float
    area: float
    worst: float


@dataclass(frozen=True, slots=True, eq=False)
class Drape:
    """A sheet on its mould, over the blank's frame.

    Attributes:
        kept: share of the gauge that is left, over the blank's plan.
        gap: how far it stays above the mould, mm, over the blank's plan.
        thinnest: exceeded by 99 % of the formed sheet, a share.
        least: the smallest of all, a share, which finer nodes still lower.
        draw_ratio: area of the formed sheet over the area it was.
        webs: where the sheet is pushed together; ``worst`` is the least λ1 λ2².
        bridges: where it has not come down; ``worst`` is the gap, mm.
        trapped: air under the sheet once the frame is down, before any is drawn off, litres.
        spacing: of the sheet's nodes, mm.
        volume_error: share of the material lost, 0 but for rounding.
    """

    kept: HeightField
    gap: HeightField
    thinnest: float
    least: float
    draw_ratio: float
    webs: tuple[Place, ...]
    bridges: tuple[Place, ...]
    trapped: float
    spacing: float
    volume_error: float


@dataclass(frozen=True, slots=True, eq=False)
class Mounted:
    """A mould on its table.

    Attributes:
        surface: its top over the blank, the flange plane at z = 0.
        border: of the blank, held by the frame, mm.
        plate: thickness below the flange plane, mm.
        material: of the plate.
        vents: how many.
        vent: diameter of the widest, mm.
        draft: of the walls, degrees from upright.
        copies: sheaths on the blank.
        scale: it was made larger by, for the sheet's shrinkage.
    """

    surface: HeightField
    border: float
    plate: float
    material: CutMaterial
    vents: int
    vent: float
    draft: float
    copies: int
    scale: float


@dataclass(frozen=True, slots=True, eq=False)
class Forming:
    """Everything forming one blank comes to.

    Attributes:
        choices, sheet, heater, strip, mould_material: what it was worked out for.
        heating, fold, cooling, vacuum, cycle: times and temperatures; no fold for two pieces.
        venting: the trapped air leaves through the vents in, s.
        vents, vent, dip: how many, how wide, mm, and how deep the sheet dips into one, mm.
        copies: sheaths on the blank.
        drape, preview: on fine and on coarse nodes.
        walls: thickness of the formed sheet over each piece's flat frame, formed alone, mm.
        preview_difference: of the two, rms where the sheet is drawn, a share.
        closest: feet of two shapes on the blank, mm; None for a single shape.
        narrowest: channel the sheet still gets down into, mm; None where none was found.
        mould_scale: what the mould was scaled by.
        practice: the pace of "press" and "strip" that would make the trade's usual times.
        taught: what trials say of "blank" and of "fold"; empty where none was noted.
    """

    choices: FormingChoices
    sheet: SheetStock
    heater: Heater
    heating: Heating
    fold: FoldHeating | None
    strip: Heater
    cooling: Cooling
    mould_material: CutMaterial
    vacuum: Vacuum
    venting: float
    vents: int
    vent: float
    dip: float
    cycle: Cycle
    copies: int
    drape: Drape
    preview: Drape
    walls: tuple[HeightField, ...]
    preview_difference: float
    closest: float | None
    narrowest: float | None
    mould_scale: float
    practice: Mapping[str, float | None]
    taught: Mapping[str, Advice]
