"""Forming in pictures: how heat runs, and what the drawn sheet keeps of its gauge."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.chart import Axis, Chart
from chape.documents.sketch import Pen, Sketch
from chape.documents.to_png import png_of
from chape.field.contour import regions_above
from chape.forming.draping import BRIDGE
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.field.outline import Outline
    from chape.forming.model import Curve, Drape, FoldHeating, Forming
    from chape.solve.spread import Estimate

#: Lower bounds of the bands, share of the gauge kept, and the colour of each: thinner is darker.
BANDS: tuple[tuple[float, Colour], ...] = (
    (0.97, palette.Colour(0xF4, 0xF1, 0xEA)),
    (0.92, palette.Colour(0xE6, 0xDC, 0xC4)),
    (0.87, palette.Colour(0xD3, 0xBF, 0x98)),
    (0.82, palette.Colour(0xB8, 0x9A, 0x6C)),
    (0.77, palette.Colour(0x95, 0x73, 0x4A)),
    (0.70, palette.Colour(0x6D, 0x4F, 0x33)),
    (0.0, palette.Colour(0x3F, 0x2C, 0x1E)),
)

PENS = (Pen(palette.COPPER, 0.6), Pen(palette.FOLD, 0.6))

#: Round where the sheet is not down.
NOT_DOWN = Pen(palette.FOLD, 0.3, (0.8, 0.6))

CHART_WIDTH, CHART_HEIGHT = 82.0, 58.0


def heating_chart(forming: Forming) -> Chart:
    """Return how the blank gets hot."""
    heating = forming.heating
    title = f"Heating, {forming.heater.title}"
    chart = _heat_chart(heating.curves, title, heating.ready)
    chart.level(heating.wanted, "warm enough to form", palette.MOSS)
    chart.level(heating.highest, "the sheet's limit", palette.EDGE)
    return chart


def fold_chart(forming: Forming, fold: FoldHeating) -> Chart:
    """Return how the fold's strip gets hot."""
    chart = _heat_chart(fold.curves, f"Heating the fold, {forming.strip.title}", fold.ready)
    chart.level(forming.sheet.folding_temperature.value, "warm enough to fold", palette.MOSS)
    chart.level(forming.sheet.fume_temperature.value, "the sheet's limit", palette.EDGE)
    return chart


def cooling_chart(forming: Forming) -> Chart:
    """Return how the sheet gets cold on its mould, first shot and last."""
    cooling = forming.cooling
    chart = _heat_chart(cooling.curves, "Cooling on the mould", key_below=0.97)
    chart.level(cooling.stiff, "stiff enough to lift", palette.MOSS)
    return chart


def _heat_chart(
    curves: tuple[Curve, ...], title: str, ready: Estimate | None = None, key_below: float = 0.2
) -> Chart:
    """Return curves of temperature, and when they are ready; the key hangs at a share of height."""
    seconds = np.concatenate([curve.seconds for curve in curves])
    heat = np.concatenate([curve.temperature for curve in curves])
    chart = Chart(
        CHART_WIDTH,
        CHART_HEIGHT,
        Axis.around(seconds, "seconds"),
        Axis(0.0, max(220.0, 1.08 * float(heat.max())), "°C"),
        title,
    )
    if ready is not None:
        span = np.array([ready.low, min(ready.high, chart.x.high)])
        chart.band(span, np.zeros(2), np.full(2, chart.y.high), palette.HAIRLINE)
        chart.upright(ready.value, f"ready, {ready.value:.0f} s")
    for number, curve in enumerate(curves):
        pen = _pen(number)
        chart.line(curve.seconds, curve.temperature, pen)
        x = chart.x.low + np.array([0.42, 0.49]) * (chart.x.high - chart.x.low)
        y = chart.y.low + (key_below - 0.075 * number) * (chart.y.high - chart.y.low)
        chart.line(x, np.full(2, y), pen)
        chart.label(float(x[1] + 0.1 * (x[1] - x[0])), float(y), curve.title)
    return chart


def _pen(number: int) -> Pen:
    """Return the pen of a curve: two colours, dashed for a second pair."""
    pen = PENS[number % 2]
    return pen if number < 2 else Pen(pen.line, 0.4, (1.6, 1.0))


def thickness_map(
    drape: Drape,
    gauge: float,
    patterns: tuple[Outline, ...],
    unit: LengthUnit,
    width: float = 112.0,
) -> Sketch:
    """Return the plan of a blank, coloured by what the sheet keeps of its gauge.

    Args:
        drape: the sheet on its mould.
        gauge: before it was drawn, mm.
        patterns: trimmed outline of each copy, drawn over it.
        unit: of the legend.
        width: of the picture, paper mm.
    """
    grid = drape.kept.grid
    x_min, y_min, x_max, y_max = grid.bounds
    sketch = Sketch.around(grid.bounds, width, (1, 1, 34, 1), "What the formed sheet keeps")
    half, across = grid.spacing / 2, x_max - x_min + grid.spacing
    pixels = np.array([colour for _, colour in BANDS], np.uint8)[_band(drape.kept.z)][::-1]
    sketch.image(png_of(pixels), x_min - half, y_max + half, across, y_max - y_min + grid.spacing)
    for outline in patterns:
        sketch.outline(outline, Pen(palette.INK, 0.2))
    for place in drape.webs:
        sketch.circle(place.x, place.y, _ring(place.area), Pen(palette.EDGE, 0.3))
    sketch.region(regions_above(drape.gap, BRIDGE), NOT_DOWN)
    frame = np.array([(x_min, y_min), (x_max, y_min), (x_max, y_max), (x_min, y_max)])
    sketch.polyline(frame, Pen(palette.INK, 0.25), closed=True)
    _legend(sketch, x_max, gauge, unit)
    return sketch


def _ring(area: float) -> float:
    return float(max(3.0, np.sqrt(area / np.pi)))


def _band(kept: Floats) -> npt.NDArray[np.int64]:
    bounds = np.array([bound for bound, _ in BANDS])
    return np.asarray(np.argmax(kept[..., None] >= bounds, axis=-1))


def _legend(sketch: Sketch, x_max: float, gauge: float, unit: LengthUnit) -> None:
    right, _ = sketch.at(x_max, 0)
    height, top = 5.2, 9.0
    heading = "wall, inch" if unit is LengthUnit.INCH else "wall, mm"
    sketch.text(*sketch.back(right + 4, top - 4.5), heading, anchor="start", bold=True)
    for number, (bound, colour) in enumerate(BANDS):
        y = top + number * height
        corners = [(4, 0), (9, 0), (9, height), (4, height)]
        box = np.array([sketch.back(right + a, y + b) for a, b in corners])
        sketch.polyline(box, Pen(palette.HAIRLINE, 0.2, (), colour), closed=True)
        shown = show_length(gauge * (bound or BANDS[number - 1][0]), unit).split()[0]
        words = f"over {shown}" if bound else f"under {shown}"
        sketch.text(*sketch.back(right + 10.5, y + height / 2), words, anchor="start", size=2.5)
    y = top + len(BANDS) * height + 4
    for words, pen in (
        ("may fold", Pen(palette.EDGE, 0.3)),
        ("not down", NOT_DOWN),
    ):
        sketch.circle(*sketch.back(right + 6.5, y), 1.8 / sketch.scale, pen)
        sketch.text(*sketch.back(right + 10.5, y), words, anchor="start", size=2.5)
        y += 6
