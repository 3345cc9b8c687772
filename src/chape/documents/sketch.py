"""A small drawing board: mm in, SVG out.

Coordinates are the thing's own mm with y up; the board scales them onto paper. Line widths,
text sizes and dimension offsets are paper mm, so that a picture reads the same at any scale.
"""

from __future__ import annotations

import re
from base64 import b64encode
from dataclasses import dataclass, field
from html import escape
from math import atan2, degrees, hypot
from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.field.outline import arc_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from shapely.geometry.base import BaseGeometry

    from chape.documents.palette import Colour
    from chape.field.grid import Floats
    from chape.field.outline import Outline

FONT = "Lato, 'DejaVu Sans', sans-serif"

#: Text on pictures, and what stands beside it, paper mm.
TEXT = 2.7
ARROW = 1.9

#: Characters that XML does not allow at all.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class Pen:
    """How something is drawn: line colour, width and dashes (paper mm), fill and its opacity."""

    line: Colour | None = palette.INK
    width: float = 0.25
    dash: tuple[float, ...] = ()
    fill: Colour | None = None
    opacity: float = 1.0

    @property
    def words(self) -> str:
        """The pen as SVG attributes."""
        parts = [f'fill="{self.fill.hex if self.fill else "none"}"']
        if self.fill and self.opacity < 1:
            parts.append(f'fill-opacity="{self.opacity:g}"')
        if self.line:
            parts.append(
                f'stroke="{self.line.hex}" stroke-width="{self.width:g}" '
                'stroke-linejoin="round" stroke-linecap="round"'
            )
            if self.dash:
                parts.append(f'stroke-dasharray="{" ".join(f"{d:g}" for d in self.dash)}"')
        return " ".join(parts)


MEASURE = Pen(palette.SLATE, 0.15)
CENTRE = Pen(palette.SLATE, 0.15, (3, 0.8, 0.6, 0.8))


@dataclass(slots=True, eq=False)
class Sketch:
    """A picture being drawn.

    Attributes:
        width, height: of the picture, paper mm.
        left, top: the thing's coordinates at the picture's upper left corner, mm.
        scale: paper mm per mm of the thing.
        title: what the picture shows, for those who cannot see it.
    """

    width: float
    height: float
    left: float = 0.0
    top: float = 0.0
    scale: float = 1.0
    title: str = ""
    parts: list[str] = field(default_factory=list)

    @classmethod
    def around(
        cls,
        bounds: tuple[float, float, float, float],
        width: float,
        margins: tuple[float, float, float, float],
        title: str = "",
    ) -> Sketch:
        """Return a board of the given paper width that holds ``bounds`` inside its margins.

        Args:
            bounds: x_min, y_min, x_max, y_max of the thing, mm.
            width: of the picture, paper mm.
            margins: left, top, right, bottom, paper mm.
            title: what the picture shows.
        """
        x_min, y_min, x_max, y_max = bounds
        left, top, right, bottom = margins
        scale = (width - left - right) / (x_max - x_min)
        height = (y_max - y_min) * scale + top + bottom
        return cls(width, height, x_min - left / scale, y_max + top / scale, scale, title)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the thing comes to lie on paper, from the upper left, mm."""
        return (x - self.left) * self.scale, (self.top - y) * self.scale

    def polyline(self, points: Floats, pen: Pen, *, closed: bool = False) -> None:
        """Draw (n, 2) points joined by lines."""
        self.parts.append(f'<path d="{self._chain(points, closed=closed)}" {pen.words}/>')

    def line(self, x1: float, y1: float, x2: float, y2: float, pen: Pen) -> None:
        """Draw one line."""
        self.polyline(np.array([(x1, y1), (x2, y2)]), pen)

    def region(self, shape: BaseGeometry, pen: Pen) -> None:
        """Draw a polygon or several, holes left open."""
        chains = []
        for polygon in getattr(shape, "geoms", [shape]):
            if polygon.geom_type != "Polygon" or polygon.is_empty:
                continue
            rings = [polygon.exterior, *polygon.interiors]
            chains += [self._chain(np.asarray(r.coords)[:-1], closed=True) for r in rings]
        if chains:
            self.parts.append(f'<path fill-rule="evenodd" d="{" ".join(chains)}" {pen.words}/>')

    def outline(self, outline: Outline, pen: Pen) -> None:
        """Draw an outline with its true arcs."""
        x, y = self.at(*outline.points[0])
        words = [f"M{x:.4f} {y:.4f}"]
        following = np.roll(outline.points, -1, axis=0)
        for start, end, bulge in zip(outline.points, following, outline.bulges, strict=True):
            x, y = self.at(*end)
            if bulge == 0:
                words.append(f"L{x:.4f} {y:.4f}")
                continue
            _, radius, _, sweep = arc_of(start, end, float(bulge))
            paper = radius * self.scale
            large, clockwise = int(abs(sweep) > np.pi), int(sweep < 0)
            words.append(f"A{paper:.5f} {paper:.5f} 0 {large} {clockwise} {x:.4f} {y:.4f}")
        self.parts.append(f'<path d="{"".join(words)}Z" {pen.words}/>')

    def circle(self, x: float, y: float, radius: float, pen: Pen) -> None:
        """Draw a circle; its radius is the thing's."""
        cx, cy = self.at(x, y)
        self.parts.append(
            f'<circle cx="{cx:.4f}" cy="{cy:.4f}" r="{radius * self.scale:.4f}" {pen.words}/>'
        )

    def image(self, png: bytes, x_min: float, y_max: float, width: float, height: float) -> None:
        """Lay a PNG over a rectangle of the thing."""
        x, y = self.at(x_min, y_max)
        code = b64encode(png).decode("ascii")
        self.parts.append(
            f'<image x="{x:.4f}" y="{y:.4f}" width="{width * self.scale:.4f}" '
            f'height="{height * self.scale:.4f}" preserveAspectRatio="none" '
            f'href="data:image/png;base64,{code}"/>'
        )

    def text(  # noqa: PLR0913 - letters have many ways to stand, each with a usual one
        self,
        x: float,
        y: float,
        words: str,
        *,
        shift: tuple[float, float] = (0, 0),
        anchor: str = "middle",
        size: float = TEXT,
        colour: Colour = palette.INK,
        turn: float = 0.0,
        bold: bool = False,
        halo: bool = False,
    ) -> None:
        """Write text whose middle height stands at a point.

        Args:
            x: abscissa of the point, of the thing, mm.
            y: its ordinate.
            words: what to write.
            shift: moved by this on paper, x right and y up, mm.
            anchor: "start", "middle" or "end" stands at the point.
            size: height of the letters' body, paper mm.
            colour: of the letters.
            turn: counter-clockwise, degrees.
            bold: heavier letters.
            halo: a white rim keeps the letters apart from what lies under them.
        """
        px, py = self.at(x, y)
        px, py = px + shift[0], py - shift[1]
        place = f'transform="translate({px:.3f} {py:.3f}) rotate({-turn:.2f})"'
        weight = ' font-weight="bold"' if bold else ""
        common = (
            f'y="{0.35 * size:.3f}" font-family="{FONT}" font-size="{size:g}" '
            f'text-anchor="{anchor}"{weight}'
        )
        said = escape(_FORBIDDEN.sub("", words), quote=False)
        if halo:
            self.parts.append(
                f'<text {place} {common} fill="{palette.PAPER.hex}" stroke="{palette.PAPER.hex}" '
                f'stroke-width="0.9" stroke-linejoin="round">{said}</text>'
            )
        self.parts.append(f'<text {place} {common} fill="{colour.hex}">{said}</text>')

    def dimension(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        words: str,
        *,
        offset: float = 0.0,
        colour: Colour = palette.SLATE,
        outside: bool = False,
    ) -> None:
        """Draw a dimension from one point to another.

        Args:
            start: of the thing, mm.
            end: of the thing, mm.
            words: the measure.
            offset: the dimension line stands this far to the left of start → end, paper mm.
            colour: of lines and letters.
            outside: arrows point inwards from outside, the words stand beyond the end: for
                measures narrower than their words.
        """
        ax, ay = self.at(*start)
        bx, by = self.at(*end)
        length = hypot(bx - ax, by - ay)
        if length == 0:
            return
        ux, uy = (bx - ax) / length, (by - ay) / length
        nx, ny = uy, -ux  # to the left on paper, where y runs down
        pen = Pen(colour, 0.15)
        sign = 1 if offset >= 0 else -1
        for x, y in ((ax, ay), (bx, by)):
            if abs(offset) > 1:
                self._paper_line(
                    (x + sign * 0.8 * nx, y + sign * 0.8 * ny),
                    (x + (offset + sign) * nx, y + (offset + sign) * ny),
                    pen,
                )
        first = (ax + offset * nx, ay + offset * ny)
        last = (bx + offset * nx, by + offset * ny)
        turn = degrees(atan2(-uy, ux))
        if not -89.99 < turn <= 90.01:
            turn += 180 if turn < 0 else -180
        if outside:
            tail = 3.2
            self._paper_line((first[0] - tail * ux, first[1] - tail * uy), first, pen)
            self._paper_line(last, (last[0] + tail * ux, last[1] + tail * uy), pen)
            self._arrow(first, (ux, uy), colour)
            self._arrow(last, (-ux, -uy), colour)
            self._paper_text(
                (last[0] + (tail + 1) * ux, last[1] + (tail + 1) * uy), words, (ux, uy), colour
            )
            return
        self._paper_line(first, last, pen)
        self._arrow(first, (-ux, -uy), colour)
        self._arrow(last, (ux, uy), colour)
        middle = ((first[0] + last[0]) / 2, (first[1] + last[1]) / 2)
        lift = (TEXT * 0.75 * np.sin(np.radians(turn)), TEXT * 0.75 * np.cos(np.radians(turn)))
        self.text(
            *self.back(middle[0] - lift[0], middle[1] - lift[1]),
            words, turn=turn, colour=colour, halo=True,
        )  # fmt: skip

    def back(self, x: float, y: float) -> tuple[float, float]:
        """Return the thing's point under a point of the paper."""
        return x / self.scale + self.left, self.top - y / self.scale

    def svg(self) -> bytes:
        """Return the picture as an SVG file of its true paper size."""
        head = (
            '<svg xmlns="http://www.w3.org/2000/svg" '
            f'width="{self.width:.4f}mm" height="{self.height:.4f}mm" '
            f'viewBox="0 0 {self.width:.4f} {self.height:.4f}">'
        )
        title = f"<title>{escape(_FORBIDDEN.sub('', self.title), quote=False)}</title>"
        return "\n".join([head, title, *self.parts, "</svg>", ""]).encode("utf-8")

    def _chain(self, points: Iterable[Floats], *, closed: bool) -> str:
        pairs = [f"{x:.3f} {y:.3f}" for x, y in (self.at(*point) for point in points)]
        return f"M{'L'.join(pairs)}{'Z' if closed else ''}"

    def _paper_line(self, start: tuple[float, float], end: tuple[float, float], pen: Pen) -> None:
        (x1, y1), (x2, y2) = start, end
        self.parts.append(f'<path d="M{x1:.3f} {y1:.3f}L{x2:.3f} {y2:.3f}" {pen.words}/>')

    def _paper_text(
        self, place: tuple[float, float], words: str, along: tuple[float, float], colour: Colour
    ) -> None:
        anchor = "start" if along[0] > 0.1 else "end" if along[0] < -0.1 else "middle"
        lift = 0.0 if anchor != "middle" else TEXT * 0.4 * (1 if along[1] < 0 else -1)
        self.text(
            *self.back(*place), words, shift=(0, lift), anchor=anchor, colour=colour, halo=True
        )

    def _arrow(self, tip: tuple[float, float], along: tuple[float, float], colour: Colour) -> None:
        (x, y), (ux, uy) = tip, along
        wing = ARROW * 0.18
        back = (x - ARROW * ux, y - ARROW * uy)
        points = [
            (x, y),
            (back[0] - wing * uy, back[1] + wing * ux),
            (back[0] + wing * uy, back[1] - wing * ux),
        ]
        chain = "L".join(f"{a:.3f} {b:.3f}" for a, b in points)
        self.parts.append(f'<path d="M{chain}Z" fill="{colour.hex}"/>')
