"""A sheath: what the maker chooses, and what is worked out from it.

Sheath frame: the knife frame with the knife home. Flat frame: the unfolded sheet, u = x and v
measured from the fold line. The front half (away from the body on a right-hand sheath) lies at
v < 0, where v = y - y_c; the back half is its mirror image at v > 0, where v = y_c - y. Of a
paired sheath each half has its own, v = y or v = -y. The flange plane z = 0 is the mid-plane later.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import cos, sin
from typing import TYPE_CHECKING, Annotated, Literal

import numpy as np
from pydantic import Field

from chape.catalog.model import Length, PositiveLength, Record
from chape.field.outline import Outline
from chape.sheath.places import Places

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.catalog.hardware import Eyelet
    from chape.catalog.model import SheetStock
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.knife.model import Knife
    from chape.sheath.placed_clip import PlacedClip, PlanProof

Degrees = Annotated[float, Field(ge=-180, le=180)]

#: More clips than this no sheath is sold with.
CLIPS_MOST = 12


class Style(StrEnum):
    """How the two halves are joined: folded about the spine, or riveted along both sides."""

    FOLDED = "folded"
    PAIRED = "paired"


class Hand(StrEnum):
    """The side of the body the sheath is worn on."""

    RIGHT = "right"
    LEFT = "left"


class Carry(StrEnum):
    """How the sheath hangs; horizontal is edge down, unless the spine is said to be."""

    TIP_DOWN = "tip-down"
    TIP_UP = "tip-up"
    HORIZONTAL = "horizontal"
    SPINE_DOWN = "horizontal-spine-down"


class Line(StrEnum):
    """The line of the trimmed outline."""

    SLIM = "slim"
    EVEN = "even"


class Clearance(Record):
    """Room between knife and sheath, mm; the draft of the walls, degrees from upright.

    Attributes:
        blade, handle: over the flats of the blade, and of guard and handle.
        side: beside the blade and its edge.
        handle_side: beside guard and handle: what lets the knife sway in its own plane.
        spine: between the spine and the fold; of a paired sheath, beside the spine.
        draft: of the walls.
    """

    blade: Length = 0.5
    handle: Length = 0.15
    side: PositiveLength = 1.2
    handle_side: PositiveLength = 0.4
    spine: Length = 0.2
    draft: Annotated[float, Field(gt=0, lt=60)] = 8.0


class Mouth(Record):
    """Where the sheath ends on the handle.

    Attributes:
        wrap: how far past the blade's end the sheath reaches over guard and handle, mm.
        flare: how far the mouth opens, each half, mm.
        flare_length: over this length, mm.
    """

    wrap: PositiveLength = 42.0
    flare: Length = 0.8
    flare_length: PositiveLength = 6.0


class TipPads(Record):
    """Pads near the tip that touch the flats behind the edge band, and stop rattle.

    Attributes:
        start, end: from and to this far from the tip, mm.
        ramp: the cavity comes down to the knife over this length, mm.
    """

    start: Length = 14.0
    end: PositiveLength = 34.0
    ramp: PositiveLength = 8.0


class Eyelets(Record):
    """Rivets along the open side, or along both sides of a paired sheath.

    Attributes:
        eyelet: name in the catalogue.
        pitch_most: no two neighbours further apart, mm.
        spacing_least: no two holes nearer than so many hole diameters, but those of one clip.
        seat_margin: level sheet between the wall's foot and the rivet's flange, mm.
        at: eyelets that stand where the maker wants them; the others are planned round them.
    """

    eyelet: str = "eyelet-6.4"
    pitch_most: PositiveLength = 38.0
    spacing_least: Annotated[float, Field(ge=1.5, le=8)] = 3.0
    seat_margin: Length = 1.0
    at: Places = ()


class ClipChoice(Record):
    """A belt clip that the sheath is sold with. It fits wherever the customer picks it.

    Attributes:
        clip: name in the catalogue.
        along: where its hole nearest to the mouth should come, as a fraction of the eyelet line.
        within: no further from there than this, mm; None for anywhere.
        angles: permitted instead of the catalogue's, degrees; None for those.
        half: which half it sits on; None for the catalogue's.
    """

    clip: str
    along: Annotated[float, Field(ge=0, le=1)] = 0.15
    within: PositiveLength | None = None
    angles: Annotated[tuple[Degrees, ...], Field(min_length=1, max_length=24)] | None = None
    half: Literal["back", "front"] | None = None


class Drain(Record):
    """Water must find its way out: a round hole at the lowest point of every hollow as carried.

    Attributes:
        diameter: mm; 0 leaves all of them out.
        at: drains that stand where the maker wants them; a hollow beside one gets no other.
    """

    diameter: Length = 5.0
    at: Places = ()


class ThumbRamp(Record):
    """A lip beside the mouth to push the thumb against when drawing.

    Attributes:
        height: how far the flange curls away, mm; 0 leaves the ramp out.
        length: over this length along x, mm.
    """

    height: Length = 4.0
    length: PositiveLength = 12.0


class SlotChoice(Record):
    """A slot through both flanges, for a strap or a lanyard.

    Attributes:
        along: where its middle comes on the line of eyelets, 0 at the mouth, 1 at the tip.
        length: over its round ends, mm.
        width: across, mm.
        angle: from the line of eyelets there, counter-clockwise on a right-hand sheath seen from
            the front, degrees.
        out: further from the wall than its rules ask, mm.
    """

    along: Annotated[float, Field(ge=0, le=1)]
    length: PositiveLength
    width: PositiveLength
    angle: Annotated[float, Field(ge=-90, le=90)] = 0.0
    out: Length = 0.0


class Edging(Record):
    """The trimmed outline, mm.

    Attributes:
        margin: sheet outside a rivet's flange.
        tip: sheet beyond the cavity at the tip.
        radius_least: no inside corner sharper than this (the trim cutter's radius, or more).
        line: slim, as near to walls and rivets as a fair line goes, or of even width.
        fair: a slim line has no hollow rounder than this.
        wall: sheet outside the walls along a slim line.
    """

    margin: PositiveLength = 2.0
    tip: PositiveLength = 8.0
    radius_least: PositiveLength = 3.2
    line: Line = Line.SLIM
    fair: Annotated[PositiveLength, Field(le=1000)] = 60.0
    wall: PositiveLength = 4.0


class FoldChoices(Record):
    """The fold of a folded sheath.

    Attributes:
        relief: the fold is cut away over this length from the mouth, mm, where it would cut into
            guard or handle; 0 leaves it whole.
    """

    relief: Length = 0.0


class SheathChoices(Record):
    """The ``[sheath]`` table of a sheath file: all that a maker decides about one sheath.

    Attributes:
        name: what the maker calls it.
        knife: the knife file, beside this one.
        sheet: name of the sheet in the catalogue.
        snap_depth: how deep the sheath reaches into the knife's undercuts, mm: 0 draws freely.
        fillet: inside radius of the formed sheath, mm; the finishing cutter must reach it.
        spacing: grid spacing of the design, mm.
        tip_pads: None, the table left out, for a sheath without.
        clips: that it is sold with.
    """

    name: str
    knife: str
    style: Style = Style.FOLDED
    hand: Hand = Hand.RIGHT
    carry: Carry = Carry.TIP_DOWN
    sheet: str = "acrylic-pvc-2.0"
    snap_depth: Length = 0.6
    fillet: PositiveLength = 3.0
    spacing: Annotated[float, Field(strict=True, ge=0.05, le=1.0), "length"] = 0.2
    clearance: Clearance = Clearance()
    mouth: Mouth = Mouth()
    tip_pads: TipPads | None = None
    eyelets: Eyelets = Eyelets()
    clips: Annotated[tuple[ClipChoice, ...], Field(max_length=CLIPS_MOST)] = ()
    drain: Drain = Drain()
    thumb_ramp: ThumbRamp = ThumbRamp()
    edging: Edging = Edging()
    fold: FoldChoices = FoldChoices()
    slots: tuple[SlotChoice, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Fold:
    """The fold, section by section (design of the compensation: ``sheath/fold.py``).

    Attributes:
        line: y of the fold line, y_c, mm.
        x: (n,) stations, mm.
        height: (n,) g, half the inside width of the U, mm.
        end: (n,) y_e, where the strip ends and the rigid half-cavity begins, mm.
        k_factor: neutral factor K.
        gauge: sheet thickness t, mm.
        relief: from (x, y) on, towards mouth and fold line, the sheet is cut away; None for a
            fold that runs to the mouth.
    """

    line: float
    x: Floats
    height: Floats
    end: Floats
    k_factor: float
    gauge: float
    relief: tuple[float, float] | None = None


class HoleUse(StrEnum):
    """What a hole is for."""

    EYELET = "eyelet"
    CLIP = "clip"
    DRAIN = "drain"


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole in the flat pattern, drilled once per half it goes through.

    Attributes:
        u, v: centre in the flat frame, mm.
        diameter: mm.
        use: eyelets may carry a clip as well; they stay eyelets.
        keep_clear: radius that the rivet's flange needs level, mm.
        held: which of the places the maker asked for, from 0; None for a hole that was planned.
    """

    u: float
    v: float
    diameter: float
    use: HoleUse
    keep_clear: float
    held: int | None = None


@dataclass(frozen=True, slots=True)
class Slot:
    """A straight slot with round ends in a piece's flat frame, cut through the sheet.

    Attributes:
        u, v: its middle, mm.
        length, width: over its round ends, and across, mm.
        angle: of its length from the u axis, radians.
    """

    u: float
    v: float
    length: float
    width: float
    angle: float

    @property
    def ends(self) -> Floats:
        """Middles of its two round ends, (2, 2), mm."""
        half = (self.length - self.width) / 2
        along = half * np.array([cos(self.angle), sin(self.angle)])
        middle = np.array([self.u, self.v])
        return np.array([middle - along, middle + along])

    @property
    def outline(self) -> Outline:
        """Its wall: two lines and two half circles."""
        across = self.width / 2 * np.array([-sin(self.angle), cos(self.angle)])
        first, last = self.ends
        corners = np.array([first - across, last - across, last + across, first + across])
        return Outline(corners, np.array([0.0, 1.0, 0.0, 1.0]))

    def area(self, within: float = 0.02) -> Polygon:
        """Return what it takes away, its ends true within a tolerance, mm."""
        return self.outline.polygon(within)


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One piece of sheet that a sheath is cut from, in its own flat frame.

    Attributes:
        name: what it is called in documents.
        formed: inner surface as formed; 0 is the flange plane. It runs on past the trimmed outline
            where the mould needs it.
        pattern: trimmed outline, lines and arcs.
        holes: every hole.
        slots: every slot.
    """

    name: str
    formed: HeightField
    pattern: Outline
    holes: tuple[Hole, ...]
    slots: tuple[Slot, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Sheath:
    """A designed sheath. Its two halves, one by one: ``sheath/halves.py``.

    Attributes:
        choices: what the maker decided.
        knife, sheet, eyelet: what it is made for and of.
        clips: that it is sold with, as each lies.
        proof: how good their hole plan is; None where there are no clips.
        other_lengths: eyelets of the same family, for thicker or thinner stacks.
        lines: lines of eyelets, each (n, 2) from the mouth to the tip, sheath frame, mm.
        cavity: half-cavity over the sheath frame, before the fold strip, mm.
        envelope: draw envelope E over the sheath frame, mm.
        fold: the fold and its compensation; None for a sheath of two pieces.
        pieces: what it is cut from: one piece with both halves, or the front and the back half.
        mouth_x: where the mouth is cut, mm.
    """

    choices: SheathChoices
    knife: Knife
    sheet: SheetStock
    eyelet: Eyelet
    clips: tuple[PlacedClip, ...]
    cavity: HeightField
    envelope: HeightField
    fold: Fold | None
    pieces: tuple[Piece, ...]
    mouth_x: float
    proof: PlanProof | None = None
    other_lengths: tuple[Eyelet, ...] = ()
    lines: tuple[Floats, ...] = ()
