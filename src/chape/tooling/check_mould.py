"""Findings about a mould: vents, back grooves, plate and dowels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.field.contour import level_lines
from chape.findings import Finding, Severity
from chape.tolerances import SAME_LENGTH

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.tooling.model import Mould, RoundHole

#: Vents no further apart than this along a foot, mm (common practice, no source).
VENT_PITCH = 25.0

#: A vent may stand this far off the foot line it serves, mm, besides its own radius.
OFF_FOOT = 1.5

#: Deepest vent that a long drill still clears of chips, in diameters (common practice, no source).
VENT_DEEPEST = 25.0

#: Plate wanted between the flange plane and the back grooves, mm (common practice, no source).
PLATE_WANTED = 10.0

#: Plate wanted between a back groove and the plate's edge, so that the vacuum holds, mm.
TIGHT_EDGE = 2.5

#: A hollow of this depth under a level square of ``HOLLOW_SPAN`` needs a vent, mm.
HOLLOW = 0.6
HOLLOW_SPAN = 12.0


def check_mould(mould: Mould) -> tuple[Finding, ...]:
    """Return findings about one mould."""
    return (
        *_pitch(mould),
        *_hollows(mould),
        *_sizes(mould),
        *_joined(mould),
        *_under_faces(mould),
        *_plate(mould),
        *_dowels(mould),
    )


def _centres(holes: tuple[RoundHole, ...]) -> Floats:
    return np.array([(hole.x, hole.y) for hole in holes], dtype=np.float64).reshape(-1, 2)


def _nearest_vent(points: Floats, mould: Mould) -> Floats:
    """Return the distance of each point to the nearest vent, mm; infinite without vents."""
    vents = _centres(mould.vents)
    nearest = np.full(len(points), np.inf)
    for vent in vents:
        np.minimum(nearest, np.hypot(*(points - vent).T), out=nearest)
    return nearest


def _pitch(mould: Mould) -> list[Finding]:
    """Measure from every place along the foot lines how far the nearest vent is."""
    worst, place = 0.0, (0.0, 0.0)
    for line in level_lines(mould.surface, 0.1):
        ring = shapely.LineString(line)
        if ring.length < 4.0:
            continue
        points = shapely.get_coordinates(
            shapely.line_interpolate_point(ring, np.arange(0.0, ring.length, 1.0))
        )
        nearest = _nearest_vent(points, mould)
        k = int(np.argmax(nearest))
        if nearest[k] > worst:
            worst, place = float(nearest[k]), (float(points[k, 0]), float(points[k, 1]))
    radius = max((vent.diameter for vent in mould.vents), default=0.0) / 2
    limit = VENT_PITCH / 2 + OFF_FOOT + radius
    if worst <= limit:
        return []
    return [
        Finding(
            "vent-pitch-high",
            Severity.WARNING,
            f"mould, x = {place[0]:.0f} mm, y = {place[1]:.0f} mm",
            "A stretch of a wall's foot is far from any vent: the sheet may not come down there.",
            "Set mould.vent_pitch_most to 25 mm or less.",
            worst if np.isfinite(worst) else None,
            limit,
        )
    ]


def _hollows(mould: Mould) -> list[Finding]:
    """Look for hollows in a coarser copy of the surface, by laying level squares over it."""
    grid = mould.surface.grid
    step = max(1, round(0.8 / grid.spacing))
    z = mould.surface.z[::step, ::step]
    size = 2 * round(HOLLOW_SPAN / 2 / (grid.spacing * step)) + 1
    hollow = (ndimage.grey_closing(z, size=(size, size)) - z > HOLLOW) & (z > 1.0)
    rows, columns = np.nonzero(hollow)
    if len(rows) == 0:
        return []
    points = np.column_stack([grid.x[::step][columns], grid.y[::step][rows]])
    nearest = _nearest_vent(points, mould)
    k = int(np.argmax(nearest))
    if nearest[k] <= VENT_PITCH:
        return []
    return [
        Finding(
            "hollow-unvented",
            Severity.WARNING,
            f"mould, x = {points[k, 0]:.0f} mm, y = {points[k, 1]:.0f} mm",
            "A hollow within a raised part is far from any vent: air is caught there.",
            "Set mould.vent_pitch_most lower.",
            float(nearest[k]) if np.isfinite(nearest[k]) else None,
            VENT_PITCH,
        )
    ]


def _sizes(mould: Mould) -> list[Finding]:
    findings = []
    largest = float(mould.layout.sheet.largest_vent.value)
    widest = max((vent.diameter for vent in mould.vents), default=0.0)
    if widest > largest + SAME_LENGTH:
        findings.append(
            Finding(
                "vent-too-wide",
                Severity.ERROR,
                "mould, vents",
                "Vents wider than the sheet allows leave a print on it.",
                "Use vents no wider than the sheet's largest_vent.",
                widest,
                largest,
            )
        )
    ratio = max(((vent.z_top - vent.z_bottom) / vent.diameter for vent in mould.vents), default=0.0)
    if ratio > VENT_DEEPEST:
        findings.append(
            Finding(
                "vent-deep",
                Severity.WARNING,
                "mould, vents",
                "A vent is so deep for its width that a drill wanders and clogs.",
                "Use deeper back grooves or a thinner plate (mould.groove_depth, mould.plate).",
                ratio,
                VENT_DEEPEST,
                "diameters",
            )
        )
    return findings


def _joined(mould: Mould) -> list[Finding]:
    """Follow the air: vent, groove, further grooves, table."""
    cut = [
        shapely.LineString(groove.points).buffer(groove.width / 2, cap_style="flat")
        for groove in mould.grooves
    ]
    channels = shapely.get_parts(shapely.union_all(cut))
    live = [channel for channel in channels if _reaches_table(channel, mould)]
    network = shapely.union_all(live)
    lost = [
        vent
        for vent in mould.vents
        if not network.covers(shapely.Point(vent.x, vent.y).buffer(vent.diameter / 2 - 1e-3))
        or vent.z_bottom > _floor_at(mould, vent) + SAME_LENGTH
    ]
    findings = []
    if lost:
        findings.append(
            Finding(
                "vent-not-joined",
                Severity.ERROR,
                f"mould, x = {lost[0].x:.1f} mm, y = {lost[0].y:.1f} mm",
                f"{len(lost)} vents do not open into a groove that leads to the vacuum table.",
                "Check mould.grid_pitch against the table, and the grooves' width and depth.",
                len(lost),
                0,
                "",
            )
        )
    plate = shapely.box(0, 0, mould.width, mould.depth)
    edge = min((plate.exterior.distance(channel) for channel in channels), default=np.inf)
    if edge < TIGHT_EDGE - SAME_LENGTH or not plate.covers(shapely.union_all(list(channels))):
        findings.append(
            Finding(
                "groove-at-edge",
                Severity.ERROR,
                "mould, underside",
                "A back groove comes so near the plate's edge that the vacuum leaks.",
                "Use a wider clamp border.",
                float(edge),
                TIGHT_EDGE,
            )
        )
    return findings


def _reaches_table(channel: shapely.Geometry, mould: Mould) -> bool:
    """Say whether a channel crosses a groove of the vacuum table."""
    x_min, y_min, x_max, y_max = channel.bounds
    pitch = mould.grid_pitch
    # A table groove lies at every multiple of the pitch that is under the plate.
    crosses = [
        int(high / pitch) > int(low / pitch) and int(high / pitch) * pitch < size
        for low, high, size in ((x_min, x_max, mould.width), (y_min, y_max, mould.depth))
    ]
    return any(crosses)


def _floor_at(mould: Mould, vent: RoundHole) -> float:
    """Return the floor of the deepest groove over a vent, mm; the underside where there is none."""
    point = shapely.Point(vent.x, vent.y)
    floors = [
        groove.z_floor
        for groove in mould.grooves
        if shapely.LineString(groove.points).distance(point) <= groove.width / 2
    ]
    return max(floors, default=mould.z_bottom)


def _under_faces(mould: Mould) -> list[Finding]:
    """Count vents that print on what is kept; on the inside, where nobody looks."""
    faces = shapely.union_all(
        [
            shapely.transform(p.polygon(0.01), lambda xy: xy * mould.scale)
            for p in mould.layout.patterns
        ]
    )
    shapely.prepare(faces)
    inside = int(shapely.contains_xy(faces, _centres(mould.vents)).sum())
    if inside == 0:
        return []
    return [
        Finding(
            "vents-under-sheath",
            Severity.NOTE,
            "mould, vents",
            f"{inside} of {len(mould.vents)} vents lie under sheaths; they may print faintly on "
            "the inside.",
            "Nothing to do unless prints are seen; then use smaller vents.",
            inside,
            None,
            "",
        )
    ]


def _plate(mould: Mould) -> list[Finding]:
    floor = max((groove.z_floor for groove in mould.grooves), default=mould.z_bottom)
    left = -floor
    if left >= PLATE_WANTED:
        return []
    return [
        Finding(
            "plate-thin",
            Severity.WARNING,
            "mould, under the grooves",
            "Little plate is left above the back grooves: it may bow under the vacuum.",
            "Use a thicker plate or shallower grooves (mould.plate, mould.groove_depth).",
            left,
            PLATE_WANTED,
        )
    ]


def _dowels(mould: Mould) -> list[Finding]:
    places = {(round(d.x, 3), round(d.y, 3), d.diameter) for d in mould.dowels}
    turned = {(round(mould.width - d.x, 3), round(d.y, 3), d.diameter) for d in mould.dowels}
    findings = []
    if len(places) < 2 or places != turned:
        findings.append(
            Finding(
                "flip-not-located",
                Severity.ERROR,
                "mould, dowels",
                "Turned over left to right, the dowel holes do not fall on each other.",
                "Use two dowels at equal distances from the left and right edges.",
            )
        )
    blocks = shapely.union_all(
        [shapely.LineString(g.points).buffer(g.width / 2) for g in mould.grooves]
    )
    for dowel in mould.dowels:
        wall = float(blocks.distance(shapely.Point(dowel.x, dowel.y))) - dowel.diameter / 2
        if mould.grooves and wall <= 0:
            findings.append(
                Finding(
                    "groove-through-dowel",
                    Severity.ERROR,
                    f"mould, dowel at x = {dowel.x:.1f} mm, y = {dowel.y:.1f} mm",
                    "A back groove runs into a dowel hole, which leaks.",
                    "Use a wider clamp border.",
                    wall,
                    0.0,
                )
            )
    return findings
