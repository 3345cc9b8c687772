"""What is wrong with the marks on a mould, or will not be seen on the sheath."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy import ndimage

from chape.field.envelope import Body, dilate
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.findings import Finding, Severity
from chape.sheath.halves import axis_of, piece_of, side_of, strip_end_at
from chape.sheath.hold import draw_envelope
from chape.tooling.lettering import Mark, marked, window

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.sheath.model import Piece, Sheath

#: A mark deeper than this share of the gauge thins the sheet where it bends. Common practice, no
#: source.
DEEPEST = 0.5

#: Ground under a mark leans by this from level at most (a rise of so much in one), and no stroke
#: lies nearer to a rivet's flange or the fold's strip than its own reach.
LEAN_MOST = 0.6

#: A knife passes under a sunk mark with this much air, mm.
AIR_LEAST = 0.05

#: At least this share of its depth shall show on the outside, against what lies between strokes.
SHOWN_LEAST = 0.5


@dataclass(frozen=True, slots=True)
class Shown:
    """How a mark comes out on the sheath's outside.

    Attributes:
        depth: between the strokes and what lies between them, mm; the mark's own depth at best.
        stroke: width of a stroke on the mould, mm.
    """

    depth: float
    stroke: float


def shown(sheath: Sheath, mark: Mark) -> Shown:
    """Return how a mark comes out: the sheet's outside is a ball of its gauge rolled over it."""
    piece = piece_of(sheath, upper=mark.upper)
    gauge = float(sheath.sheet.gauge.value)
    rows, columns = window(piece.formed.grid, mark)
    grid = piece.formed.grid
    x, y = grid.x[columns], grid.y[rows]
    part = Grid(float(x[0]), float(y[0]), grid.spacing, len(x), len(y))
    before = HeightField(part, piece.formed.z[rows, columns])
    after = HeightField(part, marked(piece, (mark,)).z[rows, columns])
    ball = Body.ball(gauge)
    change = np.abs(dilate(after, ball).z - dilate(before, ball).z)
    px, py = part.mesh()
    lines = mark.lines
    distance = shapely.distance(lines, shapely.points(px, py))
    on = change[distance < grid.spacing]
    # What lies between strokes, but inside the mark: the hollows of its letters among them.
    inside = shapely.contains_xy(lines.convex_hull, px, py)
    gaps = _ridge_of(distance, inside)
    between = float(np.median(change[gaps])) if gaps.any() else 0.0
    return Shown(float(np.median(on)) - between, 2 * mark.reach)


def check_marks(sheath: Sheath, marks: Sequence[Mark]) -> tuple[Finding, ...]:
    """Return what the marks break, or do not show."""
    found: list[Finding] = []
    for mark in marks:
        found += _check_depth(sheath, mark)
        found += _check_place(sheath, mark)
        found += _check_knife(sheath, mark)
        found += _check_shown(sheath, mark)
    return tuple(found)


def _where(mark: Mark) -> str:
    said = mark.choice.text or mark.choice.figure
    return f'mark {mark.number} "{said}" on the {mark.choice.half} half'


def _check_depth(sheath: Sheath, mark: Mark) -> Iterator[Finding]:
    gauge = float(sheath.sheet.gauge.value)
    if mark.choice.depth > DEEPEST * gauge:
        yield Finding(
            "mark-deep",
            Severity.ERROR,
            _where(mark),
            "The mark is deeper than half the sheet's gauge, and thins it where it bends.",
            "Make the mark shallower.",
            mark.choice.depth,
            DEEPEST * gauge,
        )
    if mark.radius < gauge:
        yield Finding(
            "mark-radius-low",
            Severity.WARNING,
            _where(mark),
            "Inside corners of the mark are rounder than the sheet can follow: it bridges them.",
            "Ask for a fillet no smaller than the gauge, or take a thinner sheet.",
            mark.radius,
            gauge,
        )


def _check_place(sheath: Sheath, mark: Mark) -> Iterator[Finding]:
    piece = piece_of(sheath, upper=mark.upper)
    area = mark.lines.buffer(mark.reach)
    said = []
    if any(area.distance(shapely.Point(hole.u, hole.v)) < hole.keep_clear for hole in piece.holes):
        said.append("It runs under a rivet's flange or into a hole.")
    if any(area.intersects(slot.area()) for slot in piece.slots):
        said.append("It runs into a slot.")
    if sheath.fold is not None:
        u = shapely.get_coordinates(area)[:, 0]
        v = shapely.get_coordinates(area)[:, 1]
        strip = sheath.fold.line - strip_end_at(sheath.fold, u)
        if bool((np.abs(v) < strip).any()):
            said.append("It runs onto the strip that is heated and folded, where it is lost.")
    if _lean(piece, mark) > LEAN_MOST:
        said.append("It runs up a wall, where a cutter from above smears it.")
    if mark.choice.way.value == "sunk" and float(piece.formed.at(_points(mark)).min()) < (
        mark.choice.depth
    ):
        said.append("It is sunk into the flange, whose two halves then stand apart.")
    for words in said:
        yield Finding(
            "mark-misplaced",
            Severity.ERROR,
            _where(mark),
            words,
            "Move the mark onto level ground of the cavity, or make it smaller.",
        )


def _lean(piece: Piece, mark: Mark) -> float:
    """Return how much the ground under a mark rises in one, at most."""
    points = _points(mark)
    step = 2 * piece.formed.grid.spacing
    rise = np.zeros(len(points))
    for move in ((step, 0.0), (0.0, step)):
        ahead, behind = (piece.formed.at(points + sign * np.array(move)) for sign in (1, -1))
        rise = np.hypot(rise, (ahead - behind) / (2 * step))
    return float(rise.max())


def _check_knife(sheath: Sheath, mark: Mark) -> Iterator[Finding]:
    """A sunk mark comes nearer to the knife: measured along the whole draw."""
    if mark.choice.way.value != "sunk":
        return
    points = _points(mark)
    piece = piece_of(sheath, upper=mark.upper)
    passing = draw_envelope(sheath.knife.half)
    home = np.column_stack(
        [points[:, 0], side_of(upper=mark.upper) * points[:, 1] + axis_of(sheath)]
    )
    room = piece.formed.at(points) - mark.choice.depth - passing.at(home)
    # Past the knife's own field nothing passes.
    least = float(room[np.isfinite(room)].min(initial=np.inf))
    if least < AIR_LEAST:
        yield Finding(
            "mark-touches-knife",
            Severity.ERROR,
            _where(mark),
            "The sunk mark takes the room the knife needs as it is drawn.",
            'Make it shallower, raise the clearance there, or raise the mark: way = "raised".',
            least,
            AIR_LEAST,
        )


def _check_shown(sheath: Sheath, mark: Mark) -> Iterator[Finding]:
    seen = shown(sheath, mark)
    share = seen.depth / mark.choice.depth
    if share < SHOWN_LEAST:
        yield Finding(
            "mark-faint",
            Severity.WARNING,
            _where(mark),
            "Through the sheet the strokes run into each other.",
            "Make the mark higher, or take a thinner sheet.",
            share,
            SHOWN_LEAST,
            "of its depth",
        )


def _points(mark: Mark) -> Floats:
    # Segmenting a dot, which has no length, is an error of the library.
    dense = [
        stroke[:1]
        if np.ptp(stroke, axis=0).max() == 0
        else shapely.get_coordinates(shapely.segmentize(shapely.LineString(stroke), 0.5))
        for stroke in mark.strokes
    ]
    return np.vstack(dense)


def _ridge_of(distance: Floats, inside: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Mark the nodes inside that lie as far from the strokes as any beside them."""
    highest = ndimage.maximum_filter(distance, size=3)
    ridge: npt.NDArray[np.bool_] = inside & (distance >= highest - 1e-9) & (distance > 0)
    return ridge
