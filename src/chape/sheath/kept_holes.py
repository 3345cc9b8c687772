"""Holes kept while a sheath is dragged: those planned last, carried along by their lines.

To plan which holes serve the clips takes longer than all else of a design. While walls move by a
few millimetres the same plan serves, each hole as far along its line and as far out as it was. What
is carried so is a picture: no clip's pattern is fitted anew. A plan is made afresh where other
clips or eyelets are asked for, or the pitch would no longer be kept.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from chape.sheath.model import HoleUse
from chape.sheath.place_holes import PlacedHoles, place_holes

if TYPE_CHECKING:
    from chape.catalog.hardware import Clip, Eyelet
    from chape.field.grid import Floats
    from chape.sheath.holes import Spot
    from chape.sheath.locus import Locus
    from chape.sheath.model import Eyelets, SheathChoices
    from chape.sheath.placed_clip import PlacedClip

#: Of each search while somebody waits, in the solver's own units: about seconds.
EFFORT = 1.0

#: Held eyelets, left out where plans are told apart.
FREE: dict[str, tuple[tuple[float, float], ...]] = {"at": ()}

#: A line that has grown or shrunk by more is planned anew, mm.
LENGTH_MOST = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class _Kept:
    asked: str
    loci: tuple[Locus, ...]
    placed: PlacedHoles


class KeptHoles:
    """Plans holes as ``place_holes`` does, and keeps the last plan for what little is dragged.

    Attributes:
        dragging: the last plan may serve; else a new one is made. Either way no reason is searched
            for where the clips do not fit: that takes seconds, and somebody waits.
        carried: the holes given last were carried along, not planned.
    """

    def __init__(self) -> None:
        self.dragging = False
        self.carried = False
        self._kept: _Kept | None = None

    def __call__(
        self,
        loci: tuple[Locus, ...],
        eyelet: Eyelet,
        clips: tuple[Clip, ...],
        choices: SheathChoices,
    ) -> PlacedHoles:
        """Return the holes of one half; as ``place_holes``."""
        others = choices.model_copy(update={"eyelets": choices.eyelets.model_copy(update=FREE)})
        asked = others.model_dump_json(include={"clips", "eyelets", "hand", "style"})
        asked += f" {eyelet.name}"
        self.carried = False
        kept = self._kept
        if self.dragging and clips and kept is not None and kept.asked == asked:
            moved = _carried(kept, loci, choices.eyelets)
            if moved is not None:
                self.carried = True
                return moved
        placed = place_holes(loci, eyelet, clips, choices, reasons=False, effort=EFFORT)
        self._kept = _Kept(asked, loci, placed)
        return placed


def _carried(kept: _Kept, loci: tuple[Locus, ...], eyelets: Eyelets) -> PlacedHoles | None:
    """Return the kept holes on other lines; None where the plan would not serve there."""
    change = max(abs(new.length - old.length) for new, old in zip(loci, kept.loci, strict=True))
    if change > LENGTH_MOST:
        return None
    spots = kept.placed.spots
    old = np.array([(spot.x, spot.y) for spot in spots])
    new, row, along = _moved(old, kept, loci)
    held = _numbers_held(spots, eyelets.at)
    if held is None:
        return None
    for number, spot in held.items():
        new[spot] = eyelets.at[number]
    rivets = np.array([spot.use is HoleUse.EYELET for spot in spots])
    for number in range(len(loci)):
        on_line = np.flatnonzero(rivets & (row == number))
        places = new[on_line[np.argsort(along[on_line])]]
        gaps = np.hypot(*np.diff(places, axis=0).T)
        # Where the maker moves one, he sees how far it comes from the next.
        if not held and len(gaps) and gaps.max() > eyelets.pitch_most:
            return None
    number_of = {spot: number for number, spot in held.items()}
    carried = tuple(
        replace(spot, x=float(x), y=float(y), held=number_of.get(n))
        for n, (spot, (x, y)) in enumerate(zip(spots, new, strict=True))
    )
    clips = tuple(_with_clip(clip, old, new) for clip in kept.placed.clips)
    return PlacedHoles(carried, clips, kept.placed.proof)


def _numbers_held(
    spots: tuple[Spot, ...], places: tuple[tuple[float, float], ...]
) -> dict[int, int] | None:
    """Return which spot stands for each held place; None where a plan of its own is needed.

    A place more than the plan had was an eyelet of it until it was taken hold of.
    """
    known = {spot.held: n for n, spot in enumerate(spots) if spot.held is not None}
    if len(known) > len(places):
        return None
    for number in range(len(known), len(places)):
        x, y = places[number]
        free = [
            n
            for n, spot in enumerate(spots)
            if spot.use is HoleUse.EYELET and n not in known.values()
        ]
        if not free:
            return None
        known[number] = min(free, key=lambda n: float(np.hypot(spots[n].x - x, spots[n].y - y)))
    return known


def _moved(points: Floats, kept: _Kept, loci: tuple[Locus, ...]) -> tuple[Floats, Floats, Floats]:
    """Return where holes (n, 2) come, and the line each stands on and how far along it, (n,)."""
    placed = [locus.placed(points) for locus in kept.loci]
    row = np.argmin(np.abs([out for _, out in placed]), axis=0)
    moved, places = points.copy(), np.zeros(len(points))
    for number, (new, old) in enumerate(zip(loci, kept.loci, strict=True)):
        here = row == number
        along, out = (each[here] for each in placed[number])
        # Counted from the mouth, where the clips are; the last half takes up a change of length.
        late = np.clip(2 * along / old.length - 1, 0.0, 1.0)
        along = np.clip(along + late * (new.length - old.length), 0.0, new.length)
        moved[here], places[here] = new.at(along, out), along
    return moved, row, places


def _with_clip(clip: PlacedClip, old: Floats, new: Floats) -> PlacedClip:
    """Return a clip moved with the holes that serve it, as one piece."""
    points = _with_holes(clip.points, old, new)
    other = None if clip.other is None else _with_holes(clip.other, old, new)
    return replace(clip, points=points, other=other)


def _with_holes(points: Floats, old: Floats, new: Floats) -> Floats:
    nearest = np.argmin(np.hypot(*(points[:, None] - old[None]).transpose(2, 0, 1)), axis=1)
    moved: Floats = points + (new - old)[nearest].mean(axis=0)
    return moved
