"""Two measurements of a knife laid over one another; a knife in a sheath made for another."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.documents import palette
from chape.documents.picture_plan import closed_outline
from chape.documents.sketch import Pen, Sketch
from chape.documents.to_png import png_of
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.fit.stock import StockFit
    from chape.knife.compare import Comparison
    from chape.knife.model import Knife

WIDTH = 250.0

#: Differences of the outline are drawn this many times as long.
TIMES = 10.0

#: Differences of thickness are in full colour from here on, mm.
FULL = 0.5

#: Of the knife in a sheath: what has less room than this is marked, mm.
NEAR = 0.0


def comparison_picture(
    first: Knife, second: Knife, seen: Comparison, unit: LengthUnit = LengthUnit.MM
) -> Sketch:
    """Return both outlines, their differences ten times as long, and where thickness differs."""
    other = shapely.transform(second.outline, seen.placement.of)
    x_min, y_min, x_max, y_max = first.outline.union(other).bounds
    sketch = Sketch.around(
        (x_min, y_min, x_max, y_max), WIDTH, (8, 20, 8, 30), "Two measurements of a knife"
    )
    sketch.region(first.outline, Pen(None, fill=palette.STEEL, opacity=0.35))
    grid = seen.thickness.grid
    low_x, _, _, high_y = grid.bounds
    half = grid.spacing / 2
    sketch.image(
        _tinted(seen.thickness.z), low_x - half, high_y + half,
        grid.nx * grid.spacing, grid.ny * grid.spacing,
    )  # fmt: skip
    sketch.region(first.outline, Pen(palette.STEEL_DARK, 0.3))
    sketch.region(other, Pen(palette.COPPER, 0.3, (1.6, 0.9)))
    for start, end in _whiskers(first, seen):
        sketch.polyline(np.array([start, end]), Pen(palette.COPPER, 0.2))
    k = seen.worst
    _mark(sketch, seen.points[k], f"outline {_signed(float(seen.off[k]), unit)}")
    if seen.most != 0:
        _mark(sketch, np.array(seen.most_at), f"thickness {_signed(seen.most, unit)}")
    rows = (
        (f"{first.name}: filled, full line", palette.STEEL_DARK),
        (f"{second.name}: broken line; its differences from it {TIMES:g} times as long",
         palette.COPPER),
        ((f"copper: the second is thicker; moss: thinner; full colour from "
         f"{show_length(FULL, unit)}"), palette.SLATE),
        ((f"95 % of the outline within {show_length(seen.outline_off, unit)}; thickness within "
         f"+{show_length(seen.thicker, unit)} and -{show_length(seen.thinner, unit)}"),
         palette.INK),
    )  # fmt: skip
    _legend(sketch, x_min, y_min, rows)
    return sketch


def stock_picture(fit: StockFit, unit: LengthUnit = LengthUnit.MM) -> Sketch:
    """Return a knife in a sheath made for another, with the places where it does not fit."""
    folded, knife = closed_outline(fit.sheath), fit.sheath.knife
    x_min, y_min, x_max, y_max = folded.union(knife.outline).bounds
    sketch = Sketch.around(
        (x_min, y_min, x_max, y_max), WIDTH, (8, 20, 8, 30), "A knife in a sheath made for another"
    )
    sketch.region(folded, Pen(palette.SHEET_DARK, 0.35, (), palette.WASH))
    sketch.region(knife.outline, Pen(palette.COPPER, 0.35, (), palette.STEEL, 0.4))
    sketch.region(fit.own.outline, Pen(palette.STEEL_DARK, 0.25, (1.6, 0.9)))
    sketch.region(knife.edge_band, Pen(None, fill=palette.EDGE, opacity=0.35))
    inside = fit.room < NEAR
    most = max(float(-fit.room.min()), 0.1)
    for (x, y, _), room in zip(fit.points[inside], fit.room[inside], strict=True):
        radius = 0.9 * sqrt(float(-room) / most) / sketch.scale
        sketch.circle(x, y, radius, Pen(None, fill=palette.EDGE, opacity=0.8))
    k = fit.tightest
    words = "in the sheet by" if fit.room[k] < 0 else "least room"
    _mark(sketch, fit.points[k, :2], f"{words} {show_length(abs(float(fit.room[k])), unit)}")
    x, y, _ = fit.edge.places[fit.edge.worst]
    far = show_length(abs(fit.edge.least), unit)
    words = f"edge {far} from the sheet" if fit.edge.least >= 0 else f"edge in the sheet by {far}"
    _mark(sketch, np.array([x, y]), f"{words}, drawn by {fit.edge.travel[fit.edge.worst]:.0f} mm")
    rows = (
        (f"{knife.name}: filled, full line", palette.COPPER),
        (f"{fit.own.name}, for which the sheath was made: broken line", palette.STEEL_DARK),
        ("red dots: the knife stands in the sheet at home, the larger the deeper", palette.EDGE),
        ((f"on its way out the handle lifts the halves by {show_length(fit.lift, unit)}, the "
         f"sheath's own by {show_length(fit.lift_own, unit)}"), palette.INK),
    )  # fmt: skip
    _legend(sketch, x_min, y_min, rows)
    return sketch


def _whiskers(first: Knife, seen: Comparison) -> list[tuple[Floats, Floats]]:
    """Return a stroke for each difference of the outline, from the first's outline outwards."""
    ring = first.outline.exterior
    nearest = shapely.line_interpolate_point(
        ring, shapely.line_locate_point(ring, shapely.points(seen.points))
    )
    foot = shapely.get_coordinates(nearest)
    return [
        (start, start + TIMES * (point - start))
        for start, point, off in zip(foot, seen.points, seen.off, strict=True)
        if abs(off) > 1e-3
    ]


def _tinted(differ: Floats) -> bytes:
    """Return a see-through picture of differences in thickness, its top row at the highest y."""
    share = np.clip(np.abs(differ[::-1]) / FULL, 0, 1)
    pixels = np.zeros((*differ.shape, 4), np.uint8)
    pixels[..., :3] = np.where((differ[::-1] > 0)[..., None], palette.COPPER, palette.MOSS)
    pixels[..., 3] = np.rint(220 * share)
    return png_of(pixels)


def _mark(sketch: Sketch, place: Floats, words: str) -> None:
    x, y = float(place[0]), float(place[1])
    sketch.circle(x, y, 1.6 / sketch.scale, Pen(palette.INK, 0.3))
    left, _ = sketch.at(x, y)
    anchor = "start" if left < WIDTH / 2 else "end"
    shift = (2.4 if anchor == "start" else -2.4, 3.4)
    sketch.text(x, y, words, shift=shift, anchor=anchor, size=3.0, halo=True)


def _signed(length: float, unit: LengthUnit) -> str:
    return ("+" if length > 0 else "-") + show_length(abs(length), unit)


def _legend(sketch: Sketch, x: float, y: float, rows: tuple[tuple[str, Colour], ...]) -> None:
    for number, (words, colour) in enumerate(rows):
        shift = (0, -8 - 5.0 * number)
        sketch.text(x, y, words, shift=shift, anchor="start", size=3.2, colour=colour)
