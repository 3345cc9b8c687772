"""Eyelets and drains that the maker holds stay, the others keep off, and findings tell the rest."""

from __future__ import annotations

from itertools import combinations
from math import dist

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError, InputError
from chape.sheath.check import check_sheath
from chape.sheath.clip_places import Ground
from chape.sheath.design import design_sheath
from chape.sheath.eyelets_alone import eyelets_alone
from chape.sheath.halves import axis_of, half_holes
from chape.sheath.held_eyelets import held_on
from chape.sheath.kept_holes import KeptHoles
from chape.sheath.locus import locus_of
from chape.sheath.model import HoleUse, Mouth, SheathChoices
from specimens import camp_knife

COARSE = 1.0
CLIP = {"clip": "flat-clip-2", "along": 0.3}
PITCH, HOLE, SEAT, CLEAR = 38.0, 6.5, 5.25, 19.5


def make(place=None, **more):
    choices = SheathChoices.model_validate(
        {"name": "a", "knife": "b", "spacing": COARSE, "mouth": Mouth(wrap=32.0), **more}
    )
    more_than = () if place is None else (place,)
    return design_sheath(camp_knife(COARSE), choices, catalog(), *more_than)


def places(sheath, use=HoleUse.EYELET):
    """Holes of the front half, in the frame of the knife: (x, y, held)."""
    axis = axis_of(sheath)
    holes = half_holes(sheath, upper=False)
    return [(hole.u, hole.v + axis, hole.held) for hole in holes if hole.use is use]


def codes(sheath):
    return {finding.code for finding in check_sheath(sheath)}


def on_line(length, *held):
    line = locus_of(shapely.LineString([(length, 0.0), (0.0, 0.0)]), side=1)
    ground = Ground((line,), 0.0, length, SEAT, None, held_on((line,), held), CLEAR)
    return eyelets_alone(ground, PITCH, HOLE)


@pytest.fixture(scope="module")
def free():
    return make(clips=[CLIP])


@pytest.mark.parametrize("x", np.linspace(1.0, 149.0, 12))
def test_others_are_spread_round_one_that_is_held(x):
    holes = on_line(150.0, (x, -1.0))
    kept = [hole for hole in holes if hole.held == 0]
    assert [tuple(hole.point) for hole in kept] == [(x, -1.0)]
    gaps = [dist(one.point, other.point) for one, other in combinations(holes, 2)]
    assert min(gaps) >= CLEAR - 1e-6
    along = sorted(hole.along for hole in holes)
    ends = [along[0], 150.0 - along[-1]]
    # Only beside the one that is held may an end be without an eyelet, or a gap be too wide.
    assert all(gap == pytest.approx(0, abs=1e-6) or gap < CLEAR for gap in ends)
    assert max(np.diff(along)) <= max(PITCH, 2 * CLEAR) + 0.1


def test_one_far_out_closes_nothing_and_the_others_keep_off_it():
    holes = on_line(150.0, (75.0, -12.0))
    free = [hole for hole in holes if hole.held is None]
    assert len(free) >= len(on_line(150.0))
    assert all(dist(hole.point, (75.0, -12.0)) >= CLEAR - 1e-6 for hole in free)
    assert max(np.diff(sorted(hole.along for hole in free))) <= PITCH + 1e-6


def test_one_of_a_plan_with_clips_stays_where_it_is_held(free):
    x, y, _ = sorted(places(free))[1]
    held = make(clips=[CLIP], eyelets={"at": [(x + 4.0, y - 1.5)]})
    kept = [place for place in places(held) if place[2] == 0]
    assert kept == [(pytest.approx(x + 4.0), pytest.approx(y - 1.5), 0)]
    others = [place[:2] for place in places(held) if place[2] is None]
    least = 3.0 * held.eyelet.hole.value
    assert min(dist(kept[0][:2], other) for other in others) >= least - 1e-6
    assert held.clips[0].clip.name == "flat-clip-2"
    assert not {"rivets-close", "rivets-far", "rivet-end-far"} & codes(held)


def test_two_held_too_near_and_one_in_the_wall_are_found(free):
    x, y, _ = sorted(places(free))[1]
    crowded = make(eyelets={"at": [(x, y), (x + 8.0, y)]})
    found = {finding.code: finding for finding in check_sheath(crowded)}
    assert "let it be placed again" in found["rivets-close"].mend
    walled = {finding.code: finding for finding in check_sheath(make(eyelets={"at": [(x, y + 6)]}))}
    assert "let it be placed again" in walled["rivet-seat-uneven"].mend


def test_an_end_left_open_is_found(free):
    mouth = free.lines[0][0]
    held = make(eyelets={"at": [tuple(mouth - [10.0, 0.0])]})
    assert "rivet-end-far" in codes(held)
    assert "rivet-end-far" not in codes(make(eyelets={"at": [tuple(mouth - [1.0, 0.0])]}))


def test_a_held_drain_stays_and_is_told_where_it_drains_nothing(free):
    (x, y, _), *_ = places(free, HoleUse.DRAIN)
    near = make(drain={"at": [(x + 0.5, y)]})
    assert places(near, HoleUse.DRAIN) == [(pytest.approx(x + 0.5), pytest.approx(y), 0)]
    assert "drain-high" not in codes(near)
    high = make(drain={"at": [(x + 9.0, y)]})
    assert len(places(high, HoleUse.DRAIN)) == 1
    assert "drain-high" in codes(high)
    assert "drain-edge-low" in codes(make(drain={"at": [(x - 9.0, y)]}))
    # A drain elsewhere does not keep the lowest point from having its own.
    both = places(make(drain={"at": [(x + 60.0, y)]}), HoleUse.DRAIN)
    assert [held for *_, held in both] == [0, None]


def test_a_held_one_that_leaves_a_clip_no_room_is_named(free):
    row = sorted(places(free))
    held = [(x + 9.0, y) for x, y, _ in row]
    with pytest.raises(CannotMakeError) as refused:
        make(clips=[{**CLIP, "within": 3.0}], eyelets={"at": held})
    assert "that are held be placed again" in refused.value.mend


def test_eyelets_keep_off_a_held_drain(free):
    x, y, _ = sorted(places(free))[2]
    held = make(drain={"at": [(x, y)]})
    rivets = [place[:2] for place in places(held)]
    reach = held.eyelet.flange.value / 2 + 2.5
    assert min(dist((x, y), rivet) for rivet in rivets) >= reach


def test_while_it_is_dragged_the_plan_before_is_carried_with_it(free):
    keep = KeptHoles()
    make(keep, clips=[CLIP])
    keep.dragging = True
    before = sorted(places(free))
    x, y, _ = before[1]
    first = make(keep, clips=[CLIP], eyelets={"at": [(x + 1.0, y - 0.5)]})
    assert keep.carried
    moved = [place for place in places(first) if place[2] == 0]
    assert moved == [(pytest.approx(x + 1.0), pytest.approx(y - 0.5), 0)]
    assert len(places(first)) == len(before)
    second = make(keep, clips=[CLIP], eyelets={"at": [(x + 3.0, y - 0.5)]})
    assert keep.carried
    assert [place[2] for place in places(second)].count(0) == 1
    keep.dragging = False
    make(keep, clips=[CLIP])
    assert not keep.carried


def test_a_place_off_the_knife_is_refused():
    with pytest.raises(InputError, match="eyelet 2 is held at x = 400 mm"):
        make(eyelets={"at": [(60.0, -12.0), (400.0, 0.0)]})
    with pytest.raises(InputError, match="drain 1"):
        make(drain={"at": [(0.0, 300.0)]})
