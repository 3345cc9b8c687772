"""What the page is told of a sheath: plan, section, figures, what can be dragged.

Everything lies in the frame of the knife at home, mm: x from its tip towards the butt, y up towards
the spine, z off its mid-plane. Nothing here needs numerics, so that the server stays light.
"""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from chape.bench.finding import FindingAnswer
from chape.bench.problem import Problem

Corner = tuple[float, float]
Corners = list[Corner]


class Handle(BaseModel):
    """Something to drag.

    Attributes:
        path: of the value in the sheath file, rows of a table counted from 0.
        label: what it is.
        x, y: where it lies, mm.
        along: the way it moves, of length 1.
        per_mm: the value grows by this for each mm of that way.
        value: now.
    """

    path: str
    label: str
    x: float
    y: float
    along: Corner
    per_mm: float
    value: float


class HoleView(BaseModel):
    """A hole of the front half.

    Attributes:
        id: the same while holes are only moved.
        flange: the rivet's flange needs a disc as wide level, mm.
        held: which row of ``sheath.eyelets.at`` or ``sheath.drain.at`` it is; null where planned.
    """

    id: str
    kind: Literal["eyelet", "clip", "drain"]
    x: float
    y: float
    diameter: float
    flange: float
    held: int | None


class ClipView(BaseModel):
    """A clip where it lies, with its holes."""

    name: str
    half: str
    points: Corners
    astray: float


class PlanView(BaseModel):
    """The closed sheath with its knife home, seen from the front of a right-hand one.

    Attributes:
        outline: of the closed sheath.
        walls: rims of the formed walls' feet, by even-odd.
        knife, edge: the knife's outline, and the band on it that nothing may touch.
        fold: from tip to mouth; null for two sheets.
        holes: of the front half.
        slots: each its rim.
        mouth: x where the sheath ends.
        pads: rims of the flats that the tip pads touch.
        ramp: from where to where along x the thumb ramp curls up; null without one.
        handles: what can be dragged.
    """

    outline: Corners
    walls: list[Corners]
    knife: Corners
    edge: list[Corners]
    fold: tuple[Corner, Corner] | None
    holes: list[HoleView]
    slots: list[Corners]
    clips: list[ClipView]
    mouth: float
    pads: list[Corners]
    ramp: tuple[float, float] | None
    handles: list[Handle]


class DimensionView(BaseModel):
    """Room between knife and sheath in a section: from the knife's point to the sheath's."""

    start: Corner
    end: Corner
    value: float
    label: str


class SectionView(BaseModel):
    """A section across the closed sheath, (y, z).

    Attributes:
        knife: its rim; empty beyond its ends.
        sheet: rims of the sheet, by even-odd: its outside, and the inside where it is closed.
        dimensions: the narrowest room at the edge, beside the flat and at the spine.
    """

    x: float
    knife: Corners
    sheet: list[Corners]
    dimensions: list[DimensionView]


class FiguresView(BaseModel):
    """What is read off a sheath; ``chape.pipeline.glance.Figures`` says what is what."""

    model_config = ConfigDict(from_attributes=True)

    spacing: float
    least_clearance: float
    edge_clearance: float
    length: float
    snap_depth: float
    mass: float
    flat_area: float
    blank_use: float
    copies: int
    holes: int


class PreviewAnswer(BaseModel):
    """How a sheath would look; with a problem in place of all the rest where there is none.

    Attributes:
        sequence: of the wish this answers.
        seconds: of computing.
        carried: the holes are those planned last, carried along, until the drag ends.
        dropped: a newer wish came before this one was begun; nothing else is told.
    """

    sequence: int
    seconds: float = 0.0
    carried: bool = False
    dropped: bool = False
    figures: FiguresView | None = None
    plan: PlanView | None = None
    section: SectionView | None = None
    findings: list[FindingAnswer] = []
    problem: Problem | None = None
