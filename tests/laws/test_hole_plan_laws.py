"""What holds for the holes of every sheath, whichever clips it is sold with."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError
from chape.sheath.clip_places import ASTRAY_MOST
from chape.sheath.design import design_sheath
from chape.sheath.halves import half_holes, half_name
from chape.sheath.model import ClipChoice, Hand, HoleUse, Mouth, SheathChoices
from specimens import camp_knife

COARSE = 0.8


#: A pattern that is not its own mirror image is searched for longest; bounds make it quick.
BOUNDS = {"offset-triangle-3": 20.0}


def sheath_with(*names, hand=Hand.RIGHT, within=None):
    return made_with(names, hand, within)


@cache
def made_with(names, hand, within):
    clips = tuple(
        ClipChoice(clip=name, along=0.4, within=within or BOUNDS.get(name)) for name in names
    )
    choices = SheathChoices(
        name="law", knife="law.toml", spacing=COARSE, mouth=Mouth(wrap=32.0), hand=hand, clips=clips
    )
    return design_sheath(camp_knife(COARSE), choices, catalog())


def seen_from_outside(sheath, half):
    """Holes of a half, (n, 2), as one sees them on its outside: flat patterns lie outside up."""
    upper = next(upper for upper in (False, True) if half_name(sheath, upper=upper) == half)
    holes = [h for h in half_holes(sheath, upper=upper) if h.use is not HoleUse.DRAIN]
    return np.array([(hole.u, hole.v) for hole in holes])


def lies_on(pattern, holes):
    """Say whether a pattern, turned and moved but never mirrored, finds its holes."""
    own = np.array(pattern) @ np.array([1.0, 1.0j])
    there = holes @ np.array([1.0, 1.0j])
    if len(own) == 1:
        return True
    reach = own[1:] - own[0]
    for first in there:
        for second in there:
            turn = (second - first) / reach[0]
            if abs(abs(turn) - 1) * abs(reach[0]) > 2 * ASTRAY_MOST:
                continue
            placed = first + reach * turn / abs(turn)
            if np.abs(placed[:, None] - there[None]).min(axis=1).max() <= 2 * ASTRAY_MOST:
                return True
    return False


@pytest.mark.parametrize("names", [("belt-loop-2", "flat-clip-2"), ("offset-triangle-3",)])
@pytest.mark.parametrize("hand", Hand)
def test_every_clip_fits_both_hands_and_is_never_mirrored(names, hand):
    sheath = sheath_with(*names, hand=hand)
    for half in ("front", "back"):
        holes = seen_from_outside(sheath, half)
        for placed in sheath.clips:
            assert lies_on(placed.clip.holes, holes), (placed.clip.name, half)


def test_the_search_for_a_pattern_tells_a_pattern_from_its_mirror_image():
    pattern = catalog().clip("offset-triangle-3").holes
    own = np.array(pattern)
    assert lies_on(pattern, own + 3.0)
    assert not lies_on(pattern, own * np.array([1.0, -1.0]))


@pytest.mark.parametrize("names", [("offset-triangle-3",), ("belt-loop-2", "flat-clip-2")])
def test_the_plan_of_a_left_hand_sheath_is_the_mirror_image(names):
    right, left = (sheath_with(*names, hand=hand) for hand in Hand)
    holes = [{(h.u, round(h.v, 9)) for h in s.pieces[0].holes} for s in (right, left)]
    assert {(u, -v) for u, v in holes[0]} == holes[1]
    for one, other in zip(right.clips, left.clips, strict=True):
        # What it takes on the one hand it leaves empty on the other.
        assert one.other is None or np.array_equal(one.other, other.points)


def test_a_further_clip_never_takes_holes_away():
    counts = []
    for count in range(4):
        names = ("belt-loop-2", "flat-clip-2", "plate-4")[:count]
        sheath = sheath_with(*names)
        counts.append(len([h for h in half_holes(sheath, upper=False) if h.use != "drain"]))
    assert counts == sorted(counts)
    assert counts[-1] > counts[0]


@pytest.mark.parametrize(
    "names", [(), ("belt-loop-2", "flat-clip-2", "plate-4"), ("offset-triangle-3",), ("dangler-1",)]
)
def test_every_flange_lies_inside_the_outline_by_the_margin_on_level_sheet(names):
    sheath = sheath_with(*names)
    (piece,) = sheath.pieces
    room = piece.pattern.polygon(1e-3).buffer(-sheath.choices.edging.margin + 0.03)
    for hole in piece.holes:
        if hole.use is not HoleUse.DRAIN:
            assert room.contains(shapely.Point(hole.u, hole.v).buffer(hole.keep_clear - 0.02))
            rim = shapely.get_coordinates(
                shapely.Point(hole.u, hole.v).buffer(hole.keep_clear).exterior
            )
            assert piece.formed.at(rim).max() < 0.15


def test_a_clip_stays_within_the_bounds_it_is_given():
    near = sheath_with("belt-loop-2", "flat-clip-2", within=22.0)
    assert max(placed.astray for placed in near.clips) <= 22.0
    anywhere = sheath_with("belt-loop-2", "flat-clip-2")
    assert anywhere.proof.holes <= near.proof.holes


def test_clips_that_leave_one_another_no_room_are_refused_with_a_way_out():
    with pytest.raises(CannotMakeError, match=r"no hole plan .*\. [A-Z]") as caught:
        sheath_with("belt-loop-2", "flat-clip-2", within=1.0)
    assert "eave out" in caught.value.mend or "spacing_least" in caught.value.mend
