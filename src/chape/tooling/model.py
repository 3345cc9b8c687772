"""Tooling: what a sheath is formed over, trimmed on and fitted with.

Blank frame: origin at the front-left corner of the blank, z = 0 at the plane the flanges lie in,
z up.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Literal

import numpy as np
from pydantic import Field

from chape.catalog.model import Length, PositiveLength, Record

if TYPE_CHECKING:
    from chape.catalog.model import Board, Screw, SheetStock
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.field.outline import Outline
    from chape.sheath.model import Piece, Sheath


#: A ridge between two finishing lines, mm: finer takes more hours than any sheet shows, coarser is
#: seen as a leftover.
Scallop = Annotated[PositiveLength, Field(ge=0.002, le=0.1)]


class OtherSheath(Record):
    """One ``[[blank.others]]`` table: a further sheath on the same blank.

    Attributes:
        sheath: its sheath file, beside this one.
        copies: how many of it.
    """

    sheath: str
    copies: Annotated[int, Field(ge=1, le=64)] = 1


class BlankChoices(Record):
    """The ``[blank]`` table: the sheet blank that goes over the mould.

    Attributes:
        width, depth: along x and y, mm.
        copies: how many sheaths on it.
        clamp_border: held by the frame all round, nothing is formed there, mm.
        gap: sheet between two trimmed outlines, room for the trim cutter, mm.
        others: further sheaths on the same blank.
    """

    width: PositiveLength = 300.0
    depth: PositiveLength = 300.0
    copies: Annotated[int, Field(ge=1, le=64)] = 4
    clamp_border: Length = 8.0
    gap: PositiveLength = 8.0
    others: Annotated[tuple[OtherSheath, ...], Field(max_length=8)] = ()


class Way(StrEnum):
    """Whether a mark stands out of the sheath or is let into it."""

    RAISED = "raised"
    SUNK = "sunk"


class MarkChoice(Record):
    """A mark on the mould, which shows through the sheet.

    Attributes:
        text, figure: one of the two: letters, or the name of a DXF or SVG file beside the sheath
            file, whose lines are followed.
        x, y: of its middle, in the knife's frame, mm; y None for the middle of the knife there.
        half: "front" or "back" of the sheath.
        height: of capitals, or of the figure, mm.
        depth: how far it stands out or is let in, mm.
        angle: counter-clockwise from the knife's length, seen from outside with the spine up,
            degrees.
        way: raised or sunk.
    """

    text: str | None = None
    figure: str | None = None
    x: Annotated[float, Field(ge=-100, le=1000), "length"]
    y: Annotated[float, Field(ge=-500, le=500), "length"] | None = None
    half: Literal["front", "back"] = "front"
    height: PositiveLength = 10.0
    depth: Annotated[PositiveLength, Field(ge=0.1)] = 0.5
    angle: Annotated[float, Field(ge=-360, le=360)] = 0.0
    way: Way = Way.RAISED


class MouldChoices(Record):
    """The ``[mould]`` table.

    Attributes:
        plate: thickness of the plate below the flange plane, mm.
        allowance: stock above the highest feature before cutting, mm.
        scallop: ridge left between two lines of the finishing cutter, mm.
        vent_pitch_most: no two vents along a foot further apart, mm.
        shrink: net shrinkage the mould is scaled up for; None takes the sheet's own figure.
        groove_width, groove_depth: back grooves, mm.
        material: name in the catalogue of what it is cut from.
        hold, hold_back: names in the catalogue of how the plate is held for its first and its
            second side.
        offset: work offset it is cut in.
        marks: text and figures that show through the sheet.
        grid_pitch: the vacuum table's own grid, which the grooves open into, mm: grooves in the
            table along both axes, counted from the plate's front-left corner.
    """

    plate: PositiveLength = 25.0
    allowance: PositiveLength = 1.0
    scallop: Scallop = 0.02
    vent_pitch_most: PositiveLength = 25.0
    shrink: Annotated[float, Field(ge=-0.02, le=0.05)] | None = None
    groove_width: PositiveLength = 3.0
    groove_depth: PositiveLength = 3.0
    grid_pitch: PositiveLength = 50.0
    material: str = "HDPE"
    hold: str = "screws-below"
    hold_back: str = "clamps-4"
    offset: str = "G54"
    marks: tuple[MarkChoice, ...] = ()


class FixtureChoices(Record):
    """The ``[fixture]`` table.

    Attributes:
        plate: thickness of the plate below the flange plane, mm.
        allowance: stock above the highest feature before cutting, mm.
        scallop: ridge left between two lines of the finishing cutter, mm.
        seat_clearance: between the formed sheath's inside and the seat, mm.
        relief_depth, relief_width: groove under the outline that the trim cutter runs in, mm.
        screw: name of the hold-down screw in the catalogue.
        screws_per_sheath: how many eyelets of each sheath are screwed down; of a sheath of two
            pieces, of either piece.
        board: name of the location board in the catalogue.
        material: name in the catalogue of what it is cut from.
        hold: name in the catalogue of how its plate is held while it is cut.
        known_as: name of the numbered fixture of the workshop that this one is; None for a new
            one.
    """

    plate: PositiveLength = 25.0
    allowance: PositiveLength = 1.0
    scallop: Scallop = 0.02
    seat_clearance: Length = 0.2
    relief_depth: PositiveLength = 2.0
    relief_width: PositiveLength = 9.0
    screw: str = "screw-m6-button"
    screws_per_sheath: Annotated[int, Field(ge=0, le=12)] = 4
    board: str = "board-300"
    material: str = "HDPE"
    hold: str = "screws-below"
    known_as: str | None = None


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one piece lies on the blank.

    Quarter turns counter-clockwise about the flat frame's origin, then a move by (x, y) mm.
    """

    x: float
    y: float
    quarter_turns: int

    def placed(self, points: Floats) -> Floats:
        """Return points (n, 2) of the flat frame where they come to lie on the blank."""
        for _ in range(self.quarter_turns % 4):
            points = np.column_stack([-points[:, 1], points[:, 0]])
        placed: Floats = points + np.array([self.x, self.y])
        return placed


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A piece of a sheath where it is formed and cut on the blank.

    Attributes:
        sheath, piece: which, of the layout's sheaths and of that sheath's pieces.
        place: where it lies.
        pattern: its trimmed outline, blank frame.
    """

    sheath: int
    piece: int
    place: Placement
    pattern: Outline


@dataclass(frozen=True, slots=True)
class Most:
    """How many sheaths can lie on a blank at most, and how that is known.

    Attributes:
        number: more than this cannot lie on it.
        searched: a search in full has proved it, for pieces turned by quarters; otherwise their
            area alone forbids more, however they are turned.
    """

    number: int
    searched: bool

    def said(self, laid: int) -> str:
        """Return the bound in words, beside the number that was found to go."""
        if laid >= self.number:
            how = "by a search in full, turned by quarters" if self.searched else "by their area"
            return f"that is the most: proved {how}"
        if self.searched:
            return f"turned by quarters, no more than {self.number} could: proved by a search"
        return f"by their area no more than {self.number} could"


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Sheaths on one blank, net size (not scaled for shrinkage).

    Attributes:
        sheaths: that are made, each once however many copies of it there are; all of one sheet.
        parts: every piece of every copy, as it lies on the blank.
        formed: the whole blank as formed: the sheaths, corner locators and front mark, over a
            grid that covers the blank; 0 is the flange plane.
        locators: (x, y, radius, height) of each corner locator, mm.
        front_mark: (x, y) of its centre and its half lengths along x and y, mm; None where there
            was no room for one.
        at_most: how many sheaths can lie on the blank; None where that was not asked.
        unmarked: the blank as formed before marks were laid on it; None where it has none.
    """

    sheaths: tuple[Sheath, ...]
    blank: BlankChoices
    parts: tuple[Part, ...]
    formed: HeightField
    locators: tuple[tuple[float, float, float, float], ...]
    front_mark: tuple[float, float, float, float] | None = None
    at_most: Most | None = None
    unmarked: HeightField | None = None

    @property
    def sheet(self) -> SheetStock:
        """The sheet the blank is cut from."""
        return self.sheaths[0].sheet

    @property
    def fillet(self) -> float:
        """Least inside radius of the formed blank, mm."""
        return min(sheath.choices.fillet for sheath in self.sheaths)

    @property
    def patterns(self) -> tuple[Outline, ...]:
        """Trimmed outline of each part, blank frame."""
        return tuple(part.pattern for part in self.parts)

    @property
    def copies(self) -> int:
        """How many sheaths the blank gives."""
        return sum(part.piece == 0 for part in self.parts)

    def name_of(self, number: int) -> str:
        """Return what a part is called: "sheath 2", or "sheath 2, front" of one of two pieces.

        Where the blank gives different sheaths, copies are counted by sheath, and its name is said.
        """
        part = self.parts[number]
        copy = sum(
            (other.sheath, other.piece) == (part.sheath, part.piece)
            for other in self.parts[: number + 1]
        )
        sheath = self.sheath_of(part)
        which = f' of "{sheath.choices.name}"' if len(self.sheaths) > 1 else ""
        half = f", {self.piece_of(part).name}" if len(sheath.pieces) > 1 else ""
        return f"sheath {copy}{which}{half}"

    def sheath_of(self, part: Part) -> Sheath:
        """Return the sheath a part belongs to."""
        return self.sheaths[part.sheath]

    def piece_of(self, part: Part) -> Piece:
        """Return the piece a part is made as."""
        return self.sheath_of(part).pieces[part.piece]


@dataclass(frozen=True, slots=True)
class RoundHole:
    """A hole down the z axis, blank frame: centre, diameter, top and bottom, mm."""

    x: float
    y: float
    diameter: float
    z_top: float
    z_bottom: float
    use: str


@dataclass(frozen=True, slots=True, eq=False)
class Groove:
    """A groove of constant width along a line: points (n, 2), width, z of its floor, mm."""

    points: Floats
    width: float
    z_floor: float


@dataclass(frozen=True, slots=True, eq=False)
class Mould:
    """A forming mould, cut from both sides.

    Attributes:
        surface: the top as cut, scaled for shrinkage, blank frame.
        width, depth: of the plate, mm.
        z_bottom: underside, mm (negative).
        z_stock: top of the plate before cutting, mm.
        vents: through the flange plane down to the back grooves.
        grooves: on the underside, blank frame (z_floor is above z_bottom by the groove's depth).
        dowels: through holes that locate the flip, blank frame.
        scale: shrink scale the surface was made with.
        grid_pitch: of the vacuum table the grooves were made for, mm.
    """

    layout: Layout
    surface: HeightField
    width: float
    depth: float
    z_bottom: float
    z_stock: float
    vents: tuple[RoundHole, ...]
    grooves: tuple[Groove, ...]
    dowels: tuple[RoundHole, ...]
    scale: float
    grid_pitch: float = 50.0


@dataclass(frozen=True, slots=True, eq=False)
class Fixture:
    """A trim fixture: the formed blank sits on it while holes and outlines are cut.

    Attributes:
        surface: seat with the relief groove, blank frame, net size.
        seat: the same before the groove.
        z_bottom, z_stock: underside, and top before cutting, mm.
        inserts: blind holes for threaded inserts, under screwed eyelets and at the corners.
        pins: holes for the location board's dowel pins.
        reliefs: shallow holes under the sheet's other holes, so that no bore marks the seat.
        trim_paths: one closed outline per part: centre line of the relief groove, which is the
            trim cutter's own path.
        screws: indices into ``inserts`` used on sheaths; the rest hold the blank's corners.
        grooves: the relief grooves, closed along ``trim_paths``; what ``surface`` has cut out of
            ``seat``. Their floors are level, also where they cross the raised mouth.
        trim_cutter: diameter the trim paths were made for, mm.
        slots: reliefs under the sheet's slots, also cut out of ``seat``.
    """

    layout: Layout
    surface: HeightField
    seat: HeightField
    width: float
    depth: float
    z_bottom: float
    z_stock: float
    inserts: tuple[RoundHole, ...]
    pins: tuple[RoundHole, ...]
    reliefs: tuple[RoundHole, ...]
    trim_paths: tuple[Outline, ...]
    screws: tuple[int, ...]
    screw: Screw
    board: Board
    grooves: tuple[Groove, ...] = ()
    trim_cutter: float = 6.0
    slots: tuple[Groove, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Dummy:
    """A blunt copy of the knife for fitting without an edge.

    Attributes:
        half: half-thickness over the knife frame; 0 outside; inside the knife everywhere.
        edge_thickness: the least full thickness left anywhere, mm.
    """

    half: HeightField
    edge_thickness: float
