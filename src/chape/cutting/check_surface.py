"""Whether the surface came out: nothing cut below it, nothing left that could be reached."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape import tolerances
from chape.catalog.model import CutterKind
from chape.cutting.allowed import target_heights
from chape.cutting.reach import depth_below, reachable
from chape.field.heights import HeightField
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence, Mask
    from chape.field.grid import Floats

#: Material left beyond what the cutters used can reach, along the normal, mm: first a hint, then
#: too much for a surface that a sheet is formed over or seated on (common practice, no source).
LEFTOVER_NOTED = 0.1
LEFTOVER_MOST = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class SurfaceResult:
    """How the surface came out, mm along its normal.

    Attributes:
        findings: what is wrong.
        leftover: material above the target, negative where it was gouged; 0 in holes, in grooves,
            outside the piece and on the sheet of a trim setup.
        gouge_most: deepest cut below the surface, 0 for none.
        leftover_most, leftover_p99: what the cutters used could have reached but left.
    """

    findings: tuple[Finding, ...]
    leftover: HeightField
    gouge_most: float
    leftover_most: float
    leftover_p99: float


def check_surface(evidence: Evidence) -> SurfaceResult:
    """Return gouges and leftovers over the whole piece."""
    gouge = _gouge(evidence)
    findings = list(_gouge_findings(evidence, gouge))
    left, beyond = _leftover(evidence)
    if evidence.setup.sheet_gauge == 0:
        findings += _leftover_findings(evidence, beyond)
    shown = np.where(gouge > 0, -gouge, left)
    grid = evidence.setup.stock.grid
    return SurfaceResult(
        tuple(findings),
        HeightField(grid, shown),
        float(gouge.max()),
        float(beyond.max()),
        float(np.percentile(beyond, 99)),
    )


def _gouge(evidence: Evidence) -> Floats:
    """Return (ny, nx) how deep the cut went below the allowed surface, measured to its nearest."""
    surface = evidence.allowed.surface
    after, before = evidence.removal.stock.z, evidence.setup.stock.z
    # Material that was missing before is nobody's cut.
    below = (surface.z - after > tolerances.SAME_LENGTH) & (before - after > 0)
    rows, columns = np.nonzero(below)
    depth = np.zeros(surface.grid.shape)
    if len(rows):
        depth[below] = depth_below(surface.z, surface.grid.spacing, rows, columns, after[below])
    return depth


def _gouge_findings(evidence: Evidence, gouge: Floats) -> tuple[Finding, ...]:
    worst = float(gouge.max())
    if worst <= tolerances.GOUGE:
        return ()
    x, y, move = _spot(evidence, gouge)
    sheet = evidence.setup.sheet_gauge > 0
    what = "the fixture under the sheet" if sheet else "the finished surface"
    count = int((gouge > tolerances.GOUGE).sum())
    return (
        Finding(
            "fixture-cut" if sheet else "gouge",
            Severity.ERROR,
            f"{evidence.setup.name}, x {x:.2f}, y {y:.2f}{move}",
            f"The cutter goes {worst:.3f} mm below {what} ({count} grid points)",
            "Keep the path above the surface; check zero, cutter and setup.",
            worst,
            tolerances.GOUGE,
        ),
    )


def _spot(evidence: Evidence, values: Floats) -> tuple[float, float, str]:
    """Return where a map is worst, and the line whose tip came lowest near there."""
    grid = evidence.setup.stock.grid
    j, i = np.unravel_index(int(np.argmax(values)), values.shape)
    x, y = float(grid.x[i]), float(grid.y[j])
    segments = evidence.segments
    if len(segments.move) == 0:
        return x, y, ""
    ends = segments.ends
    way = ends[:, 3:5] - ends[:, :2]
    squared = (way * way).sum(axis=1)
    to_spot = np.array([x, y]) - ends[:, :2]
    share = (to_spot * way).sum(axis=1) / np.where(squared > 0, squared, 1.0)
    share = np.clip(share, 0, 1)
    away = np.hypot(*(to_spot - share[:, None] * way).T)
    near = away <= evidence.radius[segments.move]
    if not near.any():
        return x, y, ""
    low = np.where(near, np.minimum(ends[:, 2], ends[:, 5]), np.inf)
    return x, y, f", line {int(evidence.program.line[segments.move[int(np.argmin(low))]])}"


def _slope_cosine(z: Floats, spacing: float) -> Floats:
    """Return the cosine of the steepest slope on either side of each node."""
    squared = np.zeros_like(z)
    for axis in (0, 1):
        rise = np.abs(np.diff(z, axis=axis)) / spacing
        pad = [(0, 0), (0, 0)]
        pad[axis] = (1, 0)
        before = np.pad(rise, pad)
        pad[axis] = (0, 1)
        squared += np.maximum(before, np.pad(rise, pad)) ** 2
    cosine: Floats = 1 / np.sqrt(1 + squared)
    return cosine


def _leftover(evidence: Evidence) -> tuple[Floats, Floats]:
    """Return what is left above the surface, and above what could be reached, along the normal."""
    setup, surface = evidence.setup, evidence.allowed.surface
    grid = setup.stock.grid
    if setup.sheet_gauge > 0:
        return np.zeros(grid.shape), np.zeros(grid.shape)
    x_min, y_min, x_max, y_max = setup.box
    inside: Mask = (
        ((grid.x >= x_min) & (grid.x <= x_max))[None, :]
        & ((grid.y >= y_min) & (grid.y <= y_max))[:, None]
        & ~evidence.allowed.stamped
        # A target under the underside says that nothing is wanted there.
        & (surface.z >= setup.z_bottom - tolerances.SAME_LENGTH)
    )
    cosine = _slope_cosine(surface.z, grid.spacing)
    after = evidence.removal.stock.z
    left = np.where(inside, np.maximum(after - surface.z, 0) * cosine, 0.0)
    wanted = left > LEFTOVER_NOTED / 2
    used = {int(n) for n in np.unique(evidence.program.cutter[evidence.depth > 0])}
    able = [
        cutter
        for cutter in setup.cutters
        if cutter.number in used and cutter.kind not in (CutterKind.DRILL, CutterKind.VEE)
    ]
    # The cutter that finishes a surface stays out of holes and grooves, so they are filled here.
    best = reachable(target_heights(setup), grid.spacing, wanted, able)
    return left, np.where(inside & wanted, np.maximum(after - best, 0) * cosine, 0.0)


def _leftover_findings(evidence: Evidence, beyond: Floats) -> tuple[Finding, ...]:
    worst = float(beyond.max())
    if worst <= LEFTOVER_NOTED:
        return ()
    x, y, _ = _spot(evidence, beyond)
    too_much = worst > LEFTOVER_MOST
    limit = LEFTOVER_MOST if too_much else LEFTOVER_NOTED
    share = float((beyond > limit).mean())
    return (
        Finding(
            "leftover-high",
            Severity.ERROR if too_much else Severity.WARNING,
            f"{evidence.setup.name}, x {x:.2f}, y {y:.2f}",
            f"{worst:.3f} mm of material is left where the cutters used can reach"
            f" ({share:.3%} of the surface has more than {limit:g} mm)",
            "Finish with a smaller step-over, or finish steep walls by level lines.",
            worst,
            limit,
        ),
    )
