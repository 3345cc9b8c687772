"""From a knife and a maker's choices to a sheath, step by step."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, radians, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import CannotMakeError, InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.cavity import make_cavity, shaped, sheath_grid
from chape.sheath.drain_holes import plan_drains
from chape.sheath.fold import make_fold, relieved
from chape.sheath.formed import (
    APRON,
    RUNOUT,
    TIP_RUNOUT,
    half_surface,
    rounded_corners,
    with_ramp,
)
from chape.sheath.halves import half_surface_of, strip_end_at
from chape.sheath.holes import find_foot, rivet_lines
from chape.sheath.locus import locus_of
from chape.sheath.model import Sheath, Style
from chape.sheath.outline import half_outline, lip_of, tip_end
from chape.sheath.pieces import CutHalf, formed_as, pieces_of
from chape.sheath.place_holes import place_holes
from chape.sheath.slots import place_slots

if TYPE_CHECKING:
    from chape.catalog.hardware import Eyelet
    from chape.catalog.read import Catalog
    from chape.knife.model import Knife
    from chape.sheath.cavity import Surroundings
    from chape.sheath.holes import Foot
    from chape.sheath.model import Fold, SheathChoices
    from chape.sheath.place_holes import PlaceHoles

#: The mould's surface is kept this far outside the trimmed outline, mm.
BORDER = 6.0

#: No hole is held further from the knife than this, mm: there is no sheath there.
HELD_REACH = 60.0

#: Clearances wider than this hold nothing, mm. A slip of the decimal point, most likely.
CLEARANCE_MOST = 6.0


def design_sheath(
    knife: Knife, choices: SheathChoices, catalog: Catalog, place: PlaceHoles = place_holes
) -> Sheath:
    """Design a sheath.

    Args:
        knife: its half field on a grid of about ``choices.spacing``.
        choices: the maker's.
        catalog: where sheet, eyelet and clip are looked up.
        place: plans the holes.

    Raises:
        InputError: a name the catalogue does not know, or a choice that makes no sheath.
        CannotMakeError: the knife cannot be folded around, or the holes do not fit.
    """
    sheet = catalog.sheet(choices.sheet)
    eyelet = catalog.eyelet(choices.eyelets.eyelet)
    clips = tuple(catalog.clip(choice.clip) for choice in choices.clips)
    mouth_x = knife.blade_length + choices.mouth.wrap
    _check_choices(knife, choices, mouth_x)

    extent = _extent(knife, choices, eyelet, mouth_x)
    x_min, y_min, x_max, y_max = extent
    fold: Fold | None = None
    if choices.style is Style.FOLDED:
        fold = make_fold(knife, choices, sheet, sheath_grid(x_min, 0, x_max, 0, choices.spacing).x)
        y_max = fold.line
    grid = sheath_grid(x_min, y_min, x_max, y_max, choices.spacing)
    cavity = make_cavity(knife, choices, grid, strip_end_at(fold, grid.x))

    half = rounded_corners(
        half_surface(cavity.shape, fold, choices, _ends(extent, choices)), choices.fillet
    )
    if fold is not None and choices.fold.relief > 0:
        fold = relieved(fold, knife, half, choices, mouth_x)
    foot = find_foot(half, fold)
    lines = rivet_lines(foot, eyelet, choices, *_rivets_within(foot, eyelet, choices, mouth_x))
    # From the mouth the open side of the edge lies to the left, that of a spine to the right.
    loci = tuple(locus_of(line, side=side) for line, side in zip(lines, (1, -1), strict=False))
    placed = place(loci, eyelet, clips, choices)
    spots = placed.spots
    ends = tip_end(foot, choices), mouth_x
    spots += plan_drains(foot, fold, spots, choices, ends)
    gauge = float(sheet.gauge.value)
    ramp = choices.thumb_ramp
    level = ends[0], mouth_x - (ramp.length if ramp.height else 0.0)
    slots = place_slots(lines[0], foot, spots, choices.slots, gauge, level)
    outline = half_outline(foot, lines, spots, slots, choices, mouth_x, fold, gauge)
    lip = lip_of(outline, foot, choices, mouth_x)

    _, low, _, high = outline.bounds
    half = _cropped(half, low - BORDER, high + BORDER if fold is None else y_max)
    front = half if lip is None else with_ramp(half, lip, choices, mouth_x)
    halves = CutHalf(front, half, outline, lip, spots, slots)
    return Sheath(
        choices=choices,
        knife=knife,
        sheet=sheet,
        eyelet=eyelet,
        clips=placed.clips,
        cavity=cavity.shape,
        envelope=cavity.envelope,
        fold=fold,
        pieces=pieces_of(halves, choices, fold, mouth_x),
        mouth_x=mouth_x,
        proof=placed.proof,
        lines=tuple(locus.points for locus in loci),
        other_lengths=catalog.other_lengths(eyelet),
    )


def with_snap_depth(sheath: Sheath, around: Surroundings, snap_depth: float) -> Sheath:
    """Return a sheath formed to another depth on the fold, holes and outline it has.

    A sheath designed afresh might fold a little higher or lower. While a depth is searched for this
    is near enough, and far quicker. The thumb ramp is left out.

    Args:
        sheath: as designed with some snap depth.
        around: surroundings of its cavity, over the same grid.
        snap_depth: mm.
    """
    choices = sheath.choices.model_copy(update={"snap_depth": snap_depth})
    fold, grid = sheath.fold, sheath.cavity.grid
    cavity = shaped(around, sheath.knife, choices, strip_end_at(fold, grid.x)).shape
    ends = _ends(_extent(sheath.knife, choices, sheath.eyelet, sheath.mouth_x), choices)
    half = rounded_corners(half_surface(cavity, fold, choices, ends), choices.fillet)
    _, low, _, high = half_surface_of(sheath, upper=False).grid.bounds
    pieces = formed_as(sheath, _cropped(half, low, high))
    return replace(sheath, choices=choices, cavity=cavity, pieces=pieces)


def _check_choices(knife: Knife, choices: SheathChoices, mouth_x: float) -> None:
    """Refuse choices that make no sheath for this knife."""
    if choices.style is Style.PAIRED and choices.fold.relief > 0:
        raise InputError(
            "a paired sheath has no fold that could be cut away",
            mend='Leave the relief out, or set sheath.style to "folded"',
            field="sheath.fold.relief",
        )
    if mouth_x + RUNOUT > knife.length:
        most = knife.length - RUNOUT - knife.blade_length
        raise CannotMakeError(
            f"the sheath would wrap {choices.mouth.wrap:g} mm past the blade, and the handle is "
            f"{knife.length - knife.blade_length:.0f} mm long; {RUNOUT:g} mm of it must stay out",
            mend=f"Set mouth.wrap to {most:.0f} mm or less",
        )
    for name in ("blade", "handle", "side", "handle_side", "spine"):
        room = getattr(choices.clearance, name)
        if room > CLEARANCE_MOST:
            raise InputError(
                f"a clearance of {room:g} mm holds no knife",
                mend=f"Give {CLEARANCE_MOST:g} mm or less; 0.5 mm is usual over a blade",
                field=f"sheath.clearance.{name}",
            )
    _check_held(knife, choices)
    pads = choices.tip_pads
    if pads is not None and not pads.start < pads.end <= knife.blade_length:
        raise InputError(
            f"tip pads from {pads.start:g} to {pads.end:g} mm do not lie on a blade of "
            f"{knife.blade_length:g} mm",
            mend="Let them start before they end, both on the blade",
            field="sheath.tip_pads",
        )


def _check_held(knife: Knife, choices: SheathChoices) -> None:
    """Refuse places for holes that lie nowhere near the knife."""
    kinds = (("eyelet", "eyelets", choices.eyelets.at), ("drain", "drain", choices.drain.at))
    for what, table, places in kinds:
        for number, (x, y) in enumerate(places, 1):
            away = float(knife.outline.distance(shapely.Point(x, y)))
            if away > HELD_REACH:
                raise InputError(
                    f"{what} {number} is held at x = {x:g} mm, y = {y:g} mm, {away:.0f} mm from "
                    "the knife",
                    mend=f"Hold it within {HELD_REACH:g} mm, as x and y lie in the knife file",
                    field=f"sheath.{table}.at",
                )


def _extent(
    knife: Knife, choices: SheathChoices, eyelet: Eyelet, mouth_x: float
) -> tuple[float, float, float, float]:
    """Return x_min, y_min, x_max and y_max of all that may have to be formed, mm.

    The last is on a node, as the grid ends there where no fold line ends it.
    """
    draft = tan(radians(choices.clearance.draft))
    high = knife.thickness / 2 + choices.clearance.blade + choices.mouth.flare + knife.uncertainty
    wall = choices.clearance.side + knife.uncertainty + high * draft + choices.fillet
    # The tip is thin, so that little of its wall's height is fillet.
    nose = choices.clearance.side + knife.uncertainty + choices.fillet / 2
    x_min = -nose - choices.edging.tip - TIP_RUNOUT - choices.fillet
    x_max = mouth_x + RUNOUT + high * draft + choices.fillet
    flange = eyelet.flange.value + choices.eyelets.seat_margin + choices.edging.margin
    beside = wall + flange + BORDER + APRON
    y_min = knife.outline.bounds[1] - wall - flange - BORDER - APRON
    y_max = ceil((knife.outline.bounds[3] + beside) / choices.spacing) * choices.spacing
    return x_min, y_min, x_max, y_max


def _rivets_within(
    foot: Foot, eyelet: Eyelet, choices: SheathChoices, mouth_x: float
) -> tuple[float, tuple[float, float]]:
    """Return x of the first eyelet, and of the last beside edge and spine, mm."""
    ramp, margin, radius = choices.thumb_ramp, choices.edging.margin, eyelet.flange.value / 2
    # Without a fold the sheath narrows to its tip between two eyelets that stand behind it.
    first = tip_end(foot, choices) + radius + margin
    if choices.style is Style.PAIRED:
        first = foot.nose[0] + radius
    by_ramp = mouth_x - (ramp.length if ramp.height else margin)
    inside = radius + choices.eyelets.seat_margin
    return first, (by_ramp - inside, mouth_x - margin - inside)


def _ends(extent: tuple[float, float, float, float], choices: SheathChoices) -> tuple[float, float]:
    """Return x at which the surface comes down to the flange plane, at either end."""
    return extent[0] + choices.fillet, extent[2] - choices.fillet


def _cropped(half: HeightField, y_min: float, y_max: float) -> HeightField:
    """Return the rows of a half from ``y_min`` to ``y_max``, with level sheet where it has none."""
    grid = half.grid
    first = int(np.floor((y_min - grid.y0) / grid.spacing + 1e-6))
    last = int(np.ceil((y_max - grid.y0) / grid.spacing - 1e-6))
    y0 = grid.y0 + first * grid.spacing
    cropped = Grid(grid.x0, y0, grid.spacing, grid.nx, last - first + 1)
    # Further out than anything is formed lies the flange of a clip.
    below, above = max(0, -first), max(0, last - grid.ny + 1)
    rows = half.z[max(0, first) : last + 1]
    return HeightField(cropped, np.pad(rows, ((below, above), (0, 0))))
