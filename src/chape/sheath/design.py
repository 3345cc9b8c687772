"""From a knife and a maker's choices to a sheath, step by step."""

from __future__ import annotations

from dataclasses import replace
from math import radians, tan
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError, InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.cavity import make_cavity, shaped, sheath_grid
from chape.sheath.drain_holes import plan_drains
from chape.sheath.fold import make_fold
from chape.sheath.formed import (
    APRON,
    RUNOUT,
    TIP_RUNOUT,
    half_surface,
    laid_out,
    rounded_corners,
    with_ramp,
)
from chape.sheath.holes import find_foot, laid_on_both, rivet_line
from chape.sheath.locus import locus_of
from chape.sheath.model import Piece, Sheath
from chape.sheath.outline import flat_pattern, half_outline, lip_of, tip_end
from chape.sheath.place_holes import place_holes
from chape.sheath.slots import laid_on_both as slots_on_both
from chape.sheath.slots import place_slots

if TYPE_CHECKING:
    from chape.catalog.hardware import Eyelet
    from chape.catalog.read import Catalog
    from chape.knife.model import Knife
    from chape.sheath.cavity import Surroundings
    from chape.sheath.model import SheathChoices

#: The mould's surface is kept this far outside the trimmed outline, mm.
BORDER = 6.0

#: Clearances wider than this hold nothing, mm. A slip of the decimal point, most likely.
CLEARANCE_MOST = 6.0


def design_sheath(knife: Knife, choices: SheathChoices, catalog: Catalog) -> Sheath:
    """Design a folded sheath.

    Args:
        knife: its half field on a grid of about ``choices.spacing``.
        choices: the maker's.
        catalog: where sheet, eyelet and clip are looked up.

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
    stations = sheath_grid(extent[0], 0.0, extent[2], 0.0, choices.spacing).x
    fold = make_fold(knife, choices, sheet, stations)
    grid = sheath_grid(*extent, fold.line, choices.spacing)
    cavity = make_cavity(knife, choices, grid, fold.end)

    half = rounded_corners(
        half_surface(cavity.shape, fold, choices, _ends(extent, choices)), choices.fillet
    )
    foot = find_foot(half)
    ramp = choices.thumb_ramp
    level_to = mouth_x - (ramp.length if ramp.height else choices.edging.margin)
    first = tip_end(foot, choices) + eyelet.flange.value / 2 + choices.edging.margin
    last = level_to - eyelet.flange.value / 2 - choices.eyelets.seat_margin
    line = rivet_line(foot, eyelet, choices, first, last)
    placed = place_holes((locus_of(line, side=1),), eyelet, clips, choices)
    spots = placed.spots
    ends = tip_end(foot, choices), mouth_x
    spots += plan_drains(foot, fold, spots, choices, ends)
    gauge = float(sheet.gauge.value)
    slots = place_slots(line, foot, spots, choices.slots, gauge, ends)
    outline = half_outline(foot, line, spots, slots, choices, mouth_x, fold.line, gauge)
    lip = lip_of(outline, foot, choices, mouth_x)
    pattern = flat_pattern(outline, lip, choices, mouth_x, fold.line)

    half = _cropped(half, outline.bounds[1] - BORDER)
    front = half if lip is None else with_ramp(half, lip, choices, mouth_x)
    return Sheath(
        choices=choices,
        knife=knife,
        sheet=sheet,
        eyelet=eyelet,
        clips=placed.clips,
        cavity=cavity.shape,
        envelope=cavity.envelope,
        fold=fold,
        pieces=(
            Piece(
                "sheath",
                laid_out(front, half, choices.hand),
                pattern,
                laid_on_both(spots, fold.line),
                slots_on_both(slots, fold.line),
            ),
        ),
        mouth_x=mouth_x,
        proof=placed.proof,
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
    fold, piece = sheath.fold, sheath.pieces[0]
    if fold is None:
        raise AssertionError("a sheath of one piece is folded")
    cavity = shaped(around, sheath.knife, choices, fold.end).shape
    ends = _ends(_extent(sheath.knife, choices, sheath.eyelet, sheath.mouth_x), choices)
    half = rounded_corners(half_surface(cavity, fold, choices, ends), choices.fillet)
    half = _cropped(half, fold.line + piece.formed.grid.y0)
    piece = replace(piece, formed=laid_out(half, half, choices.hand))
    return replace(sheath, choices=choices, cavity=cavity, pieces=(piece,))


def _check_choices(knife: Knife, choices: SheathChoices, mouth_x: float) -> None:
    """Refuse choices that make no sheath for this knife."""
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
    pads = choices.tip_pads
    if pads is not None and not pads.start < pads.end <= knife.blade_length:
        raise InputError(
            f"tip pads from {pads.start:g} to {pads.end:g} mm do not lie on a blade of "
            f"{knife.blade_length:g} mm",
            mend="Let them start before they end, both on the blade",
            field="sheath.tip_pads",
        )


def _extent(
    knife: Knife, choices: SheathChoices, eyelet: Eyelet, mouth_x: float
) -> tuple[float, float, float]:
    """Return x_min, y_min and x_max of all that may have to be formed, mm."""
    draft = tan(radians(choices.clearance.draft))
    high = knife.thickness / 2 + choices.clearance.blade + choices.mouth.flare + knife.uncertainty
    wall = choices.clearance.side + knife.uncertainty + high * draft + choices.fillet
    # The tip is thin, so that little of its wall's height is fillet.
    nose = choices.clearance.side + knife.uncertainty + choices.fillet / 2
    x_min = -nose - choices.edging.tip - TIP_RUNOUT - choices.fillet
    x_max = mouth_x + RUNOUT + high * draft + choices.fillet
    flange = eyelet.flange.value + choices.eyelets.seat_margin + choices.edging.margin
    y_min = knife.outline.bounds[1] - wall - flange - BORDER - APRON
    return x_min, y_min, x_max


def _ends(extent: tuple[float, float, float], choices: SheathChoices) -> tuple[float, float]:
    """Return x at which the surface comes down to the flange plane, at either end."""
    return extent[0] + choices.fillet, extent[2] - choices.fillet


def _cropped(half: HeightField, y_min: float) -> HeightField:
    """Return the rows of a half from ``y_min`` up, with level sheet where it has none."""
    grid = half.grid
    first = int(np.floor((y_min - grid.y0) / grid.spacing + 1e-6))
    y0 = grid.y0 + first * grid.spacing
    cropped = Grid(grid.x0, y0, grid.spacing, grid.nx, grid.ny - first)
    # Further out than anything is formed lies the flange of a clip.
    level = np.zeros((max(0, -first), grid.nx))
    return HeightField(cropped, np.vstack([level, half.z[max(0, first) :]]))
