"""What was measured, drawn over the picture it was measured from, for the person to confirm.

The picture is turned into the knife frame at the height of the knife itself, so that the outline
must lie on the knife's edge all round: tip left, edge down. Three windows show the places that
matter larger.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.documents.to_pdf import png_of_svg
from chape.documents.to_png import png_of
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    import numpy.typing as npt
    from shapely import MultiPolygon

    from chape.field.grid import Floats
    from chape.knife.measured import Measured

#: Width of the picture and its parts, paper mm.
WIDTH, RIM, GAP = 250.0, 8.0, 4.0

#: Room above the knife for the heading and the landmarks' names, and below it for the scale.
ABOVE, BELOW = 28.0, 13.0

#: Shown round the outline, mm.
ROUND = 7.0

#: A window shows this much of the knife, mm, on this much paper.
WINDOW, WINDOW_PAPER = (15.0, 9.0), (72.0, 43.2)

#: Pixels per mm of paper; the picture is turned by a net of places this many pixels apart.
FINE, NET = 8.0, 16

_UNDER = Pen(palette.PAPER, 0.75)
_OVER = Pen(palette.EDGE, 0.28)
_BAND = Pen(None, fill=palette.BRASS, opacity=0.45)
_MARK = Pen(palette.FOLD, 0.2, (1.6, 1.0))
_FRAME = Pen(palette.HAIRLINE, 0.25)

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """What is drawn.

    Attributes:
        measured: outline, landmarks and picture.
        band: the edge band of the knife file that was written.
        name: of the knife.
        said: lines under the heading, such as what is to be checked.
        unit: lengths are shown in.
    """

    measured: Measured
    band: MultiPolygon
    name: str
    said: tuple[str, ...]
    unit: LengthUnit = LengthUnit.MM


def overlay_png(overlay: Overlay) -> bytes:
    """Return the overlay as a PNG file."""
    measured = overlay.measured
    x_min, y_min, x_max, y_max = measured.outline.bounds
    box = (x_min - ROUND, y_min - ROUND, x_max + ROUND, y_max + ROUND)
    scale = (WIDTH - 2 * RIM) / (box[2] - box[0])
    drawn = (box[3] - box[1]) * scale
    height = ABOVE + drawn + BELOW + WINDOW_PAPER[1] + 7.0 + RIM
    sketch = Sketch(
        WIDTH, height, box[0] - RIM / scale, box[3] + ABOVE / scale, scale, overlay.name
    )
    _picture(sketch, measured, box, box)
    sketch.region(overlay.band, _BAND)
    ring = shapely.get_coordinates(measured.outline.exterior)
    sketch.polyline(ring, _UNDER, closed=True)
    sketch.polyline(ring, _OVER, closed=True)
    _marks(sketch, overlay, box)
    _heading(sketch, overlay)
    _scale(sketch, overlay, box)
    _windows(sketch, overlay, ABOVE + drawn + BELOW)
    return png_of_svg(sketch.svg(), FINE)


def rectified(measured: Measured, box: Box, per_mm: float) -> npt.NDArray[np.uint8]:
    """Return the picture over a box of the knife frame, (h, w, 3), the first row its top."""
    columns = max(2, round((box[2] - box[0]) * per_mm))
    rows = max(2, round((box[3] - box[1]) * per_mm))
    # Where a net of places lies is worked out; between them it is as good as straight.
    x, across = _net(columns)
    y, down = _net(rows)
    places = np.stack(np.meshgrid(box[0] + (x + 0.5) / per_mm, box[3] - (y + 0.5) / per_mm), -1)
    net = measured.to_pixels(places.reshape(-1, 2)).reshape(*places.shape)
    at = [(down @ net[..., k] @ across.T).astype(np.float32) for k in (0, 1)]
    turned = cv2.remap(
        measured.picture.pixels, at[0], at[1], cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT, borderValue=(255, 255, 255),
    )  # fmt: skip
    return np.asarray(turned, dtype=np.uint8)


def _net(count: int) -> tuple[Floats, Floats]:
    """Return places along ``count`` pixels, and the weights (count, n) of each for each pixel."""
    places = np.linspace(0.0, count - 1.0, max(2, count // NET + 1))
    each = np.eye(len(places))
    weights = np.column_stack([np.interp(np.arange(count), places, unit) for unit in each])
    return places, weights


def _picture(sketch: Sketch, measured: Measured, box: Box, place: Box) -> None:
    """Lay the picture over ``box`` of the knife frame on ``place`` of the sketch."""
    per_mm = FINE * sketch.scale * (place[2] - place[0]) / (box[2] - box[0])
    pixels = rectified(measured, box, per_mm)
    width, height = place[2] - place[0], place[3] - place[1]
    sketch.image(png_of(pixels), place[0], place[3], width, height)
    corners = [(0, 1), (2, 1), (2, 3), (0, 3)]
    rim = np.array([(place[a], place[b]) for a, b in corners])
    sketch.polyline(rim, _FRAME, closed=True)


def _marks(sketch: Sketch, overlay: Overlay, box: Box) -> None:
    marks, unit = overlay.measured.landmarks, overlay.unit
    top = box[3] + 1.5 / sketch.scale
    for x, words, anchor in (
        (0.0, "tip", "middle"),
        (marks.blade_length, f"blade ends, {show_length(marks.blade_length, unit)}", "end"),
        (marks.handle, "guard ends" if marks.guard else "", "start"),
        (marks.butt, f"butt, {show_length(marks.butt, unit)}", "end"),
    ):
        if words:
            sketch.line(x, box[1], x, top, _MARK)
            shift = {"middle": 0.0, "end": 1.0, "start": -1.0}[anchor]
            sketch.text(
                x, top, words, shift=(shift, 2.2), anchor=anchor, colour=palette.FOLD, size=3.0
            )


def _heading(sketch: Sketch, overlay: Overlay) -> None:
    measured, unit = overlay.measured, overlay.unit
    left, top = sketch.back(RIM, 8.0)
    sketch.text(left, top, overlay.name, anchor="start", size=5.4, bold=True)
    sure = f"± {show_length(measured.uncertainty, unit)} all round"
    size = f"{show_length(measured.length, unit)} long, {show_length(measured.width, unit)} wide"
    right, _ = sketch.back(WIDTH - RIM, 8.0)
    sketch.text(right, top, f"{size}, {sure}", anchor="end", size=4.0, colour=palette.SLATE)
    for number, line in enumerate(overlay.said[:2]):
        _, level = sketch.back(RIM, 14.6 + 4.4 * number)
        sketch.text(left, level, line, anchor="start", size=3.0, colour=palette.COPPER)


def _scale(sketch: Sketch, overlay: Overlay, box: Box) -> None:
    """Draw the scale bar, and say what the colours mean."""
    long = 50.0 if overlay.unit is LengthUnit.MM else 2 * overlay.unit.in_mm
    words = "50 mm" if overlay.unit is LengthUnit.MM else "2 in"
    level = box[1] - 5.5 / sketch.scale
    sketch.dimension((box[0], level), (box[0] + long, level), words)
    x, y = sketch.at(box[2], level)
    parts = (("outline", palette.EDGE), ("edge band: nothing may touch it", palette.BRASS))
    for words, colour in parts:
        left, middle = sketch.back(x, y)
        sketch.text(left, middle, words, anchor="end", size=3.0, colour=palette.SLATE)
        x -= 1.5 * len(words) + 5.0
        swatch = np.array([sketch.back(x, y), sketch.back(x + 4.0, y)])
        sketch.polyline(swatch, Pen(colour, 1.0))
        x -= 5.0


def _windows(sketch: Sketch, overlay: Overlay, top: float) -> None:
    """Draw tip, blade's end and butt larger, side by side."""
    measured = overlay.measured
    ring = shapely.get_coordinates(measured.outline.exterior)
    tip, butt = ring[np.argmin(ring[:, 0])], ring[np.argmax(ring[:, 0])]
    blade = measured.landmarks.blade_length
    heel = ring[np.argmin(np.hypot(ring[:, 0] - blade, ring[:, 1]))]
    half = np.array(WINDOW) / 2
    places = (
        ("the tip", tip + np.array([half[0] - 3.0, 0.0])),
        ("the blade's end, edge side", heel),
        ("the butt", butt - np.array([half[0] - 3.0, 0.0])),
    )
    gap = (WIDTH - 2 * RIM - 3 * WINDOW_PAPER[0]) / 2
    for number, (words, middle) in enumerate(places):
        left = RIM + number * (WINDOW_PAPER[0] + gap)
        _window(sketch, overlay, words, (middle - half, middle + half), (left, top))


def _window(
    sketch: Sketch,
    overlay: Overlay,
    words: str,
    corners: tuple[Floats, Floats],
    paper: tuple[float, float],
) -> None:
    low, high = corners
    left, top = sketch.back(*paper)
    right, bottom = sketch.back(paper[0] + WINDOW_PAPER[0], paper[1] + WINDOW_PAPER[1])
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    _picture(sketch, overlay.measured, box, (left, bottom, right, top))
    larger = (right - left) / WINDOW[0]
    shown = shapely.box(*box)
    band = shapely.affinity.affine_transform(
        overlay.band.intersection(shown),
        [larger, 0, 0, larger, left - larger * box[0], bottom - larger * box[1]],
    )
    sketch.region(band, Pen(None, fill=palette.BRASS, opacity=0.3))
    line = overlay.measured.outline.exterior.intersection(shown)
    for part in shapely.get_parts(shapely.line_merge(line)):
        points = (shapely.get_coordinates(part) - low) * larger + [left, bottom]
        if len(points) > 1:
            sketch.polyline(points, Pen(palette.PAPER, 0.6))
            sketch.polyline(points, Pen(palette.EDGE, 0.3))
    times = WINDOW_PAPER[0] / WINDOW[0]
    sketch.text(
        (left + right) / 2, bottom, f"{words}, {times:.1f} times its size",
        shift=(0, -3.4), size=3.0, colour=palette.SLATE,
    )  # fmt: skip
