"""Plans: the knife home in its sheath, the flat pattern with its measures, and the 1:1 template."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import affinity

from chape.documents import palette
from chape.documents.sketch import CENTRE, Pen, Sketch
from chape.field.contour import regions_above
from chape.sheath.halves import axis_of, half_holes, half_name, half_pattern, half_slots
from chape.sheath.model import HoleUse
from chape.units import show_length

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

    from chape.field.grid import Floats
    from chape.knife.model import Knife
    from chape.sheath.model import Fold, Piece, Sheath
    from chape.units import LengthUnit

#: The formed walls are drawn where they stand this high, mm.
FOOT_LEVEL = 0.2

CUT = Pen(palette.INK, 0.35)
FOOT = Pen(palette.SHEET_DARK, 0.18, (), palette.SHEET, 0.35)
FOLD = Pen(palette.FOLD, 0.3, (5, 1.2, 0.8, 1.2))
STRIP = Pen(palette.FOLD, 0.18, (1.2, 1.2))


def knife_in_sheath(sheath: Sheath, unit: LengthUnit, width: float = 170.0) -> Sketch:
    """Return the knife home in the closed sheath, seen from the front."""
    folded = closed_outline(sheath)
    knife = sheath.knife
    both = folded.union(knife.outline)
    sketch = Sketch.around(both.bounds, width, (6, 14, 6, 16), "The knife home in its sheath")
    _draw_knife(sketch, knife)
    sketch.region(folded, Pen(palette.SHEET_DARK, 0.4, (), palette.SHEET, 0.55))
    sketch.region(knife.outline.intersection(folded), Pen(palette.STEEL_DARK, 0.2, (1.4, 0.9)))
    sketch.region(knife.edge_band, Pen(palette.EDGE, 0.15, (), palette.EDGE, 0.45))
    for slot in half_slots(sheath, upper=False):
        area = affinity.translate(slot.area(0.01), 0, axis_of(sheath))
        sketch.region(area, Pen(palette.INK, 0.2, (), palette.PAPER))
    for hole in half_holes(sheath, upper=False):
        _draw_rivet(sketch, sheath, hole.u, hole.v + axis_of(sheath), hole.diameter, hole.use)
    _, low, _, high = both.bounds
    x_min, _, x_max, _ = folded.bounds
    tip, _, butt, _ = knife.outline.bounds
    sketch.dimension((tip, high), (butt, high), f"knife {show_length(butt - tip, unit)}", offset=6)
    sketch.dimension(
        (x_min, low), (x_max, low), f"sheath {show_length(x_max - x_min, unit)}", offset=-5
    )
    sketch.dimension(
        (tip, low), (knife.blade_length, low), f"blade {show_length(knife.blade_length, unit)}",
        offset=-11,
    )  # fmt: skip
    return sketch


def flat_pattern(sheath: Sheath, piece: Piece, unit: LengthUnit, width: float = 170.0) -> Sketch:
    """Return one piece, unfolded, with its measures."""
    bounds = piece.pattern.polygon().bounds
    u_min, v_min, u_max, v_max = bounds
    sketch = Sketch.around(
        bounds, width, (10, 13, 26, 21), f"The flat pattern{_which(sheath, piece)}"
    )
    _draw_pattern(sketch, sheath, piece)
    _name_halves(sketch, sheath, piece)
    if sheath.fold is not None:
        sketch.text(u_max, 0, "fold line", shift=(3, 0), anchor="start", colour=palette.FOLD)
        sketch.dimension((u_min, 0), (u_min, v_max), show_length(v_max, unit), offset=5)
    sketch.dimension((u_min, v_max), (u_max, v_max), show_length(u_max - u_min, unit), offset=6)
    sketch.dimension((u_max, v_max), (u_max, v_min), show_length(v_max - v_min, unit), offset=19)
    _dimension_holes(sketch, piece, unit)
    return sketch


def template(sheath: Sheath, piece: Piece) -> Sketch:
    """Return one piece at 1:1, its own size and a little room around the cut line."""
    u_min, v_min, u_max, v_max = piece.pattern.polygon().bounds
    room = 4.0
    sketch = Sketch(
        u_max - u_min + 2 * room,
        v_max - v_min + 2 * room,
        u_min - room,
        v_max + room,
        title=f"Flat pattern{_which(sheath, piece)}, 1:1",
    )
    _draw_pattern(sketch, sheath, piece, fine=True)
    _name_halves(sketch, sheath, piece)
    if sheath.fold is not None:
        across = (u_min + u_max) / 2
        sketch.text(across, 0, "fold", shift=(0, 2.4), colour=palette.FOLD, halo=True)
    return sketch


def closed_outline(sheath: Sheath) -> Polygon:
    """Return the closed sheath as seen from the front, in the sheath frame."""
    if sheath.fold is None:
        front, back = (half_pattern(sheath, upper=upper) for upper in (False, True))
        return largest(front.union(back))
    return _folded_outline(sheath.pieces[0], sheath.fold)


def _folded_outline(piece: Piece, fold: Fold) -> Polygon:
    half = affinity.translate(piece.pattern.polygon(0.02), 0, fold.line)
    x_min, y_min, x_max, _ = half.bounds
    x, end, height = stations_within(fold, x_min, x_max)
    below = shapely.Polygon(
        [
            (x_min - 1, y_min - 1),
            (x_max + 1, y_min - 1),
            (x_max + 1, end[-1]),
            *zip(x[::-1], end[::-1], strict=True),
            (x_min - 1, end[0]),
        ]
    )
    spine = half.intersection(shapely.LineString([(x_min - 1, fold.line), (x_max + 1, fold.line)]))
    first, _, last, _ = spine.bounds
    bend = shapely.Polygon(
        [
            *zip(x, end - 0.05, strict=True),
            *zip(x[::-1], (end + height + fold.gauge)[::-1], strict=True),
        ]
    ).intersection(shapely.box(first, -1e4, last, 1e4))
    whole = half.intersection(below).union(bend).buffer(0.2).buffer(-0.2)
    return largest(whole)


def stations_within(fold: Fold, first: float, last: float) -> tuple[Floats, Floats, Floats]:
    """Return x, y_e and g of a fold between two stations, both ends included."""
    inside = fold.x[(fold.x > first) & (fold.x < last)]
    x = np.concatenate([[first], inside, [last]])
    return x, np.interp(x, fold.x, fold.end), np.interp(x, fold.x, fold.height)


def largest(shape: BaseGeometry) -> Polygon:
    """Return the largest polygon of a shape."""
    polygons = [p for p in getattr(shape, "geoms", [shape]) if p.geom_type == "Polygon"]
    return max(polygons, key=lambda polygon: float(polygon.area))


def _draw_knife(sketch: Sketch, knife: Knife) -> None:
    blade = knife.outline.intersection(shapely.box(-1e3, -1e3, knife.blade_length, 1e3))
    handle = knife.outline.difference(blade)
    sketch.region(handle, Pen(None, 0, (), palette.STEEL_DARK, 0.75))
    sketch.region(blade, Pen(None, 0, (), palette.STEEL, 0.8))
    sketch.region(knife.outline, Pen(palette.STEEL_DARK, 0.35))


def _draw_rivet(
    sketch: Sketch, sheath: Sheath, x: float, y: float, diameter: float, use: HoleUse
) -> None:
    if use is HoleUse.EYELET:
        rim = Pen(palette.BRASS, 0.3, (), palette.PAPER, 0.85)
        sketch.circle(x, y, sheath.eyelet.flange.value / 2, rim)
    sketch.circle(x, y, diameter / 2, Pen(palette.INK, 0.2, (), palette.PAPER))


def _feet(piece: Piece) -> MultiPolygon:
    regions = regions_above(piece.formed, FOOT_LEVEL)
    return regions.intersection(piece.pattern.polygon(0.02)).simplify(0.03)


def _draw_pattern(sketch: Sketch, sheath: Sheath, piece: Piece, *, fine: bool = False) -> None:
    """Draw cut line, walls, fold and holes; finer lines where they are cut along."""
    pattern, fold = piece.pattern.polygon(0.02), sheath.fold
    u_min, _, u_max, _ = pattern.bounds
    if not fine:
        sketch.region(pattern, Pen(None, 0, (), palette.WASH))
    sketch.region(_feet(piece), FOOT)
    if fold is not None:
        u, end, _ = stations_within(fold, u_min, u_max)
        for side in (-1, 1):
            strip = shapely.LineString(np.column_stack([u, side * (fold.line - end)]))
            _draw_inside(sketch, strip, pattern, STRIP)
        _draw_inside(sketch, shapely.LineString([(u_min - 1, 0), (u_max + 1, 0)]), pattern, FOLD)
    sketch.outline(piece.pattern, Pen(palette.INK, 0.2) if fine else CUT)
    for hole in piece.holes:
        sketch.circle(hole.u, hole.v, hole.diameter / 2, Pen(palette.INK, 0.2, (), palette.PAPER))
        reach = hole.diameter / 2 + 1.2 / sketch.scale
        sketch.line(hole.u - reach, hole.v, hole.u + reach, hole.v, CENTRE)
        sketch.line(hole.u, hole.v - reach, hole.u, hole.v + reach, CENTRE)
    for slot in piece.slots:
        sketch.region(slot.area(0.01), Pen(palette.INK, 0.2, (), palette.PAPER))
        sketch.polyline(slot.ends, CENTRE)


def _draw_inside(sketch: Sketch, line: BaseGeometry, region: BaseGeometry, pen: Pen) -> None:
    inside = line.intersection(region)
    for piece in getattr(inside, "geoms", [inside]):
        if piece.geom_type == "LineString" and not piece.is_empty:
            sketch.polyline(np.asarray(piece.coords), pen)


def _which(sheath: Sheath, piece: Piece) -> str:
    return "" if len(sheath.pieces) == 1 else f" of the {piece.name} half"


def _name_halves(sketch: Sketch, sheath: Sheath, piece: Piece) -> None:
    """Write which half is which, between two holes where there is most room."""
    for side in (-1, 1) if sheath.fold is not None else (-1,):
        row = sorted((hole.u, hole.v) for hole in piece.holes if hole.v * side > 0)
        pairs = list(pairwise(row))
        if not pairs:
            continue
        left, right = max(pairs, key=lambda pair: pair[1][0] - pair[0][0])
        place = (left[0] + right[0]) / 2, (left[1] + right[1]) / 2
        name = piece.name
        if sheath.fold is not None:
            name = half_name(sheath, upper=side > 0)
        sketch.text(*place, f"{name} half", colour=palette.SLATE, halo=True)


def _dimension_holes(sketch: Sketch, piece: Piece, unit: LengthUnit) -> None:
    """Write the spacing of the lower eyelets, and what the holes are."""
    u_min, v_min, _, _ = piece.pattern.polygon().bounds
    row = sorted(
        (hole for hole in piece.holes if hole.use is HoleUse.EYELET and hole.v < 0),
        key=lambda hole: hole.u,
    )
    for left, right in pairwise(row):
        span = right.u - left.u
        if span * sketch.scale < 4:
            continue
        number = show_length(span, unit).split()[0]
        sketch.dimension((left.u, v_min), (right.u, v_min), number, offset=-5)
    kinds: dict[tuple[HoleUse, float], int] = {}
    for hole in piece.holes:
        kinds[hole.use, hole.diameter] = kinds.get((hole.use, hole.diameter), 0) + 1
    words = "  ·  ".join(
        f"{count} × ø {show_length(diameter, unit)} {use}"
        for (use, diameter), count in sorted(kinds.items())
    )
    sizes = [(slot.length, slot.width) for slot in piece.slots]
    for length, width in sorted(set(sizes)):
        long, wide = (show_length(size, unit) for size in (length, width))
        words += f"  ·  {sizes.count((length, width))} × {long} × {wide} slot"
    u_min = piece.pattern.points[:, 0].min()
    sketch.text(
        float(u_min), v_min, f"Holes: {words}", shift=(0, -16), anchor="start", colour=palette.INK
    )
