"""The holes of one half, and where every clip lies on them.

What is wanted is turned into wishes for the hole plan, and the plan into holes and placed clips.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from math import dist, inf
from typing import TYPE_CHECKING, Protocol

import numpy as np

from chape.errors import CannotMakeError
from chape.sheath.clip_places import ASTRAY_WORTH, ClipWish, Ground
from chape.sheath.held_eyelets import held_on
from chape.sheath.hole_plan import plan
from chape.sheath.hole_reasons import why_not
from chape.sheath.hole_sites import size_of
from chape.sheath.holes import Spot, held_drains
from chape.sheath.model import Hand, HoleUse
from chape.sheath.placed_clip import PlacedClip, PlanProof

if TYPE_CHECKING:
    from chape.catalog.hardware import Clip, Eyelet
    from chape.sheath.hole_plan import HolePlan
    from chape.sheath.locus import Locus
    from chape.sheath.model import ClipChoice, SheathChoices


@dataclass(frozen=True, slots=True, eq=False)
class PlacedHoles:
    """Holes of one half without drains, the clips on them, and how good the plan is."""

    spots: tuple[Spot, ...]
    clips: tuple[PlacedClip, ...]
    proof: PlanProof | None


class PlaceHoles(Protocol):
    """Plans the holes of one half; as ``place_holes``."""

    def __call__(
        self,
        loci: tuple[Locus, ...],
        eyelet: Eyelet,
        clips: tuple[Clip, ...],
        choices: SheathChoices,
        /,
    ) -> PlacedHoles:
        """Return every hole of one half but the drains, and how the clips lie on them."""


def place_holes(
    loci: tuple[Locus, ...],
    eyelet: Eyelet,
    clips: tuple[Clip, ...],
    choices: SheathChoices,
    *,
    reasons: bool = True,
    effort: float | None = None,
) -> PlacedHoles:
    """Return every hole of one half but the drains, and how the clips lie on them.

    Args:
        loci: lines of eyelets; where a clip is wanted counts along whichever it lies at.
        eyelet: closes the flanges.
        clips: those of ``choices.clips``, in the same order.
        choices: give pitch, spacing and where each clip is wanted.
        reasons: where the clips do not fit, the reason is searched for, which takes seconds.
        effort: of the search, as ``plan`` takes it; None for the usual.

    Raises:
        CannotMakeError: the clips do not all fit, with what stands in the way and what would do.
    """
    seat, hole, eyelets = eyelet.flange.value / 2, eyelet.hole.value, choices.eyelets
    x = np.vstack([locus.points for locus in loci])[:, 0]
    clear = max(eyelets.spacing_least * hole, 2 * seat)
    held = held_on(loci, eyelets.at)
    taken = held_drains(choices.drain)
    ground = Ground(loci, float(x.min()), float(x.max()), seat, taken, held, clear)
    wishes = tuple(
        _wish(choice, clip, loci[0].length, eyelet, eyelets.spacing_least)
        for choice, clip in zip(choices.clips, clips, strict=True)
    )
    _check_flanges(clips, eyelet)
    asked = (ground, wishes, eyelets.pitch_most, eyelets.spacing_least, hole)
    try:
        found = plan(*asked, effort)
    except TimeoutError:
        raise (why_not(*asked, proved=False) if reasons else _without_reason()) from None
    if found is None:
        raise why_not(*asked, proved=True) if reasons else _without_reason()
    spots = tuple(
        Spot(
            float(planned.point[0]), float(planned.point[1]), planned.diameter,
            HoleUse.EYELET if planned.rivet else HoleUse.CLIP, planned.keep_clear, planned.held,
        )
        for planned in found.holes
    )  # fmt: skip
    placed = tuple(
        _placed(number, choice, clip, choices.hand, found)
        for number, (choice, clip) in enumerate(zip(choices.clips, clips, strict=True))
    )
    return PlacedHoles(spots, placed, _proof(found) if clips else None)


def _without_reason() -> CannotMakeError:
    return CannotMakeError(
        "the clips do not all fit so",
        mend="Rest, and what stands in the way is searched for; or take back what was moved last",
    )


def _proof(found: HolePlan) -> PlanProof:
    astray = sum(laid.placement.astray for laid in found.laid)
    # Costs are rounded where they are added up.
    sheet = max(0.0, round(found.cost - ASTRAY_WORTH * astray, 1))
    return PlanProof(len(found.holes), found.holes_least, sheet, found.cost, found.cost_least)


def _check_flanges(clips: tuple[Clip, ...], eyelet: Eyelet) -> None:
    """Refuse a clip whose own holes stand so near that the flanges in them would overlap."""
    for clip in clips:
        wide = eyelet.flange.value if clip.seat is None else clip.seat.value
        wide = max(eyelet.flange.value, wide)
        gaps = [dist(one, other) for one, other in combinations(clip.holes, 2)]
        if min(gaps, default=wide) < wide:
            raise CannotMakeError(
                f'two holes of the clip "{clip.name}" stand {min(gaps):g} mm apart, and the '
                f"flanges or washers in them, {wide:g} mm wide, would overlap",
                mend="Choose eyelets with a smaller flange, or another clip",
            )


def _wish(
    choice: ClipChoice, clip: Clip, length: float, eyelet: Eyelet, spacing_least: float
) -> ClipWish:
    seat, hole = eyelet.flange.value / 2, eyelet.hole.value
    keep_clear = max(seat, 0.0 if clip.seat is None else clip.seat.value / 2)
    within = inf if choice.within is None else choice.within
    wish = ClipWish(clip, choice.along * length, within, keep_clear, choice.angles)
    if size_of(wish, hole) == hole:
        return wish
    # Plain holes close nothing: there must be room for eyelets between them and the wall.
    beside = max(spacing_least * max(hole, clip.hole.value), 2 * seat)
    return replace(wish, outs=(0.0, beside))


def _placed(number: int, choice: ClipChoice, clip: Clip, hand: Hand, found: HolePlan) -> PlacedClip:
    half = choice.half or ("back" if clip.half == "both" else clip.half)
    # Seen from outside, the front of a right-hand sheath lies as in the sheath frame; so does the
    # back of a left-hand one.
    true = (hand is Hand.RIGHT) == (half == "front")
    own = [laid for laid in found.laid if laid.placement.clip == number]
    here = next(one for one in own if (one.placement.true if true else one.placement.mirrored))
    other = next(one for one in own if (one.placement.mirrored if true else one.placement.true))
    return PlacedClip(
        clip, half, here.placement.shape.angle, here.points,
        None if other is here else other.points, here.play, here.placement.astray,
    )  # fmt: skip
