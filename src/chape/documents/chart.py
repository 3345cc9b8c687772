"""Charts: curves, bands and bars over two axes, drawn on a sketch in paper mm."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil, floor, log10
from typing import TYPE_CHECKING

import numpy as np
from shapely import Polygon

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch

if TYPE_CHECKING:
    from chape.documents.palette import Colour
    from chape.field.grid import Floats

#: Paper around the axes, mm: left, top, right, bottom.
MARGINS = (13.0, 5.0, 6.0, 11.0)

GRID = Pen(palette.HAIRLINE, 0.12)
FRAME = Pen(palette.INK, 0.25)
LEVEL = Pen(palette.SLATE, 0.2, (1.6, 1.2))


def ticks(low: float, high: float, about: int = 5) -> Floats:
    """Return round numbers from ``low`` to ``high``: steps of 1, 2 or 5 times a power of ten."""
    span = high - low
    raw = span / about
    power = 10.0 ** floor(log10(raw))
    step = power * next(s for s in (1, 2, 5, 10) if s * power >= raw * 0.999)
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return np.asarray(np.arange(first, last + 1) * step, dtype=float)


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its ends, and what it measures ("seconds", "pull, N")."""

    low: float
    high: float
    title: str

    @classmethod
    def around(cls, values: Floats, title: str, *, zero: bool = True) -> Axis:
        """Return an axis that holds all finite values, from 0 where asked, with room to spare."""
        finite = values[np.isfinite(values)]
        low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 1.0)
        low = min(0.0, low) if zero else low
        span = high - low or 1.0
        return cls(low if zero and low == 0.0 else low - 0.05 * span, high + 0.08 * span, title)


@dataclass(slots=True, eq=False)
class Chart:
    """A chart being drawn, paper mm.

    Attributes:
        width, height: of the whole picture.
        x, y: the axes.
        title: what it shows, for those who cannot see it.
    """

    width: float
    height: float
    x: Axis
    y: Axis
    title: str = ""
    board: Sketch = field(init=False)

    def __post_init__(self) -> None:
        """Draw the frame, the grid and the axes' numbers."""
        self.board = Sketch(self.width, self.height, 0.0, self.height, 1.0, self.title)
        left, bottom = self._at(self.x.low, self.y.low)
        right, top = self._at(self.x.high, self.y.high)
        for value in ticks(self.x.low, self.x.high):
            place, _ = self._at(value, self.y.low)
            self.board.line(place, bottom, place, top, GRID)
            self.board.text(place, bottom, f"{value:g}", shift=(0, -2.6), size=2.5)
        for value in ticks(self.y.low, self.y.high):
            _, place = self._at(self.x.low, value)
            self.board.line(left, place, right, place, GRID)
            self.board.text(left, place, f"{value:g}", shift=(-1.4, 0), anchor="end", size=2.5)
        self.board.polyline(np.array([(left, top), (left, bottom), (right, bottom)]), FRAME)
        self.board.text(right, bottom, self.x.title, shift=(0, -7), anchor="end", size=2.7)
        self.board.text(left, top, self.y.title, shift=(0, 2.8), anchor="start", size=2.7)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        left, top, right, bottom = MARGINS
        across = (x - self.x.low) / (self.x.high - self.x.low)
        up = (y - self.y.low) / (self.y.high - self.y.low)
        return (
            left + across * (self.width - left - right),
            bottom + up * (self.height - top - bottom),
        )

    def _all(self, x: Floats, y: Floats) -> Floats:
        return np.array([self._at(a, b) for a, b in zip(x, y, strict=True)]).reshape(-1, 2)

    def line(self, x: Floats, y: Floats, pen: Pen, words: str = "") -> None:
        """Draw a curve, broken where it is not finite, with words at its last point."""
        known = np.isfinite(x) & np.isfinite(y)
        for part in np.split(np.arange(len(x)), np.nonzero(~known)[0]):
            kept = part[known[part]]
            if len(kept) > 1:
                self.board.polyline(self._all(x[kept], y[kept]), pen)
        if words and known.any():
            last = np.nonzero(known)[0][-1]
            self.words(float(x[last]), float(y[last]), words, pen.line or palette.INK)

    def band(self, x: Floats, low: Floats, high: Floats, colour: Colour) -> None:
        """Fill between two curves."""
        ring = np.concatenate([self._all(x, low), self._all(x[::-1], high[::-1])])
        self.board.region(Polygon(ring).buffer(0), Pen(None, fill=colour, opacity=0.3))

    def bars(self, edges: Floats, heights: Floats, colour: Colour) -> None:
        """Draw bars (n,) between edges (n + 1,), up from the axis."""
        for start, end, height in zip(edges[:-1], edges[1:], heights, strict=True):
            corners = self._all(
                np.array([start, end, end, start]), np.array([self.y.low] * 2 + [height] * 2)
            )
            self.board.polyline(corners, Pen(palette.PAPER, 0.2, fill=colour), closed=True)

    def level(self, y: float, words: str, colour: Colour = palette.SLATE) -> None:
        """Draw a dashed line across at ``y``."""
        if self.y.low <= y <= self.y.high:
            ends = self._all(np.array([self.x.low, self.x.high]), np.array([y, y]))
            self.board.polyline(ends, Pen(colour, LEVEL.width, LEVEL.dash))
            self.board.text(
                float(ends[1, 0]),
                float(ends[1, 1]),
                words,
                shift=(-1, 1.8),
                anchor="end",
                size=2.5,
                colour=colour,
                halo=True,
            )

    def upright(self, x: float, words: str, colour: Colour = palette.SLATE) -> None:
        """Draw a dashed line up at ``x``."""
        if self.x.low <= x <= self.x.high:
            ends = self._all(np.array([x, x]), np.array([self.y.low, self.y.high]))
            self.board.polyline(ends, Pen(colour, LEVEL.width, LEVEL.dash))
            anchor = "start" if x < (self.x.low + self.x.high) / 2 else "end"
            shift = (1.0 if anchor == "start" else -1.0, -2.2)
            self.board.text(
                float(ends[1, 0]),
                float(ends[1, 1]),
                words,
                shift=shift,
                anchor=anchor,
                size=2.5,
                colour=colour,
                halo=True,
            )

    def words(self, x: float, y: float, words: str, colour: Colour = palette.INK) -> None:
        """Write beside a point, to the side that has room."""
        place = self._at(x, y)
        anchor = "end" if place[0] > 0.6 * self.width else "start"
        shift = (-1.0 if anchor == "end" else 1.0, 2.2)
        self.board.text(
            *place, words, shift=shift, anchor=anchor, size=2.5, colour=colour, halo=True
        )

    def label(self, x: float, y: float, words: str, colour: Colour = palette.INK) -> None:
        """Write from a point on to the right, as in a key."""
        self.board.text(*self._at(x, y), words, anchor="start", size=2.5, colour=colour, halo=True)

    def svg(self) -> bytes:
        """Return the chart as an SVG file of its true paper size."""
        return self.board.svg()
