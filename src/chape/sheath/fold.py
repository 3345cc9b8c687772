"""The fold: a formed strip that becomes a U around the spine.

    g    height of the strip, which is the inside radius of the U once folded, mm
    t    gauge of the sheet, mm;  K  neutral factor: the layer K t from the inside keeps its length
    L    = (pi/2)(g + K t), half the strip: the neutral layer of a quarter circle, mm
    y_c  the fold line, one y for the whole sheath, because the half-cavities are rigid
    y_e  = y_c - L, where the half-cavity ends; the folded apex lies at y_e + g, inside

Bend allowance: Machinery's Handbook, ``angle (R + K t)``. A thicker section has a larger g and so
an apex lower by (pi/2 - 1) = 0.571 of the difference: a thick handle sits lower in the fold than
the blade's spine does. Strain along the fold where g changes is worked out in ``fold_strain``.
Not modelled: spring-back, and the thickening of the sheet on the inside of the bend.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, cos, pi, radians, sin, tan
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.errors import CannotMakeError, InputError
from chape.sheath.cavity import edge_nodes, widened
from chape.sheath.model import Fold
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from chape.catalog.model import SheetStock
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.knife.model import Knife
    from chape.sheath.model import SheathChoices

#: The strip's height changes by no more than this per mm along x: a blend at least 2.5 times as
#: long as the change. Common practice, no source; the strain it costs is measured.
STEEPEST_BLEND = 0.4

#: The blend is rounded over this length, mm.
BLEND_ROUNDING = 8.0

#: The inside of a heated bend is no sharper than this many gauges. Common practice, no source.
LEAST_RADIUS = 1.0

#: A half-cavity deeper than this share of its width cannot be drawn. Common practice, no source.
DEEPEST = 1.0

#: Heights are chosen at stations this far apart, mm; the fold line is then found from them all.
STATION = 1.0

#: A half that stands no more than this over the knife is cut away with the fold, mm.
TIGHT = 0.05

#: So many heights are tried, up to this share of the widest half-section with its clearance.
TRIED_HEIGHTS, WIDEST_FOLD = 41, 1.4


def bend_allowance(angle: float, radius: float, gauge: float, k_factor: float) -> float:
    """Return the flat length of a bend, mm (Machinery's Handbook: ``angle (R + K t)``).

    Args:
        angle: bent by, radians.
        radius: inside radius, mm.
        gauge: sheet thickness, mm.
        k_factor: neutral factor.

    >>> round(bend_allowance(pi / 2, 3.0, 2.0, 0.33), 5)
    5.74911
    """
    return angle * (radius + k_factor * gauge)


def half_strip(height: Floats, gauge: float, k_factor: float) -> Floats:
    """Return L, the flat length from the half-cavity's end to the fold line, mm."""
    return pi / 2 * (height + k_factor * gauge)


@dataclass(frozen=True, slots=True, eq=False)
class Sections:
    """What the knife asks of the fold, section by section.

    Attributes:
        x: (n,) stations, mm.
        y: (m, n) y of each point of a section, mm.
        half: (m, n) half-thickness there, of the knife and of what must pass on the draw, mm;
            negative where there is nothing.
        room: (m, n) clearance wanted around it, mm.
    """

    x: Floats
    y: Floats
    half: Floats
    room: Floats

    def every(self, distance: float) -> Sections:
        """Return sections at least ``distance`` mm apart, and only points that any of them has."""
        step = max(1, round(distance / float(self.x[1] - self.x[0])))
        rows = (self.half >= 0).any(axis=1)
        y, half, room = (table[rows, ::step] for table in (self.y, self.half, self.room))
        return Sections(self.x[::step], y, half, room)


def sections_of(knife: Knife, choices: SheathChoices) -> Sections:
    """Return the sections that must fit inside the fold, up to the mouth or the fold's relief.

    What is drawn past a section counts there as well, less the snap depth: the fold is rigid.
    """
    grid = knife.half.grid
    half, mask = widened(knife)
    half = np.where(mask, half, -np.inf)
    passing = np.maximum.accumulate(half, axis=1) - choices.snap_depth
    band = edge_nodes(knife)
    # The edge may not be reached even by giving way, so that it counts in full.
    edge = np.maximum.accumulate(np.where(band, half, -np.inf), axis=1)
    body = np.maximum(half, np.where(passing > 0, passing, -np.inf))
    clearance = choices.clearance
    spine = np.full(grid.shape, clearance.spine + knife.uncertainty)
    side = np.full(grid.shape, clearance.side + knife.uncertainty)
    mouth_x = knife.blade_length + choices.mouth.wrap
    # Where the fold is cut away, it asks nothing of the knife.
    last = mouth_x - choices.fold.relief
    columns = (grid.x >= -grid.spacing) & (grid.x <= last + grid.spacing)
    x = grid.x[columns]
    y = np.minimum(grid.y[:, None], _spine_line(knife)[None, columns])
    # The body with the spine's clearance, then the edge once more with its own.
    return Sections(
        x,
        np.vstack([y, y]),
        np.vstack([body[:, columns], edge[:, columns]]),
        np.vstack([spine[:, columns], side[:, columns]]),
    )


def wall_run(rise: Floats, fillet: float, draft: float) -> Floats:
    """Return how far a wall of height ``rise`` reaches back from the strip's end, mm.

    First the fillet, an arc that leaves the strip level, then straight at the draft.
    """
    bend = fillet * (1 - sin(draft))
    in_arc = np.clip(rise, 0.0, bend)
    arc = np.sqrt(in_arc * (2 * fillet - in_arc))
    return arc + np.maximum(rise - bend, 0.0) * tan(draft)


def wall_rise(run: Floats, fillet: float, draft: float) -> Floats:
    """Return how high the wall stands at a distance back from the strip's end, mm."""
    foot = fillet * cos(draft)
    run = np.maximum(run, 0.0)
    in_arc = np.clip(run, 0.0, foot)
    arc = fillet - np.sqrt(fillet**2 - in_arc**2)
    return arc + np.maximum(run - foot, 0.0) / tan(draft)


def line_needed(
    sections: Sections, height: Floats, sheet: SheetStock, choices: SheathChoices
) -> Floats:
    """Return the lowest fold line each section allows, mm.

    A point (y, z) of the section with room c lies inside the U when its distance from the U's
    centre (y_e, 0) is at most g - c, or it lies below y_e, in the half-cavity. Points too thick for
    the U must lie so far below y_e that the filleted, drafted wall from the strip clears them.

    Args:
        sections: m points in each of n sections.
        height: (k, n) or (n,) strip heights g to try, mm.
        sheet: gives gauge and neutral factor.
        choices: give draft and fillet of the walls.

    Returns:
        (k, n) or (n,) least y_c.
    """
    draft, fillet = radians(choices.clearance.draft), choices.fillet
    # The wall begins a cell behind the strip's end, so that no node of it slopes the strip.
    level = choices.spacing
    y, half, room = sections.y, sections.half, sections.room
    lines = []
    for g in np.atleast_2d(height):
        inner = g[None, :] - room
        chord = np.sqrt(np.maximum(inner**2 - half**2, 0.0))
        thick = y + room + level + wall_run(half + room - g[None, :], fillet, draft)
        end = np.where(half <= inner, y - chord, thick)
        lines.append(np.where(half >= 0, end, -np.inf).max(axis=0))
    ends = np.array(lines).reshape(np.shape(height))
    line: Floats = ends + half_strip(height, sheet.gauge.value, sheet.k_factor.value)
    return line


def make_fold(knife: Knife, choices: SheathChoices, sheet: SheetStock, x: Floats) -> Fold:
    """Return the fold with the lowest fold line that every section fits into.

    Args:
        knife: what goes in.
        choices: clearances and mouth.
        sheet: gives gauge and neutral factor.
        x: (n,) stations wanted; beyond knife and mouth the strip runs on as it ends there.

    Raises:
        CannotMakeError: the handle is too thick to be drawn or folded around.
    """
    gauge, k_factor = sheet.gauge.value, sheet.k_factor.value
    sections = sections_of(knife, choices)
    height = strip_height(sections, sheet, choices)
    line = float(line_needed(sections, height, sheet, choices).max())
    mouth_x = knife.blade_length + choices.mouth.wrap
    _refuse_too_thick(knife, sections, mouth_x, line - half_strip(height, gauge, k_factor))
    # Over the tip there is no knife: the strip runs on as it was at the first section.
    heights = np.interp(x, sections.x, height)
    end = line - half_strip(heights, gauge, k_factor)
    return Fold(line, x, heights, end, k_factor, gauge)


def relieved(
    fold: Fold, knife: Knife, half: HeightField, choices: SheathChoices, mouth_x: float
) -> Fold:
    """Return the fold cut away near the mouth, with as much of the half as would touch the knife.

    Args:
        fold: as it serves the sections before the relief.
        knife: what goes in.
        half: formed, with its strip.
        choices: give the relief's length, and the least radius that fills its corners.
        mouth_x: where the mouth is cut, mm.

    Raises:
        InputError: the relief reaches past the blade's end.
    """
    start = mouth_x - choices.fold.relief
    if start < mouth_x - choices.mouth.wrap:
        raise InputError(
            f"a relief of {choices.fold.relief:g} mm would cut the fold off the blade's spine, "
            f"{choices.mouth.wrap:g} mm from the mouth",
            mend=f"Set it to {choices.mouth.wrap:g} or less",
            field="sheath.fold.relief",
        )
    x, y = half.grid.mesh()
    inside = (x >= start) & (x <= mouth_x)
    knife_z = knife.half.at(np.column_stack([x.ravel(), y.ravel()])).reshape(x.shape)
    passing = np.maximum.accumulate(knife_z, axis=1) - choices.snap_depth
    needed = np.maximum(knife_z, passing)
    tight = inside & (needed > 0) & (half.z < needed + TIGHT)
    end = float(np.min(fold.end[(fold.x >= start) & (fold.x <= mouth_x)]))
    low = min(end, float(y[tight].min(initial=end))) - choices.edging.radius_least / 2
    return replace(fold, relief=(start, low))


def strip_height(sections: Sections, sheet: SheetStock, choices: SheathChoices) -> Floats:
    """Return (n,) the smooth strip height that lets the fold line lie lowest, mm.

    A section has two good heights: a narrow U above a thick handle whose walls come up beside it,
    or a wide one round all of its back. What suits each section best may change from one to the
    other within a few mm, and the blend between would be worse than either; so heights are also
    tried within common bounds, and the best whole wins.
    """
    all_x, sections = sections.x, sections.every(STATION)
    least = LEAST_RADIUS * sheet.gauge.value
    widest = float(np.max(sections.half) + np.max(sections.room))
    tried = np.linspace(least, max(WIDEST_FOLD * widest, 2 * least), TRIED_HEIGHTS)
    needed = line_needed(
        sections, np.repeat(tried[:, None], len(sections.x), axis=1), sheet, choices
    )
    bounds = range(0, len(tried), 2)
    ways = [way for bound in bounds for way in (slice(0, bound + 1), slice(bound, None))]
    wanted = [tried[allowed][np.argmin(needed[allowed], axis=0)] for allowed in ways]
    heights = blended(np.array(wanted), sections.x)
    lines = line_needed(sections, heights, sheet, choices).max(axis=1)
    best = 0
    for number, line in enumerate(lines):
        if line < lines[best] - SAME_LENGTH:
            best = number
    smooth: Floats = np.interp(all_x, sections.x, heights[best])
    return smooth


def blended(height: Floats, x: Floats) -> Floats:
    """Return the lowest smooth heights, nowhere below ``height``, that change gently along x.

    Args:
        height: (k, n) or (n,) what each section asks for, mm.
        x: (n,) evenly spaced stations, mm.
    """
    spacing = float(x[1] - x[0])
    window = 2 * int(BLEND_ROUNDING / 2 / spacing) + 1
    away = np.abs(x[:, None] - x[None, :])
    raised = np.max(height[..., None, :] - STEEPEST_BLEND * away, axis=-1)
    # Raised by a window first, so that the mean over a window falls nowhere below.
    raised = ndimage.maximum_filter1d(raised, window, mode="nearest")
    smooth: Floats = ndimage.uniform_filter1d(raised, window, mode="nearest")
    return smooth


def apex(fold: Fold) -> Floats:
    """Return (n,) y of the inside of the folded edge."""
    return fold.end + fold.height


def fold_strain(fold: Fold) -> tuple[float, float]:
    """Return the largest strain along the fold's fibres, and the x where it is.

    A fibre at a constant distance v from the fold line runs along x on the formed strip, with
    slope g'. Folded, it lies at the angle (v - v_e)/(g + K t) round a centre that itself moves with
    y_e. The strain is the change of its length. Widths are kept by the bend allowance.
    """
    radius = fold.height + fold.k_factor * fold.gauge
    slope = np.gradient(fold.height, fold.x)
    worst, place = 0.0, float(fold.x[0])
    for share in np.linspace(0.0, 1.0, 11):
        # v measured from the fold line, the same fibre all along x.
        v = -share * float((fold.line - fold.end).max())
        angle = np.clip((v + fold.line - fold.end) / radius, 0.0, pi / 2)
        y = fold.end + radius * np.sin(angle)
        z = radius * np.cos(angle)
        folded = np.hypot(1.0, np.hypot(np.gradient(y, fold.x), np.gradient(z, fold.x)))
        strain = np.where(v + fold.line >= fold.end, folded / np.hypot(1.0, slope) - 1, 0.0)
        at = int(np.argmax(np.abs(strain)))
        if abs(strain[at]) > abs(worst):
            worst, place = float(strain[at]), float(fold.x[at])
    return worst, place


def handle_drop(fold: Fold) -> float:
    """Return how much lower the apex lies where the strip is highest, mm: 0.571 of the change."""
    return float(np.ptp(apex(fold)))


def strip_width(fold: Fold) -> float:
    """Return the width of sheet that must be hot enough to bend, mm: the widest strip."""
    return 2 * float((fold.line - fold.end).max())


@lru_cache(maxsize=4)
def _spine_line(knife: Knife) -> Floats:
    """Return the outline's highest y that has come past each column of the knife's grid, (nx,)."""
    grid = knife.half.grid
    x = grid.x
    _, y_min, _, y_max = knife.outline.bounds
    first = int(np.searchsorted(x, -grid.spacing))
    step = float(x[first + 1] - x[first])
    # A band as wide as a cell each way sees what lies between two stations.
    bands = shapely.box(x - step, y_min - 1, x + step, y_max + 1)
    tops: Floats = shapely.bounds(shapely.intersection(bands, knife.outline))[:, 3]
    highest: Floats = np.maximum.accumulate(np.where(np.isfinite(tops), tops, -np.inf))
    highest.setflags(write=False)
    return highest


def _refuse_too_thick(knife: Knife, sections: Sections, mouth_x: float, end: Floats) -> None:
    """Refuse a handle that is too thick for its height to be drawn or folded around."""
    solid = sections.half > 0
    lowest = np.where(solid, sections.y, np.inf).min(axis=0)
    highest = np.where(solid, sections.y, -np.inf).max(axis=0)
    half = np.where(solid, sections.half, 0.0).max(axis=0)
    # Deeper than wide, or with a strip that reaches past the knife's lower side.
    too_much = np.maximum(half - DEEPEST * (highest - lowest), lowest - end)
    handle = np.isfinite(lowest) & (sections.x > knife.blade_length)
    too_much = np.where(handle, too_much, -np.inf)
    at = int(np.argmax(too_much))
    if too_much[at] <= 0:
        return
    relief = ceil(mouth_x - float(sections.x[int(np.argmax(too_much > 0))])) + 1
    raise CannotMakeError(
        f"at x = {sections.x[at]:.0f} mm the knife is {2 * half[at]:.1f} mm thick and only "
        f"{highest[at] - lowest[at]:.1f} mm high: no sheet can be drawn so deep and folded around "
        "it",
        mend='Set sheath.style = "paired", two sheets riveted along edge and spine; or cut the '
        f"fold away there (sheath.fold.relief = {relief}), let the sheath wrap less of the handle, "
        "or thin the handle",
    )
