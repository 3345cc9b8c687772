"""What lies how on a blank: every piece of several sheaths, each in so many copies.

All that is asked for is laid where it goes, and of the ways it goes the one is taken that keeps
raised parts furthest apart (up to 1.5 times their height), then outlines (up to three gaps). Where
it does not go, the answer says how many sheaths do, how many can at most, and which blank would do.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING

import shapely

from chape.errors import CannotMakeError
from chape.field.contour import regions_above
from chape.tolerances import SAME_LENGTH
from chape.tooling.bounding import SMALL, WORK_IN_PASSING, Proofs
from chape.tooling.filling import ROUNDS, Filling, layouts_by_rule, mended_layout
from chape.tooling.fitting import find_layouts
from chape.tooling.model import Most
from chape.tooling.room import GAPS_ENOUGH, Room, Shape, lattice_step
from chape.tooling.settling import settled, worth

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.sheath.model import Piece
    from chape.tooling.fitting import Layers
    from chape.tooling.model import BlankChoices
    from chape.tooling.settling import Settled

#: What stands higher than this above the flange plane counts as raised, mm.
RAISED = 0.05

#: Raised parts are simplified within this, and grown by as much, mm.
RAISED_ERROR = 0.05

#: Shares of the distance wanted between raised parts that are tried, the best first.
SHARES = (1.0, 0.75, 0.5, 0.25, 0.0)

#: The beam search is tried for up to this many pieces: beyond, rules and mending find as much.
BEAM_MOST = 12

#: So many of the layouts found are moved apart and compared.
COMPARED = 8

#: A finer lattice is tried where nothing goes on the first, mm.
FINE_STEP = 0.4

#: Larger blanks are tried up to this much larger each way, mm.
LARGER_MOST = 400

#: and on a lattice so much coarser.
COARSER = 2


@dataclass(frozen=True, slots=True)
class Wanted:
    """Pieces to be laid: their shapes, how many of each make one set, and how many sets.

    Attributes:
        shapes: the kinds of piece.
        counts: of each kind in all.
        sheaths: what the pieces make together.
    """

    shapes: tuple[Shape, ...]
    counts: tuple[int, ...]
    sheaths: int


def shape_of(piece: Piece) -> Shape:
    """Return what of a piece counts on a blank; hollows inside its raised part are filled."""
    regions = regions_above(piece.formed, RAISED)
    filled = shapely.union_all([shapely.Polygon(part.exterior) for part in regions.geoms])
    raised = filled.simplify(RAISED_ERROR).buffer(RAISED_ERROR, quad_segs=2)
    if raised.geom_type != "Polygon":
        raised = raised.convex_hull
    # So finely that its box is the true one's, which the border must hold.
    outline = piece.pattern.polygon(SAME_LENGTH)
    return Shape(outline, raised, float(piece.formed.z.max()))


def choose_layout(
    wanted: Wanted, blank: BlankChoices, gauge: float, spacing: float
) -> tuple[Settled, Most]:
    """Return the best way found to lay all that is wanted, and how many sheaths could lie at most.

    Args:
        wanted: the pieces.
        blank: its size, border and gap.
        gauge: of the sheet, mm.
        spacing: of the sheaths' grid, mm.

    Raises:
        CannotMakeError: they do not go; says how many do, how many can at most, and what would do.
    """
    room = Room(wanted.shapes, blank.gap, gauge, lattice_step(spacing))
    if wanted.sheaths > at_most(wanted, blank):
        raise _does_not_fit(wanted, blank, room)
    best = lay_all(room, blank, wanted.counts)
    finer = lattice_step(spacing, FINE_STEP)
    if best is None and finer < room.step:
        fine = Room(wanted.shapes, blank.gap, gauge, finer)
        best = lay_all(fine, blank, wanted.counts, shares=SHARES[-1:])
    if best is None:
        raise _does_not_fit(wanted, blank, room)
    return best, bound(wanted, blank, room, wanted.sheaths, WORK_IN_PASSING)


def lay_all(
    room: Room,
    blank: BlankChoices,
    counts: Sequence[int],
    shares: Sequence[float] = SHARES,
    rounds: int = ROUNDS,
) -> Settled | None:
    """Return the best way found to lay pieces on a lattice; None where none was found.

    Args:
        room: the distances of their shapes.
        blank: its size and border.
        counts: of each kind.
        shares: of the distance wanted between raised parts, tried one after the other.
        rounds: of mending, if nothing else helps.
    """
    for share in shares:
        clear = room.clear(share)
        filling = Filling(room, blank, counts, clear)
        found, fullest = layouts_by_rule(filling, COMPARED)
        best = _best(room, blank, found)
        if best is not None and worth(best) >= (1.0, GAPS_ENOUGH * room.gap):
            return best
        if sum(counts) <= BEAM_MOST:
            found = [*found, *find_layouts(room, blank, counts, clear)[:COMPARED]]
        if not found and share == shares[-1]:
            # Mending takes long, and only the last try can fail for good.
            mended = mended_layout(filling, fullest, rounds)
            found = [] if mended is None else [mended]
        best = _best(room, blank, found)
        if best is not None:
            return best
    return None


def _best(room: Room, blank: BlankChoices, found: Sequence[Layers]) -> Settled | None:
    offers = [settled(room, blank, laid) for laid in found]
    return max(offers, key=worth, default=None)


def at_most(wanted: Wanted, blank: BlankChoices) -> int:
    """Return a number of sheaths that no layout of any kind can exceed.

    Each outline grown by half the gap is its own ground, and all of it lies in the sheet inside
    the border grown as much.
    """
    half = blank.gap / 2
    wide, deep = usable(blank)
    sheet = shapely.box(0, 0, max(0.0, wide), max(0.0, deep)).buffer(half).area
    ground = sum(
        # Chords inside a true circle make the ground a little smaller, never larger.
        count * shape.outline.buffer(half).area
        for shape, count in zip(wanted.shapes, wanted.counts, strict=True)
    )
    # A little more sheet than its chords leave, so that the bound stays one.
    return int((sheet + half**2) * wanted.sheaths / ground)


def bound(wanted: Wanted, blank: BlankChoices, room: Room, laid: int, work: int) -> Most:
    """Return the best bound known on the number of sheaths: by area, or proved by search.

    The search is made for sheaths of one piece, all alike, where few go by area.

    Args:
        wanted: the pieces.
        blank: its size and border.
        room: the distances of their shapes.
        laid: so many sheaths are known to go.
        work: that the search may do.
    """
    area = at_most(wanted, blank)
    alone = len(wanted.shapes) == 1 and wanted.counts[0] == wanted.sheaths
    if not alone or not laid < area <= SMALL:
        return Most(area, searched=False)
    proved = Proofs(room, blank, work).least(laid, area)
    return Most(proved, searched=proved < area)


def usable(blank: BlankChoices) -> tuple[float, float]:
    """Return width and depth of the sheet inside the clamp border, mm."""
    return blank.width - 2 * blank.clamp_border, blank.depth - 2 * blank.clamp_border


def most_copies(wanted: Wanted, blank: BlankChoices, room: Room) -> int:
    """Return how many sets of what is wanted are found to go, up to those asked for.

    Args:
        wanted: whose counts are whole multiples of one set's.
        blank: its size and border.
        room: the distances of the shapes.
    """
    # Upwards, for a try that fails takes far longer than one that does not.
    fits = 0
    for sheaths in range(1, min(wanted.sheaths, at_most(wanted, blank)) + 1):
        counts = [count * sheaths // wanted.sheaths for count in wanted.counts]
        if lay_all(room, blank, counts, shares=SHARES[-1:]) is None:
            break
        fits = sheaths
    return fits


def _does_not_fit(wanted: Wanted, blank: BlankChoices, room: Room) -> CannotMakeError:
    size = f"{blank.width:g} x {blank.depth:g} mm"
    alike = all(count % wanted.sheaths == 0 for count in wanted.counts)
    what = (
        "one sheath does not fit" if wanted.sheaths == 1 else f"{wanted.sheaths} sheaths do not fit"
    )
    how_many = smaller = ""
    if wanted.sheaths > 1 and alike:
        fits = most_copies(wanted, blank, room)
        how_many = ", and not even one fits" if fits == 0 else f", and {fits} of them fit"
        if fits > 0:
            how_many += f" ({bound(wanted, blank, room, fits, WORK_IN_PASSING).said(fits)})"
        smaller = "" if fits == 0 else f", or set blank.copies to {fits}"
    needs = _larger(wanted, blank, room)
    larger = (
        "a larger blank" if needs is None else f"a blank of at least {needs[0]} x {needs[1]} mm"
    )
    return CannotMakeError(
        f"{what} on a blank of {size} with a clamp border of "
        f"{blank.clamp_border:g} mm and a gap of {blank.gap:g} mm{how_many}",
        mend=f"Use {larger}{smaller}",
    )


def _larger(wanted: Wanted, blank: BlankChoices, room: Room) -> tuple[int, int] | None:
    """Return a blank, larger by the same each way, on which all is found to go.

    The lattice is a coarse one: what is told is a size to look for on the shelf.
    """
    room = Room(wanted.shapes, blank.gap, room.apart, COARSER * room.step)
    low, high = 0, LARGER_MOST
    size = None
    while high - low > 1:
        more = (low + high) // 2
        trial = (floor(blank.width + more), floor(blank.depth + more))
        larger = blank.model_copy(update={"width": float(trial[0]), "depth": float(trial[1])})
        if (
            at_most(wanted, larger) < wanted.sheaths
            or lay_all(room, larger, wanted.counts, shares=SHARES[-1:], rounds=0) is None
        ):
            low = more
        else:
            high, size = more, trial
    return size
