"""The fit in pictures: force over travel, where it touches, the edge's room, play, many knives."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.chart import Axis, Chart
from chape.documents.picture_plan import closed_outline
from chape.documents.sketch import CENTRE, Pen, Sketch
from chape.fit.freedom import FURTHEST
from chape.fit.play import Way, end_point
from chape.sheath.closed import FAR
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.fit.fit import Fit
    from chape.sheath.model import Sheath

PULL, PUSH = Pen(palette.COPPER, 0.7), Pen(palette.FOLD, 0.45, (2.0, 1.0))
SPREAD = Pen(palette.FOLD, 0.5, (2.0, 1.0))

CHART_WIDTH, CHART_HEIGHT = 170.0, 74.0
SMALL_WIDTH, SMALL_HEIGHT = 82.0, 58.0

#: Holds are counted in so many bars.
BARS = 24

#: Radius of the dot where it presses hardest, paper mm.
DOT_MOST = 1.2


def force_chart(fit: Fit, unit: LengthUnit) -> Chart:
    """Return pull and push over travel, with what friction and temperature may do to the pull."""
    travel, scale, name = _lengths(fit.curve.travel, unit)
    curves = [fit.curve.pull, fit.curve.push, fit.rough.pull * max(fit.cold, fit.hot)]
    force = Axis.around(np.concatenate(curves), "force, N")
    chart = Chart(
        *(CHART_WIDTH, CHART_HEIGHT),
        *(Axis(0.0, max(float(travel[-1]), scale), f"drawn by, {name}"), force),
        "Force over travel",
    )
    days = sorted((fit.cold, fit.hot))
    outer = [fit.slick.pull * days[0], fit.rough.pull * days[1]]
    # The knife with less friction is free sooner; all are shown over one travel.
    low = _over(fit.slick.travel * scale, outer[0], travel)
    high = _over(fit.rough.travel * scale, outer[1], travel)
    if np.isfinite(low).all() and np.isfinite(high).all():
        chart.band(travel, low, high, palette.SHEET)
    inner = [_over(curve.travel * scale, curve.pull, travel) for curve in (fit.slick, fit.rough)]
    if all(np.isfinite(each).all() for each in inner):
        chart.band(travel, inner[0], inner[1], palette.STEEL)
    chart.level(fit.weight.needed, "a shake asks for this", palette.MOSS)
    chart.line(travel, fit.curve.push, PUSH)
    chart.line(travel, fit.curve.pull, PULL)
    peak = int(np.argmax(fit.curve.pull))
    if np.isfinite(fit.curve.pull[peak]) and fit.curve.pull[peak] > 0:
        chart.words(
            float(travel[peak]), float(fit.curve.pull[peak]), f"{fit.hold:.1f} N", palette.COPPER
        )
    _key(
        chart,
        (
            ("pull, as in the files", PULL, None),
            ("push home", PUSH, None),
            (f"pull, friction ± {fit.choices.friction_spread:g}", None, palette.STEEL),
            (
                f"and {fit.choices.cold:g} to {fit.choices.hot:g} °C besides",
                None,
                palette.SHEET,
            ),
        ),
    )
    return chart


def clearance_chart(fit: Fit, unit: LengthUnit) -> Chart:
    """Return the room of the edge along the draw, the sheath closed and with its halves spread."""
    seen = fit.clearance
    travel, scale, name = _lengths(seen.travel, unit)
    closed = np.where(seen.closed < FAR, seen.closed, np.nan) * scale
    spread = np.where(seen.spread < FAR, seen.spread, np.nan) * scale
    chart = Chart(
        *(SMALL_WIDTH, SMALL_HEIGHT),
        Axis(0.0, float(travel[-1]), f"drawn by, {name}"),
        Axis.around(np.append(closed, fit.choices.edge_margin * scale), f"edge to sheet, {name}"),
        "Room of the edge along the draw",
    )
    chart.line(travel, closed, PULL)
    chart.line(travel, spread, SPREAD)
    chart.level(fit.choices.edge_margin * scale, "least allowed", palette.EDGE)
    _key(chart, (("closed", PULL, None), ("halves spread", SPREAD, None)))
    return chart


def holds_chart(fit: Fit) -> Chart:
    """Return how many knives hold how hard, and the band that passes."""
    share = fit.share
    if share is None:
        raise ValueError("no knives were counted")
    holds = share.holds[np.isfinite(share.holds)]
    counts, edges = np.histogram(holds, BARS, (0.0, max(float(holds.max()), share.most) * 1.02))
    chart = Chart(
        *(SMALL_WIDTH, SMALL_HEIGHT),
        *(Axis(0.0, float(edges[-1]), "hold, N"), Axis.around(counts.astype(float), "knives")),
        "Holds of many knives",
    )
    chart.bars(edges, np.where(_within(edges, share.least, share.most), 0, counts), palette.STEEL)
    chart.bars(edges, np.where(_within(edges, share.least, share.most), counts, 0), palette.MOSS)
    chart.upright(share.least, "", palette.COPPER)
    chart.upright(share.most, "", palette.COPPER)
    chart.upright(share.wanted, "wanted" if fit.choices.hold else "as designed", palette.INK)
    return chart


def _within(edges: Floats, least: float, most: float) -> npt.NDArray[np.bool_]:
    middle = (edges[:-1] + edges[1:]) / 2
    inside: npt.NDArray[np.bool_] = (middle >= least) & (middle <= most)
    return inside


def influence_picture(fit: Fit, width: float = SMALL_WIDTH) -> Sketch:
    """Return which input makes the hold vary by how much, as bars."""
    rows = fit.share.influences if fit.share else ()
    pitch, left, right = 8.2, 27.0, 12.0
    sketch = Sketch(width, pitch * len(rows) + 11.0, 0.0, 0.0, 1.0, "What makes the hold vary")
    for number, each in enumerate(rows):
        y = -(6.0 + number * pitch)
        share = min(1.0, max(0.0, each.total))
        end = left + (width - left - right) * share
        sketch.text(left, y, each.name, shift=(-1.5, 0), anchor="end", size=2.5)
        _bar(sketch, left, end, y, palette.STEEL)
        alone = left + (width - left - right) * min(1.0, max(0.0, each.first))
        _bar(sketch, left, min(alone, end), y, palette.STEEL_DARK)
        sketch.text(end, y, f"{100 * share:.0f} %", shift=(1.2, 0), anchor="start", size=2.5)
    foot = -(pitch * len(rows) + 7.0)
    words = "dark: by itself; light: with what it does together with others"
    sketch.text(width, foot, words, anchor="end", size=2.3, colour=palette.SLATE)
    return sketch


def _bar(sketch: Sketch, start: float, end: float, y: float, colour: Colour) -> None:
    corners = np.array([(start, y - 2), (end, y - 2), (end, y + 2), (start, y + 2)])
    sketch.polyline(corners, Pen(None, fill=colour), closed=True)


def contact_map(sheath: Sheath, fit: Fit, width: float = CHART_WIDTH) -> Sketch:
    """Return where one half bears on the knife during the draw, seen through the front."""
    folded, knife = closed_outline(sheath), sheath.knife
    sketch = Sketch.around(folded.bounds, width, (6, 4, 6, 11), "Where knife and sheath touch")
    sketch.region(folded, Pen(palette.SHEET_DARK, 0.35, (), palette.WASH))
    sketch.region(knife.outline.intersection(folded), Pen(palette.STEEL_DARK, 0.2, (1.4, 0.9)))
    sketch.region(knife.edge_band, Pen(palette.EDGE, 0.12, (), palette.EDGE, 0.35))
    touched, most = fit.curve.contact, float(fit.curve.contact.pressure.max(initial=0.0))
    for values, colour, opacity in (
        (touched.pressure, palette.BRASS, 0.35),
        (touched.at_peak, palette.COPPER, 0.85),
    ):
        for (x, y, _), pressure in zip(touched.points, values, strict=True):
            if pressure > 0.02 * most:
                # The area of a dot is in proportion to the pressure.
                radius = DOT_MOST * float(np.sqrt(pressure / most)) / sketch.scale
                sketch.circle(x, y, radius, Pen(None, fill=colour, opacity=opacity))
    x_min, y_min, x_max, _ = folded.bounds
    words = "dark: while the pull is greatest; light: at any time; larger dots press harder"
    words = words if most > 0 else "nothing presses during the draw"
    sketch.text(x_min, y_min, words, shift=(0, -6), anchor="start", size=2.5, colour=palette.SLATE)
    sketch.text(x_max, y_min, "drawn this way →", shift=(0, -6), anchor="end", size=2.5)
    return sketch


def play_picture(sheath: Sheath, fit: Fit, unit: LengthUnit, width: float = CHART_WIDTH) -> Sketch:
    """Return how far tip and butt can be moved, in the plane of the knife and across it."""
    knife, motions = sheath.knife, fit.play.motions
    x_min, y_min, x_max, y_max = knife.outline.bounds
    grid, thick = knife.half.grid, knife.half.z.max(axis=0)
    across = y_min - 26.0
    on = thick > 0
    low = across - float(thick.max())
    bounds = (x_min, low, x_max, y_max)
    sketch = Sketch.around(bounds, width, (24, 10, 24, 9), "Free play of the knife")
    sketch.region(knife.outline, Pen(palette.STEEL_DARK, 0.25, (), palette.STEEL, 0.55))
    side = np.vstack(
        [
            np.column_stack([grid.x[on], across + thick[on]]),
            np.column_stack([grid.x[on], across - thick[on]])[::-1],
        ]
    )
    sketch.polyline(side, Pen(palette.STEEL_DARK, 0.25, (), palette.STEEL, 0.55), closed=True)
    sketch.line(x_min - 3, across, x_max + 3, across, CENTRE)
    for tip in (True, False):
        end = end_point(knife, tip=tip)
        ways = (
            (Way.TIP_SPINE, Way.TIP_EDGE, Way.TIP_FRONT, Way.TIP_BACK)
            if tip
            else (Way.BUTT_SPINE, Way.BUTT_EDGE, Way.BUTT_FRONT, Way.BUTT_BACK)
        )
        for way, y, up in zip(ways, (end[1], end[1], across, across), (1, -1, 1, -1), strict=True):
            x = float(end[0]) + (-5.0 if tip else 5.0)
            amount = min(motions[way].amount, FURTHEST)
            words = ("over " if motions[way].free else "") + show_length(amount, unit)
            sketch.dimension((x, y), (x, y + up * 6.0), "")
            sketch.text(
                *(x, y + up * 8.2), words, anchor="end" if tip else "start",
                shift=(2 if tip else -2, 0), size=2.6, halo=True,
            )  # fmt: skip
    sketch.text(
        x_min, y_max, "in its own plane: towards the spine side, and the edge side",
        shift=(0, 5), anchor="start", size=2.5, colour=palette.SLATE,
    )  # fmt: skip
    sketch.text(
        x_min, across + float(thick.max()), "from above: to the front, and to the back",
        shift=(0, 3.4), anchor="start", size=2.5, colour=palette.SLATE,
    )  # fmt: skip
    return sketch


def _lengths(travel: Floats, unit: LengthUnit) -> tuple[Floats, float, str]:
    """Return lengths in the unit shown, what multiplies mm, and the unit's name."""
    scale = 1.0 / unit.in_mm
    return travel * scale, scale, "in" if unit is LengthUnit.INCH else "mm"


def _over(travel: Floats, force: Floats, wanted: Floats) -> Floats:
    over: Floats = np.interp(wanted, travel, force, right=0.0)
    return over


def _key(chart: Chart, rows: tuple[tuple[str, Pen | None, Colour | None], ...]) -> None:
    """Say what lines and bands are, in the upper right."""
    span_x, span_y = chart.x.high - chart.x.low, chart.y.high - chart.y.low
    per_x, per_y = span_x / (chart.width - 19.0), span_y / (chart.height - 16.0)
    start = chart.x.high - 46.0 * per_x
    for number, (words, pen, fill) in enumerate(rows):
        y = chart.y.high - (5.0 + 4.2 * number) * per_y
        ends = np.array([start, start + 7.0 * per_x])
        if pen is not None:
            chart.line(ends, np.array([y, y]), pen)
        if fill is not None:
            half = np.array([1.2, 1.2]) * per_y
            chart.band(ends, y - half, y + half, fill)
        chart.label(start + 8.5 * per_x, y, words)
