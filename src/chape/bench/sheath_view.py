"""A sheath as the page draws it: its plan, and a section across it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import shapely
from shapely import affinity

from chape.bench.corners import corners, outline, rings
from chape.bench.handles import handles_of
from chape.bench.sheath_answers import (
    ClipView,
    DimensionView,
    HoleView,
    PlanView,
    SectionView,
)
from chape.documents.picture_plan import closed_outline
from chape.documents.picture_section import section_at
from chape.field.contour import regions_above
from chape.sheath.halves import (
    axis_of,
    fold_ends,
    half_holes,
    half_slots,
    half_surface_of,
    reach_along,
)

if TYPE_CHECKING:
    from chape.field.heights import HeightField
    from chape.sheath.model import Sheath

#: Walls are drawn where they stand this high, mm.
FOOT_LEVEL = 0.2

#: Tip pads narrower than this are not drawn, mm.
PAD_LEAST = 0.6

#: A section on the page is sampled so finely along y, mm.
SECTION_STEP = 0.4


def plan_view(sheath: Sheath) -> PlanView:
    """Return the plan of a sheath."""
    knife, choices, axis = sheath.knife, sheath.choices, axis_of(sheath)
    closed = closed_outline(sheath)
    first, last = reach_along(sheath)
    walls = regions_above(half_surface_of(sheath, upper=False), FOOT_LEVEL)
    walls = walls.intersection(shapely.box(first, -1e4, sheath.mouth_x, 1e4)).intersection(closed)
    fold = None
    if sheath.fold is not None:
        start, end = fold_ends(sheath, sheath.fold)
        fold = ((start, sheath.fold.line), (end, sheath.fold.line))
    pads, ramp = choices.tip_pads, choices.thumb_ramp
    flats = shapely.Polygon()
    if pads is not None:
        side = choices.clearance.side + knife.uncertainty
        flats = knife.outline.difference(knife.edge_band.buffer(side))
        flats = flats.intersection(shapely.box(pads.start, -1e4, pads.end, 1e4))
        # Crumbs between the two bands of a double-edged blade are no pad.
        flats = flats.buffer(-PAD_LEAST / 2).buffer(PAD_LEAST / 2)
    return PlanView(
        outline=outline(closed),
        walls=rings(walls),
        knife=outline(knife.outline),
        edge=rings(knife.edge_band),
        fold=fold,
        holes=[
            HoleView(
                id=f"{hole.use.value}-{number}",
                kind=hole.use.value,
                x=hole.u,
                y=hole.v + axis,
                diameter=hole.diameter,
                flange=2 * hole.keep_clear,
                held=hole.held,
            )
            for number, hole in enumerate(half_holes(sheath, upper=False), 1)
        ],
        slots=[
            outline(affinity.translate(slot.area(), 0, axis))
            for slot in half_slots(sheath, upper=False)
        ],
        clips=[
            ClipView(
                name=clip.clip.name, half=clip.half, points=corners(clip.points), astray=clip.astray
            )
            for clip in sheath.clips
        ],
        mouth=sheath.mouth_x,
        pads=rings(flats),
        ramp=(sheath.mouth_x - ramp.length, last) if ramp.height else None,
        handles=handles_of(sheath),
    )


def section_view(
    sheath: Sheath, x: float, walls: tuple[HeightField, ...] | None = None
) -> SectionView:
    """Return the section of a sheath at a station.

    Args:
        sheath: as designed.
        x: station, mm; kept between the sheath's ends.
        walls: thickness of the formed sheet over each piece's flat frame, mm; None for a sheet
            that forming has not thinned.
    """
    first, last = reach_along(sheath)
    x = min(max(x, first + 1.0), min(last, sheath.mouth_x) - 0.5)
    section = section_at(sheath, walls, x, "", SECTION_STEP)
    return SectionView(
        x=x,
        knife=outline(section.knife),
        sheet=rings(section.sheet),
        dimensions=[
            DimensionView(start=gap.knife, end=gap.sheath, value=gap.width, label=gap.words)
            for gap in section.gaps
        ],
    )
