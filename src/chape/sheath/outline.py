"""The trimmed outline of the flat pattern, in true lines and arcs.

A line of even width gives the flange one width wherever eyelets stand: their seat, their flange and
the margin outside it. A slim line (``sheath/slim.py``) comes in between them. Round mouth and tip
the flange narrows to the margins there. Both halves are the same but for the lip of the thumb ramp.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon, affinity

from chape.field.outline import Outline, fit_outline, rounded
from chape.sheath.formed import Lip
from chape.sheath.model import Hand, HoleUse, Line
from chape.sheath.slim import slimmed
from chape.sheath.slots import edge_distance

if TYPE_CHECKING:
    from shapely import LineString

    from chape.field.grid import Floats
    from chape.sheath.holes import Foot, Spot
    from chape.sheath.model import Fold, SheathChoices
    from chape.sheath.slots import SlotSpot

#: Inside corners of the outline are filled to this where there is room, mm: a fair line.
FAIR_INSIDE = 12.0

#: Outside corners are rounded by this, mm: sharp ones catch and crack.
CORNER = 4.0

#: The lip of the thumb ramp reaches this far past the mouth, mm.
LIP_REACH = 4.0


def tip_end(foot: Foot, choices: SheathChoices) -> float:
    """Return the x at which the sheath ends beyond the tip, mm."""
    return foot.nose[0] - choices.edging.tip


def half_outline(
    foot: Foot,
    lines: tuple[LineString, ...],
    spots: tuple[Spot, ...],
    slots: tuple[SlotSpot, ...],
    choices: SheathChoices,
    mouth_x: float,
    fold: Fold | None,
    gauge: float,
) -> Polygon:
    """Return the trimmed outline of one half without the lip, sheath frame.

    Args:
        foot: of the walls.
        lines: of the eyelets, each from the mouth to the tip.
        spots: holes of the half.
        slots: of the half.
        choices: give margins and radii.
        mouth_x: where the mouth is cut, mm.
        fold: the half ends at its line; None for a half by itself.
        gauge: of the sheet, mm.
    """
    edging = choices.edging
    nose_x, _ = foot.nose
    nose = foot.region.intersection(shapely.box(nose_x - 1, -1e4, nose_x + 1, foot.strip_y - 0.5))
    discs = np.array([(spot.x, spot.y, spot.keep_clear + edging.margin) for spot in spots])
    tip = nose.buffer(edging.tip, quad_segs=32)
    if fold is None:
        beyond = _narrowing(tip, lines, float(discs[:, 2].max()))
    else:
        # Cut straight from the last eyelet up to the fold.
        low = lines[0].coords[-1][1]
        beyond = shapely.box(tip_end(foot, choices), low, nose_x + edging.tip, fold.line)
    always = [tip, beyond, *(slot.area(edge_distance(gauge)) for slot in slots)]
    fair = _even(foot, lines, discs, always, choices, mouth_x)
    if edging.line is Line.SLIM:
        needs = [*always, foot.region.buffer(edging.wall, quad_segs=32)]
        rivets = discs[[spot.use is not HoleUse.DRAIN for spot in spots]]
        hollow = max(edging.radius_least, edging.fair)
        fair = slimmed(fair, needs, rivets, foot.region, hollow, CORNER, mouth_x)
    top = 1e4 if fold is None else fold.line
    half = fair.intersection(shapely.box(tip_end(foot, choices), -1e4, mouth_x, top))
    if fold is not None and fold.relief is not None:
        half = half.difference(shapely.box(*fold.relief, 1e4, 1e4))
    return max(shapely.get_parts(half), key=lambda part: float(part.area))


def _narrowing(tip: Polygon, lines: tuple[LineString, ...], flange: float) -> Polygon:
    """Return the sheet that narrows to the tip from the last rivet of either line."""
    ends = [shapely.Point(line.coords[-1]).buffer(flange, quad_segs=32) for line in lines]
    hull: Polygon = shapely.union_all([tip, *ends]).convex_hull
    return hull


def _even(
    foot: Foot,
    lines: tuple[LineString, ...],
    discs: Floats,
    always: list[Polygon],
    choices: SheathChoices,
    mouth_x: float,
) -> Polygon:
    """Return an outline of even width along the lines of eyelets, running on past the mouth."""
    edging = choices.edging
    flange = float(discs[:, 2].max())
    # The last eyelet's disc must not be the mouth's corner: the flange runs on to the mouth.
    firsts = [line.coords[0] for line in lines]
    onward = [shapely.LineString([(x, y), (mouth_x + 2 * CORNER, y)]) for x, y in firsts]
    parts = [
        *always,
        foot.region.buffer(edging.margin, quad_segs=32),
        *(line.buffer(flange, quad_segs=32) for line in (*lines, *onward)),
        *(shapely.Point(x, y).buffer(radius, quad_segs=32) for x, y, radius in discs),
    ]
    return rounded(shapely.union_all(parts), max(edging.radius_least, FAIR_INSIDE), CORNER)


def lip_of(half: Polygon, foot: Foot, choices: SheathChoices, mouth_x: float) -> Lip | None:
    """Return where the flange curls into a thumb ramp; None where none is wanted."""
    if choices.thumb_ramp.height == 0:
        return None
    near_mouth = shapely.box(mouth_x - choices.thumb_ramp.length, -1e4, mouth_x, 1e4)
    y_low = float(half.intersection(near_mouth).bounds[1])
    y_foot = float(foot.region.intersection(near_mouth).bounds[1])
    return Lip(y_low, y_foot + choices.fillet, mouth_x + LIP_REACH)


def with_lip(half: Polygon, lip: Lip | None, choices: SheathChoices, mouth_x: float) -> Polygon:
    """Return the half's outline with the lip of a thumb ramp, where it has one."""
    if lip is None:
        return half
    wall = lip.y_high - 2 * choices.fillet
    reach = shapely.box(mouth_x - choices.thumb_ramp.length, lip.y_low, lip.x_end, wall)
    return half.union(reach)


def trimmed_alone(half: Polygon, choices: SheathChoices, *, upper: bool) -> Outline:
    """Return the outline of a half cut by itself, in its flat frame (v = y, or v = -y)."""
    smooth = rounded(half, choices.edging.radius_least, CORNER)
    pattern = fit_outline(Polygon(smooth.exterior))
    return pattern.mirrored() if upper else pattern


def flat_pattern(
    half: Polygon,
    lip: Lip | None,
    choices: SheathChoices,
    mouth_x: float,
    fold: Fold,
) -> Outline:
    """Return the outline of a folded sheath's flat pattern in the flat frame.

    Args:
        half: one half up to the fold line, sheath frame.
        lip: the thumb ramp's, on the front half only.
        choices: gives hand and least radius.
        mouth_x: where the mouth is cut, mm.
        fold: gives its line and its relief.
    """
    front = with_lip(half, lip, choices, mouth_x)
    front = affinity.translate(front, 0, -fold.line)
    back = affinity.scale(affinity.translate(half, 0, -fold.line), 1, -1, origin=(0, 0))
    # Grown together by a hair, so that the fold line leaves no seam.
    whole = shapely.union_all([front, back, shapely.box(*_fold_box(half, fold, mouth_x))])
    whole = rounded(whole, choices.edging.radius_least, CORNER)
    pattern = fit_outline(Polygon(whole.exterior))
    return pattern.mirrored() if choices.hand is Hand.LEFT else pattern


def _fold_box(half: Polygon, fold: Fold, mouth_x: float) -> tuple[float, float, float, float]:
    last = mouth_x if fold.relief is None else fold.relief[0]
    return half.bounds[0], -0.5, last, 0.5
