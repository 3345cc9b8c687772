"""What is wrong, doubtful or worth knowing about a designed sheath.

Every figure is measured on the finished sheath: on the formed surface that will be milled, the
outline that will be cut and the holes that will be drilled, not on the steps that led to them.
"""

from __future__ import annotations

from math import atan, cos, degrees, radians
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape import tolerances
from chape.findings import Finding, Severity
from chape.sheath.cavity import above_of, pad_weights
from chape.sheath.check_pattern import check_pattern
from chape.sheath.closed import clearance, knife_points, walls_of
from chape.sheath.fold import apex, fold_strain
from chape.sheath.folded import fold_back
from chape.sheath.halves import (
    half_name,
    half_surface_of,
    highest_wall,
    reach_along,
    strip_end_at,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.field.grid import Floats
    from chape.knife.model import Knife
    from chape.sheath.model import Fold, Piece, Sheath

#: What a grid of nodes may hide, as a share of its spacing; see ``field.envelope``.
GRID_SHARE = 0.1

#: A hot strip bears about this much strain. Common practice, no source.
STRAIN_MOST = 0.10

#: A spine further from the fold than this lets the blade ride up, mm. Common practice, no source.
SPINE_GAP_MOST = 5.0

#: A wall may stand this much nearer upright than asked: what a triangle of the grid adds, degrees.
DRAFT_SLACK = 0.5

#: This share of all wall must have the draft.
WALL_SHARE = 0.995

#: Deeper than it is wide by this, a cavity thins its sheet badly. Common practice, no source.
DRAW_RATIO_MOST = 0.75


def check_sheath(sheath: Sheath) -> tuple[Finding, ...]:
    """Return everything the checks saw, errors first."""
    found = [
        *_check_cavity(sheath),
        *([] if sheath.fold is None else _check_fold(sheath, sheath.fold)),
        *_check_hold(sheath),
        *_check_walls(sheath),
        *check_pattern(sheath),
    ]
    order = list(Severity)
    return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))


def _check_cavity(sheath: Sheath) -> Iterator[Finding]:
    """Hold the knife at home against the closed sheath, after fillets and rounding."""
    knife, choices = sheath.knife, sheath.choices
    points = knife_points(knife, sheath.mouth_x)
    wanted = clearance_asked(sheath, points)
    for upper in (False, True):
        short = wanted - clearance(walls_of(sheath, upper=upper), points)
        worst = int(np.argmax(short))
        if short[worst] > GRID_SHARE * choices.spacing:
            x, y, _ = points[worst]
            yield Finding(
                "cavity-clearance-low",
                Severity.ERROR,
                f"{half_name(sheath, upper=upper)} half, x = {x:.0f} mm, y = {y:.0f} mm",
                "Fillets or the fold come nearer to the knife than the clearance asked for.",
                "Ask for a smaller fillet, or for more clearance there.",
                float(wanted[worst] - short[worst]),
                float(wanted[worst]),
            )


def clearance_asked(sheath: Sheath, points: Floats) -> Floats:
    """Return the least distance asked for between knife points (n, 3) and the sheet, mm.

    A clearance above is measured upright; square to a sloping knife it is less by the cosine.
    Near the fold the spine's clearance counts where it is the smaller, and under tip pads none.
    """
    knife, choices = sheath.knife, sheath.choices
    spacing = knife.half.grid.spacing
    slopes = np.gradient(knife.half.z, spacing)
    steep = knife.half.with_z(np.hypot(*slopes)).at(points[:, :2])
    above = above_of(points[:, 0], knife, choices) / np.hypot(1.0, steep)
    end = strip_end_at(sheath.fold, points[:, 0])
    # The wall up from the strip keeps the spine's clearance, sideways or upright.
    near_fold = points[:, 1] > end - choices.fillet - points[:, 2]
    spine = (choices.clearance.spine + knife.uncertainty) * cos(radians(45.0))
    asked = np.where(near_fold, np.minimum(above, spine), above)
    clearance, on_blade = choices.clearance, points[:, 0] < knife.blade_length
    beside = np.where(on_blade, clearance.side, clearance.handle_side) + knife.uncertainty
    asked = np.minimum(asked, beside)
    if sheath.fold is None:
        # Beside the spine there is the spine's clearance; it tells up to the edge's own.
        places = shapely.points(points[:, :2])
        apart = clearance.side + knife.uncertainty
        rim = knife.outline.exterior
        for region in (rim, knife.edge_band):
            shapely.prepare(region)
        by_spine = on_blade & shapely.dwithin(rim, places, apart)
        by_spine &= ~shapely.dwithin(knife.edge_band, places, apart)
        room = clearance.spine + knife.uncertainty
        asked = np.where(by_spine, np.minimum(asked, room), asked)
    pads = sheath.cavity.with_z(pad_weights(knife, choices, sheath.cavity.grid))
    return np.where(pads.at(points[:, :2]) > 0, -2 * GRID_SHARE * spacing, asked)


def _check_fold(sheath: Sheath, fold: Fold) -> Iterator[Finding]:
    knife, (x_min, _) = sheath.knife, reach_along(sheath)
    last = sheath.mouth_x if fold.relief is None else fold.relief[0]
    stations = np.arange(x_min, last, 1.0)
    closure = fold_back(fold, sheath.pieces[0].formed, stations)
    miss = np.hypot(closure.gap, closure.astray)
    worst = int(np.argmax(miss))
    if miss[worst] > tolerances.FOLD_CLOSURE:
        yield Finding(
            "fold-closure",
            Severity.ERROR,
            f"fold, x = {closure.x[worst]:.0f} mm",
            "Folded back, the formed strip does not meet its other half on the mid-plane.",
            "Ask for a smaller fillet, or let thickness change less suddenly along the knife.",
            float(miss[worst]),
            tolerances.FOLD_CLOSURE,
        )
    strain, x = fold_strain(fold)
    if abs(strain) > STRAIN_MOST:
        yield Finding(
            "fold-strain-high",
            Severity.WARNING,
            f"fold, x = {x:.0f} mm",
            "Where the fold widens, the strip is stretched or gathered along its length.",
            "Let the sheath wrap less of the handle, or give the handle less clearance.",
            100 * abs(strain),
            100 * STRAIN_MOST,
            "%",
        )
    tops = _tops(knife, fold.x, 0.5)
    on_blade = np.isfinite(tops) & (fold.x > knife.blade_length / 2) & (fold.x < knife.blade_length)
    gaps = np.where(on_blade, apex(fold) - np.where(on_blade, tops, 0.0), np.inf)
    nearest = int(np.argmin(gaps))
    loose = gaps[nearest] > SPINE_GAP_MOST
    yield Finding(
        "spine-gap-wide" if loose else "spine-gap",
        Severity.WARNING if loose else Severity.NOTE,
        f"fold, x = {fold.x[nearest]:.0f} mm",
        "Even where the blade comes nearest, so much room is left between its spine and the fold: "
        "a straight fold line serves the section that needs most.",
        'Let the sheath wrap less of the handle, or set sheath.style = "paired": its wall follows '
        "the spine."
        if loose
        else "Nothing to mend; the handle and the tip pads keep the blade in place.",
        float(gaps[nearest]),
        SPINE_GAP_MOST,
    )


def _tops(knife: Knife, x: Floats, reach: float) -> Floats:
    """Return the outline's highest y within ``reach`` of each x, (n,); minus infinity beyond it."""
    corners = shapely.get_coordinates(knife.outline.exterior)
    start, end = corners[:-1], corners[1:]
    run, rise = (end - start).T
    # An upright chord is as high as its higher end all along.
    slope = rise / np.where(run == 0, 1.0, run) * (run != 0)
    foot = np.where(run == 0, np.maximum(start[:, 1], end[:, 1]), start[:, 1])
    low = np.maximum(np.minimum(start[:, 0], end[:, 0]), x[:, None] - reach)
    high = np.minimum(np.maximum(start[:, 0], end[:, 0]), x[:, None] + reach)
    tops = foot + np.maximum(slope * (low - start[:, 0]), slope * (high - start[:, 0]))
    highest: Floats = np.max(np.where(low <= high, tops, -np.inf), axis=1)
    return highest


def _check_hold(sheath: Sheath) -> Iterator[Finding]:
    """See how far the sheath really reaches behind guard and handle."""
    asked = sheath.choices.snap_depth
    if asked == 0:
        return
    grid = sheath.cavity.grid
    handle = (grid.x > sheath.knife.blade_length) & (grid.x < sheath.mouth_x)
    inside = (sheath.cavity.z > 0) & handle[None, :]
    reached = float(np.max((sheath.envelope.z - sheath.cavity.z)[inside], initial=0.0))
    clear = sheath.choices.clearance.handle + sheath.knife.uncertainty
    if reached - clear > asked / 10:
        return
    yield Finding(
        "nothing-to-hold",
        Severity.WARNING,
        f"x = {sheath.knife.blade_length:.0f} to {sheath.mouth_x:.0f} mm",
        "The knife has no undercut deep enough there for the sheath to hold it by.",
        "Let the sheath wrap further, past the guard or over the handle's swell, or ask for less "
        "handle clearance.",
        reached,
        asked,
    )


def _check_walls(sheath: Sheath) -> Iterator[Finding]:
    asked = sheath.choices.clearance.draft
    steep, place = max(_steepest(piece) for piece in sheath.pieces)
    draft = 90 - degrees(atan(steep))
    if draft < asked - DRAFT_SLACK:
        yield Finding(
            "wall-draft-low",
            Severity.WARNING,
            place,
            "The wall stands nearer to upright than asked; the sheet may not leave the mould.",
            "Ask for a finer spacing, or for more draft.",
            draft,
            asked,
            "degrees",
        )
    half = half_surface_of(sheath, upper=False)
    high, grid = highest_wall(sheath), half.grid
    deepest = int(np.argmax(half.z.max(axis=0)))
    line = half.z[:, deepest]
    # Half-way up, so that fillets do not widen it.
    width = float(np.count_nonzero(line > high / 2)) * grid.spacing
    ratio = high / width
    deep = ratio > DRAW_RATIO_MOST
    yield Finding(
        "draw-deep" if deep else "draw-ratio",
        Severity.WARNING if deep else Severity.NOTE,
        f"x = {grid.x[deepest]:.0f} mm",
        f"The half-cavity is {high:.1f} mm deep where it is {width:.0f} mm wide.",
        "Use a thicker sheet, or more draft." if deep else "Nothing to mend.",
        ratio,
        DRAW_RATIO_MOST,
        "",
    )


def _steepest(piece: Piece) -> tuple[float, str]:
    """Return the slope that all but a few triangles of a piece's walls keep below, and where."""
    grid, z = piece.formed.grid, piece.formed.z
    # The two triangles of a cell take one of these slopes along x and one along y each.
    along, across = np.diff(z, axis=1) / grid.spacing, np.diff(z, axis=0) / grid.spacing
    slopes = np.maximum(np.hypot(along[:-1], across[:, 1:]), np.hypot(along[1:], across[:, :-1]))
    # Where two walls meet, a few triangles span both and lie steeper than either.
    walls = slopes > 1.0
    steep = float(np.quantile(slopes[walls], WALL_SHARE)) if walls.any() else 0.0
    row, column = np.unravel_index(int(np.argmin(np.abs(slopes - steep))), slopes.shape)
    return steep, f"{piece.name}, u = {grid.x[column]:.0f} mm, v = {grid.y[row]:.0f} mm"
