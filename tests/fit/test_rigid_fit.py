"""The rigid knife in its closed sheath: the edge's room along the draw, and free play."""

import numpy as np
import pytest

from chape.fit.clearance import clearance_along_draw, lifts, pad_distance
from chape.fit.freedom import furthest_shift
from chape.fit.play import Way, contact_points, free_play, halves_of
from chape.sheath.closed import FAR, clearance, knife_points, nearest, walls_of
from specimens import camp_sheath, slender_sheath
from whole import remade, whole


@pytest.mark.parametrize("made", [camp_sheath, slender_sheath], ids=["camp", "slender"])
def test_the_demos_keep_their_edges_clear(made):
    seen = clearance_along_draw(made(), 4.0)
    assert seen.least > 0.3
    assert (seen.spread <= seen.closed).all()
    assert seen.closed[-1] == FAR, "the knife is out"
    assert seen.pads > 1.0, "pads touch well behind the edge"


def test_a_wall_across_the_edges_way_out_is_seen():
    sheath = camp_sheath()
    x, y = whole(sheath).formed.grid.mesh()
    near_edge = (np.abs(x - 105.0) < 2.0) & (y < -sheath.fold.line + 3.0)
    blocked = remade(
        sheath, formed=whole(sheath).formed.with_z(np.where(near_edge, 0.0, whole(sheath).formed.z))
    )
    assert clearance_along_draw(blocked, 4.0).least < 0.0


def test_the_handle_lifts_a_half_by_no_more_than_the_sheath_reaches_behind_it():
    sheath = camp_sheath()
    lifted, _ = lifts(sheath, np.arange(0.0, 40.0, 2.0))
    room = sheath.choices.clearance.handle + sheath.knife.uncertainty
    assert 0.1 < lifted.max() < sheath.choices.snap_depth - room + 0.05
    assert lifted[0] == 0.0, "home is home"


def test_a_sheath_that_sits_on_the_edge_is_seen():
    sheath = camp_sheath()
    flat = remade(
        sheath, formed=whole(sheath).formed.with_z(np.minimum(whole(sheath).formed.z, 0.1))
    )
    assert pad_distance(flat) == 0.0


def test_the_way_to_the_nearest_wall_leads_there():
    sheath = camp_sheath()
    walls, points = walls_of(sheath), knife_points(sheath.knife, 110.0, 4.0)
    gaps, ways = nearest(walls, points)
    assert gaps == pytest.approx(clearance(walls, points))
    near = gaps < FAR
    assert np.linalg.norm(ways[near], axis=1) == pytest.approx(1.0)
    on_wall = points[near] + gaps[near, None] * ways[near]
    assert np.abs(clearance(walls, on_wall)).max() < 1e-6
    half_way = points[near] + 0.5 * gaps[near, None] * ways[near]
    assert clearance(walls, half_way) == pytest.approx(0.5 * gaps[near], abs=1e-6)


def test_pads_keep_the_tip_from_rattling():
    sheath = camp_sheath()
    play = free_play(sheath)
    bare = remade(sheath, formed=whole(sheath).formed.with_z(whole(sheath).formed.z + 0.3))
    assert 0.0 < play.rattle < 1.0
    front = contact_points(sheath.knife, sheath.mouth_x)
    obstacles = halves_of(bare, len(front))
    points = np.vstack([front, front * [1, 1, -1]])
    tip = np.array([0.0, 16.5, 0.0])
    loose = furthest_shift(points, obstacles, points.mean(axis=0), tip, np.eye(3)[2])
    assert loose.amount > play.motions[Way.TIP_FRONT].amount + 0.2
    for motion in play.motions.values():
        assert motion.amount >= 0.0
        assert motion.overlap < 0.05, motion.way
        assert motion.free or len(motion.touches) > 0
