"""Findings about a layout, its mould and its fixture.

What is measured here is measured again from the finished records, not taken from the steps that
made them.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import shapely

from chape.field.contour import regions_above
from chape.findings import Finding, Severity
from chape.sheath.halves import highest_wall
from chape.tolerances import SAME_LENGTH
from chape.tooling.check_fixture import check_fixture
from chape.tooling.check_mould import check_mould
from chape.tooling.marks import LOCATOR_TOPS
from chape.tooling.nesting import RAISED
from chape.tooling.room import WEB_RATIO

if TYPE_CHECKING:
    from chape.tooling.model import Fixture, Layout, Mould

#: Outlines are flattened within this before they are measured, mm.
FLAT = 0.002


def check_tooling(layout: Layout, mould: Mould, fixture: Fixture) -> tuple[Finding, ...]:
    """Return everything worth saying about the tooling of one blank."""
    return (*check_layout(layout), *check_mould(mould), *check_fixture(fixture))


def check_layout(layout: Layout) -> tuple[Finding, ...]:
    """Return findings about copies, clamp border, locators and front mark."""
    outlines = [pattern.polygon(FLAT) for pattern in layout.patterns]
    raised = raised_by_copy(layout, outlines)
    return (
        *_outlines(layout, outlines),
        *_webs(layout, raised),
        *_run_ons(layout, outlines, raised),
        *_border(layout),
        *_marks(layout),
    )


def raised_by_copy(layout: Layout, outlines: list[shapely.Polygon]) -> list[shapely.Geometry]:
    """Return the raised regions of the formed blank that belong to each copy.

    A region belongs to the copy whose outline it meets; locators and front mark to none.
    """
    regions = [part for part in regions_above(layout.formed, RAISED).geoms if part.area > 1.0]
    return [
        shapely.union_all([part for part in regions if part.intersects(outline)])
        for outline in outlines
    ]


def _least(shapes: list[shapely.Geometry]) -> tuple[float, int, int]:
    return min(
        (float(shapes[a].distance(shapes[b])), a, b) for a, b in combinations(range(len(shapes)), 2)
    )


def _outlines(layout: Layout, outlines: list[shapely.Polygon]) -> list[Finding]:
    if len(outlines) < 2:
        return []
    gap, a, b = _least(list(outlines))
    if gap >= layout.blank.gap - SAME_LENGTH - 2 * FLAT:
        return []
    return [
        Finding(
            "outlines-too-near",
            Severity.ERROR,
            f"blank, {layout.name_of(a)} and {layout.name_of(b)}",
            "Two trimmed outlines are nearer than the gap asked for.",
            "Use fewer copies or a larger blank.",
            gap,
            layout.blank.gap,
        )
    ]


def _webs(layout: Layout, raised: list[shapely.Geometry]) -> list[Finding]:
    if len(raised) < 2:
        return []
    distance, a, b = _least(raised)
    height = max(highest_wall(sheath) for sheath in layout.sheaths)
    limit = WEB_RATIO * height
    if distance >= limit - 0.1:
        return []
    return [
        Finding(
            "web-distance-low",
            Severity.WARNING,
            f"blank, {layout.name_of(a)} and {layout.name_of(b)}",
            f"Raised parts {height:.1f} mm high stand nearer than {WEB_RATIO:g} times their "
            "height: the sheet may fold into a web between them.",
            "Use fewer copies or a larger blank, or look for webs at the first forming.",
            distance,
            limit,
        )
    ]


def _run_ons(
    layout: Layout, outlines: list[shapely.Polygon], raised: list[shapely.Geometry]
) -> list[Finding]:
    """Find raised parts that stand where a neighbour's outline is trimmed."""
    pairs = [
        (float(raised[a].distance(outlines[b])), a, b)
        for a in range(len(raised))
        for b in range(len(outlines))
        if a != b
    ]
    if not pairs:
        return []
    distance, a, b = min(pairs)
    gauge = float(layout.sheet.gauge.value)
    limit = layout.blank.gap
    if distance >= limit - 0.1:
        return []
    on_flange = distance < gauge
    return [
        Finding(
            "run-on-near-outline",
            Severity.ERROR if on_flange else Severity.WARNING,
            f"blank, {layout.name_of(a)} towards {layout.name_of(b)}",
            "The formed sheet runs on past an outline to where the neighbour is trimmed.",
            "Turn or move the copies apart with a larger blank; while trimming, expect the cutter "
            "to pass through the waste there.",
            distance,
            gauge if on_flange else limit,
        )
    ]


def _border(layout: Layout) -> list[Finding]:
    x, y, z = layout.formed.grid.x, layout.formed.grid.y, layout.formed.z
    border = layout.blank.clamp_border - SAME_LENGTH
    wide, deep = layout.blank.width, layout.blank.depth
    strips = (z[:, x < border], z[:, x > wide - border], z[y < border], z[y > deep - border])
    highest = max(float(strip.max(initial=0.0)) for strip in strips)
    if highest <= RAISED:
        return []
    return [
        Finding(
            "raised-in-border",
            Severity.ERROR,
            "blank, clamp border",
            "Something is raised under the clamp frame.",
            "Use a larger blank or a narrower border.",
            highest,
            RAISED,
        )
    ]


def _marks(layout: Layout) -> list[Finding]:
    findings = []
    wanted = len(LOCATOR_TOPS)
    if len(layout.locators) < wanted:
        findings.append(
            Finding(
                "corner-locator-missing",
                Severity.WARNING,
                "blank, corners",
                "There is no room for a locator near every corner of the blank.",
                "Use a larger blank or fewer copies; lay the sheet on the fixture with care.",
                len(layout.locators),
                wanted,
                "",
            )
        )
    if layout.front_mark is None:
        findings.append(
            Finding(
                "front-mark-missing",
                Severity.NOTE,
                "blank, front edge",
                "There is no room for the front mark.",
                "Mark the front edge of the sheet by hand before it is formed.",
            )
        )
    return findings
