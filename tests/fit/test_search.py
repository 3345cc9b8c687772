"""The search for a depth, on holds that can be worked out by hand."""

from dataclasses import dataclass
from math import inf, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.fit.search import (
    CONFIRMATIONS,
    NEAR,
    SAME_DEPTH,
    SEARCH_NEAR,
    TRIALS_MOST,
    Curve,
    nearest,
    search_depth,
    settle,
)


@dataclass(frozen=True)
class Tried:
    snap_depth: float
    hold: float


def search(hold, wanted=30.0, start=0.6, most=3.0, near=0.02):
    return search_depth(lambda depth: Tried(depth, hold(depth)), wanted, start, most, near)


@settings(max_examples=60, deadline=None)
@given(
    stiff=st.floats(2.0, 400.0),
    room=st.floats(0.0, 0.5),
    power=st.floats(1.0, 1.8),
    start=st.floats(0.05, 2.0),
)
def test_it_finds_the_depth_of_any_spring_behind_any_room(stiff, room, power, start):
    def hold(depth):
        return stiff * max(0.0, depth - room) ** power

    tried = search(hold, start=start, most=4.0)
    if hold(4.0) >= 30.0:
        assert nearest(tried, 30.0).hold == pytest.approx(30.0, rel=0.02)
    else:
        assert tried[-1].snap_depth == 4.0
    assert len(tried) <= TRIALS_MOST
    assert all(0 < each.snap_depth <= 4.0 for each in tried)


def test_a_usual_sheath_takes_few_trials():
    assert len(search(lambda depth: 80 * max(0.0, depth - 0.25) ** 1.4)) <= 5


def test_a_ripple_does_not_mislead_it():
    # Meshes differ from depth to depth: 3 % up and down.
    tried = search(lambda depth: 60 * depth * (1 + 0.03 * sin(40 * depth)))
    assert nearest(tried, 30.0).hold == pytest.approx(30.0, rel=0.02)


def test_it_stops_at_the_most_depth_when_the_hold_is_not_reached():
    tried = search(lambda depth: 4 * depth)
    assert (tried[-1].snap_depth, tried[-1].hold) == (3.0, 12.0)


def test_it_does_not_hunt_for_ever_across_a_jump():
    tried = search(lambda depth: 10.0 if depth < 1.0 else 50.0, near=0.001)
    assert len(tried) <= TRIALS_MOST
    around = sorted(each.snap_depth for each in tried)
    assert min(abs(each - 1.0) for each in around) < 0.1


def test_it_finds_what_lies_below_a_lock():
    tried = search(lambda depth: inf if depth > 0.9 else 50 * depth, start=1.5)
    assert nearest(tried, 30.0).hold == pytest.approx(30.0, rel=0.02)


def test_no_hold_anywhere_ends_at_the_most():
    tried = search(lambda _: 0.0)
    assert tried[-1].snap_depth == 3.0
    assert len(tried) <= 4


def test_an_undercut_shallower_than_any_depth_is_tried_once():
    assert [each.snap_depth for each in search(lambda depth: depth, most=SAME_DEPTH)] == [
        SAME_DEPTH
    ]


def test_a_curve_is_read_backwards():
    curve = Curve.through([Tried(1.0, 20.0), Tried(0.5, 5.0), Tried(2.0, inf)])
    assert curve.depth_for(5.0) == pytest.approx(0.5)
    assert curve.depth_for(12.5) == pytest.approx(0.75)
    assert curve.depth_for(35.0) == pytest.approx(1.5)
    flat = Curve.through([Tried(1.0, 0.0)])
    assert flat.depth_for(5.0) == 1.0


def settled(coarse, fine):
    tried = search(coarse, near=SEARCH_NEAR)
    return tried, settle(tried, lambda depth: Tried(depth, fine(depth)), 30.0, 3.0)


def test_it_goes_no_deeper_than_can_be_borne():
    tried = search_depth(
        lambda depth: Tried(depth, 4 * depth), 30.0, 0.5, 3.0, 0.02, lambda t: t.snap_depth > 1
    )
    assert [each.snap_depth > 1 for each in tried] == [False] * (len(tried) - 1) + [True]


@settings(max_examples=40, deadline=None)
@given(factor=st.floats(0.6, 1.6), shift=st.floats(-0.05, 0.1), room=st.floats(0.0, 0.4))
def test_the_fine_sheath_is_set_right_by_what_the_coarse_ones_taught(factor, shift, room):
    def coarse(depth):
        return 90 * max(0.0, depth - room) ** 1.3

    def fine(depth):
        return factor * coarse(depth - shift)

    tried, confirmed = settled(coarse, fine)
    assert confirmed[-1].hold == pytest.approx(30.0, rel=NEAR)
    assert len(confirmed) <= CONFIRMATIONS
    assert len(tried) <= TRIALS_MOST


def test_one_fine_sheath_is_enough_where_the_coarse_ones_are_right():
    _, confirmed = settled(lambda depth: 60 * depth, lambda depth: 61 * depth)
    assert len(confirmed) == 1


def test_a_hold_out_of_reach_is_tried_at_the_most_depth_and_given_up():
    _, confirmed = settled(lambda depth: 5 * depth, lambda depth: 5 * depth)
    assert [each.snap_depth for each in confirmed] == [3.0]


def test_a_fine_sheath_that_locks_where_the_coarse_one_did_not_is_backed_out_of():
    _, confirmed = settled(lambda depth: 60 * depth, lambda d: inf if d > 0.49 else 62 * d)
    assert confirmed[-1].hold == pytest.approx(30.0, rel=NEAR)
