"""A sheath of two sheets: two halves that meet all round the knife."""

import numpy as np
import pytest
import shapely

from chape.findings import errors
from chape.sheath.cavity import surroundings_of
from chape.sheath.check import check_sheath
from chape.sheath.closed import clearance, knife_points, walls_of
from chape.sheath.design import with_snap_depth
from chape.sheath.halves import half_pattern, half_surface_of, reach_along, rows_of
from chape.sheath.model import ClipChoice, Hand, HoleUse, ThumbRamp
from chape.tolerances import ARC_FIT
from paired import paired_camp, paired_slender


@pytest.fixture(params=["camp", "slender"])
def sheath(request):
    return paired_camp() if request.param == "camp" else paired_slender()


def test_nothing_stops_it(sheath):
    assert errors(check_sheath(sheath)) == ()
    assert [piece.name for piece in sheath.pieces] == ["front", "back"]
    assert sheath.fold is None


def test_holes_of_both_pieces_lie_on_one_another(sheath):
    # Laid together, one piece is turned over: u stays, v changes its sign.
    front, back = ({(h.u, h.v, h.diameter, h.use) for h in p.holes} for p in sheath.pieces)
    assert front == {(u, -v, diameter, use) for u, v, diameter, use in back}


def test_both_halves_come_down_to_the_mid_plane_all_round(sheath):
    # The thumb ramp's curl begins with a fillet.
    ramp, fillet = sheath.choices.thumb_ramp.length, sheath.choices.fillet
    start = sheath.mouth_x - ramp - 2 * fillet
    for upper in (False, True):
        half, outline = half_surface_of(sheath, upper=upper), half_pattern(sheath, upper=upper)
        rim = shapely.get_coordinates(shapely.segmentize(outline.exterior, 0.5))
        assert (half.z >= 0).all()
        assert half.at(rim[rim[:, 0] < start]).max() == pytest.approx(0.0, abs=1e-9)
        # At the mouth the cavity runs out through the cut, and nowhere else.
        assert half.at(rim).max() > 2.0


def test_flanges_lie_inside_both_outlines_by_the_margin(sheath):
    margin = sheath.choices.edging.margin
    for piece in sheath.pieces:
        rim = piece.pattern.polygon().exterior
        for hole in piece.holes:
            if hole.use is not HoleUse.DRAIN:
                centre = shapely.Point(hole.u, hole.v)
                assert rim.distance(centre) - hole.keep_clear > margin - 3 * ARC_FIT
                assert shapely.contains(piece.pattern.polygon(), centre)


def test_eyelets_run_along_both_sides_no_further_apart_than_the_pitch(sheath):
    rows = rows_of(sheath, upper=False)
    assert len(rows) == 2
    for row in rows:
        places = np.array([(hole.u, hole.v) for hole in row])
        apart = np.hypot(*np.diff(places, axis=0).T)
        assert apart.max() <= sheath.choices.eyelets.pitch_most + 2 * ARC_FIT
        assert places[-1, 0] > sheath.mouth_x - 40
    assert np.mean([hole.v for hole in rows[0]]) < np.mean([hole.v for hole in rows[1]])


def test_the_blade_is_drawn_without_touching(sheath):
    knife = sheath.knife
    points = knife_points(knife, knife.blade_length, 2.0)
    pads = sheath.choices.tip_pads
    free = points[(points[:, 0] > pads.end) & (points[:, 0] < knife.blade_length - 1)]
    for upper in (False, True):
        walls = walls_of(sheath, upper=upper)
        least = min(float(clearance(walls, free, draw).min()) for draw in np.arange(0.0, 120.0, 8))
        assert least > 0.0


def test_a_left_hand_one_is_the_mirror_image():
    right = paired_camp(hand=Hand.RIGHT)
    left = paired_camp(hand=Hand.LEFT)
    for one, other in zip(left.pieces, right.pieces, strict=True):
        assert one.name == other.name
        assert np.array_equal(one.formed.z, other.formed.z[::-1])
        assert one.formed.grid.y0 == pytest.approx(-other.formed.grid.bounds[3])
        mirrored = other.pattern.mirrored()
        assert np.array_equal(one.pattern.points, mirrored.points)
        assert {(h.u, h.v) for h in one.holes} == {(h.u, -h.v) for h in other.holes}


def test_only_the_front_has_the_lip_of_a_thumb_ramp():
    front, back = paired_camp().pieces
    assert front.pattern.bounds[2] > back.pattern.bounds[2]
    bare, other = paired_camp(thumb_ramp=ThumbRamp(height=0)).pieces
    assert np.array_equal(bare.formed.z, other.formed.z[::-1])
    assert reach_along(paired_camp())[1] == front.pattern.bounds[2]


def test_a_clip_lies_on_one_of_the_rows():
    sheath = paired_camp(clips=(ClipChoice(clip="belt-loop-2", along=0.3),))
    (placed,) = sheath.clips
    front = sheath.pieces[0]
    there = [np.array([hole.u, hole.v]) for hole in front.holes]
    for point in placed.points:
        assert min(float(np.hypot(*(point - hole))) for hole in there) <= placed.play + 1e-6
    assert errors(check_sheath(sheath)) == ()


def test_another_snap_depth_changes_the_heights_alone():
    sheath = paired_slender()
    around = surroundings_of(sheath.knife, sheath.choices, sheath.cavity.grid)
    again = with_snap_depth(sheath, around, sheath.choices.snap_depth)
    for one, other in zip(again.pieces, sheath.pieces, strict=True):
        assert np.array_equal(one.formed.z, other.formed.z)
    deeper = with_snap_depth(sheath, around, 1.2)
    assert (deeper.pieces[0].formed.z < sheath.pieces[0].formed.z - 0.1).any()
    assert deeper.pieces[0].holes == sheath.pieces[0].holes
