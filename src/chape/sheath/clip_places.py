"""Where clips may lie: every shape of a clip's pattern, moved along the line of eyelets.

At each place a pattern lies as near to the wall as it may: it is moved straight out of the chord
under it, or in, until the hole that is nearest to the wall stands on the line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.clip_shapes import shapes_of
from chape.sheath.held_eyelets import NONE_HELD, HeldEyelets

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely.geometry.base import BaseGeometry

    from chape.catalog.hardware import Clip
    from chape.field.grid import Bools, Floats
    from chape.sheath.clip_shapes import Shape
    from chape.sheath.locus import Locus

#: Places tried along the line are this far apart, mm: what a screw has to spare in its hole.
PLACE_STEP = 0.5

#: A screw finds its hole when the hole lies no further off than this, mm. A screw of 6 mm has so
#: much to spare in a hole of 6.6 mm (ISO 273, medium).
ASTRAY_MOST = 0.3

#: Sheet that a maker gives for having a clip a millimetre nearer to where it is wanted, mm².
#: Common practice, no source.
ASTRAY_WORTH = 2.0

#: A pattern shorter than this along the line takes its direction from the line itself, mm.
SHORT = 1.0

#: Moves towards the wall that bring a pattern to rest on a curved line.
MOVES = 4

#: A hole nearer to the wall than this has not come to rest, mm.
AT_REST = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class ClipWish:
    """A clip that shall fit, and where it is wanted.

    Attributes:
        clip: what the catalogue says of it.
        wanted: way from the mouth at which its first hole should come, mm.
        within: no further from there, mm; infinity for anywhere.
        keep_clear: radius that each of its holes needs level, mm.
        angles: permitted instead of the clip's own, degrees; None for its own.
        outs: how far out of the line its nearest hole may stand, each tried, mm. A clip whose holes
            are too small for eyelets can leave the line to them.
    """

    clip: Clip
    wanted: float
    within: float
    keep_clear: float
    angles: tuple[float, ...] | None = None
    outs: tuple[float, ...] = (0.0,)


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """Where holes may stand.

    Attributes:
        loci: lines of eyelets; the outline follows each.
        first, last: x of the holes nearest to tip and mouth, mm.
        seat: radius that an eyelet needs level, mm: the lines keep that from the wall.
        taken: no flange may reach in here; None where all is free.
        held: eyelets that stand where the maker wants them.
        clear: no planned eyelet stands nearer than this to a held one, mm.
    """

    loci: tuple[Locus, ...]
    first: float
    last: float
    seat: float
    taken: BaseGeometry | None = None
    held: HeldEyelets = NONE_HELD
    clear: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """A clip's pattern, laid somewhere.

    Attributes:
        clip: which wish it serves, from 0.
        shape: how it lies.
        locus: which line it lies at, from 0.
        holes: (k, 2) in the clip's own order, sheath frame, mm.
        along, out: (k,) the same along the line and out of it, mm.
        astray: how far from where it is wanted, mm.
        true: it is the clip itself as it would be seen from the front of a right-hand sheath.
        mirrored: it is the clip's mirror image, seen so.
    """

    clip: int
    shape: Shape
    locus: int
    holes: Floats
    along: Floats
    out: Floats
    astray: float
    true: bool
    mirrored: bool


def placements_of(
    number: int, wish: ClipWish, ground: Ground, step: float = PLACE_STEP
) -> tuple[Placement, ...]:
    """Return every way a clip may lie, line by line and shape by shape, from the mouth on.

    Args:
        number: of the wish, kept in each placement.
        wish: the clip.
        ground: where holes may stand.
        step: from place to place, mm.
    """
    return tuple(
        placement
        for which, locus in enumerate(ground.loci)
        for shape in shapes_of(wish.clip, wish.angles)
        for out in wish.outs
        for placement in _along(number, wish, ground, (which, locus), (shape, out), step)
    )


def lies(shape: Shape, locus: Locus, starts: Floats, out: float) -> tuple[Floats, Bools]:
    """Return where a shape's holes come to lie.

    Args:
        shape: of k holes.
        locus: the line.
        starts: (m,) ways along it of the hole nearest to the mouth.
        out: how far out of the line the hole nearest to the wall must stand, mm.

    Returns:
        (m, k, 2) holes, sheath frame, and (m,) true where the line is long enough.
    """
    start = locus.at(starts)
    reaches: Bools
    if shape.length > SHORT:
        ends, reaches = locus.reached(starts, shape.length)
        chord = locus.at(ends) - start
        along = chord / np.maximum(np.linalg.norm(chord, axis=1, keepdims=True), 1e-12)
    else:
        along, reaches = locus.headed(starts), np.ones(len(starts), dtype=np.bool_)
    outwards = locus.side * np.column_stack([-along[:, 1], along[:, 0]])
    holes = (
        start[:, None, :]
        + shape.points[None, :, 0, None] * along[:, None, :]
        + shape.points[None, :, 1, None] * outwards[:, None, :]
    )
    for _ in range(MOVES):
        _, off = locus.placed(holes.reshape(-1, 2))
        move = out - off.reshape(len(starts), -1).min(axis=1)
        holes = holes + (move[:, None] * outwards)[:, None, :]
    return holes, reaches


def _along(
    number: int,
    wish: ClipWish,
    ground: Ground,
    line: tuple[int, Locus],
    lying: tuple[Shape, float],
    step: float,
) -> Iterator[Placement]:
    (which, locus), (shape, out_wanted) = line, lying
    starts = np.arange(0.0, locus.length, step)
    least = max(out_wanted, wish.keep_clear - ground.seat)
    holes, fits = lies(shape, locus, starts, least)
    flat = holes.reshape(-1, 2)
    along, out = (part.reshape(fits.size, -1) for part in locus.placed(flat))
    fits = fits & (out.min(axis=1) >= least - AT_REST)
    fits &= (along.min(axis=1) >= -ASTRAY_MOST) & (along.max(axis=1) <= locus.length + ASTRAY_MOST)
    fits &= _allowed(flat, wish, ground).reshape(fits.size, -1).all(axis=1)
    astray = np.abs(along.min(axis=1) - wish.wanted)
    fits &= astray <= wish.within
    # Where outwards is to the right of the way, what is seen with the wall to the left is true.
    true, mirrored = (shape.true, shape.mirrored)[:: locus.side]
    for k in np.flatnonzero(fits):
        yield Placement(
            number, shape, which, holes[k], along[k], out[k], float(astray[k]), true, mirrored
        )


def _allowed(points: Floats, wish: ClipWish, ground: Ground) -> Bools:
    """Say of (m, 2) holes whether mouth, tip and what is taken leave them room."""
    x = points[:, 0]
    # A wide washer needs more room at the ends than the eyelet that these were measured for.
    more = max(0.0, wish.keep_clear - ground.seat)
    free = (x >= ground.first + more - AT_REST) & (x <= ground.last - more + AT_REST)
    if ground.taken is not None:
        clear = shapely.distance(shapely.points(points), ground.taken)
        free &= clear >= wish.keep_clear
    allowed: Bools = free
    return allowed
