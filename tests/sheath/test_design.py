"""Two demo sheaths, and what cannot be made."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError, ChapeError, InputError
from chape.sheath.cavity import surroundings_of
from chape.sheath.clip_places import ASTRAY_MOST
from chape.sheath.design import design_sheath, with_snap_depth
from chape.sheath.formed import ROUNDING, RUNOUT
from chape.sheath.halves import half_surface_of
from chape.sheath.model import Clearance, ClipChoice, HoleUse, Mouth, SheathChoices, TipPads
from specimens import camp_knife, camp_sheath, slender_sheath
from whole import whole

COARSE = 0.8


@pytest.fixture(params=[camp_sheath, slender_sheath], ids=["camp", "slender"])
def sheath(request):
    return request.param()


def make(**more):
    choices = SheathChoices(
        **{"name": "a", "knife": "b", "spacing": COARSE, "mouth": Mouth(wrap=32.0), **more}
    )
    return design_sheath(camp_knife(COARSE), choices, catalog())


def test_what_a_file_has_no_table_for_is_not_made():
    choices = SheathChoices(name="a", knife="b")
    assert choices.clips == ()
    assert choices.tip_pads is None


def test_holes_lie_inside_the_pattern_on_level_sheet(sheath):
    polygon = whole(sheath).pattern.polygon()
    for hole in whole(sheath).holes:
        disc = shapely.Point(hole.u, hole.v).buffer(hole.diameter / 2)
        assert polygon.contains(disc)
        if hole.use is not HoleUse.DRAIN:
            assert polygon.contains(shapely.Point(hole.u, hole.v).buffer(hole.keep_clear + 1.0))
            assert whole(sheath).formed.at(np.array([[hole.u, hole.v]]))[0] == 0.0


def test_holes_of_the_two_halves_meet_when_folded(sheath):
    front = sorted((h.u, h.v, h.use) for h in whole(sheath).holes if h.v < 0)
    back = sorted((h.u, -h.v, h.use) for h in whole(sheath).holes if h.v > 0)
    assert front == back


def test_every_clip_finds_its_holes(sheath):
    front = np.array([(h.u, h.v + sheath.fold.line) for h in whole(sheath).holes if h.v < 0])
    for placed in sheath.clips:
        own = np.array(placed.clip.holes)
        spans, laid = (np.hypot(*np.diff(p, axis=0).T) for p in (own, placed.points))
        assert laid == pytest.approx(spans, abs=1e-6)
        distances = np.hypot(*(placed.points[:, None] - front[None]).transpose(2, 0, 1))
        assert distances.min(axis=1).max() == pytest.approx(placed.play, abs=1e-9)
        assert placed.play <= ASTRAY_MOST


def test_the_formed_surface_runs_past_the_mouth_and_comes_down_to_nothing(sheath):
    formed = whole(sheath).formed
    rim = np.concatenate([formed.z[0], formed.z[-1], formed.z[:, 0], formed.z[:, -1]])
    assert rim.max() == 0.0
    assert formed.z.min() == 0.0
    past = np.array([[sheath.mouth_x + RUNOUT - 1.0, 0.0]])
    assert formed.at(past)[0] > 0.95 * sheath.fold.height[-1]


def test_the_pads_touch_and_do_not_press(sheath):
    half = half_surface_of(sheath, upper=True)
    knife = sheath.knife
    pads = sheath.choices.tip_pads
    x = (pads.start + pads.end) / 2
    y = np.arange(knife.outline.bounds[1], knife.outline.bounds[3], 0.2)
    points = np.column_stack([np.full(len(y), x), y])
    inside = shapely.contains_xy(knife.outline, points[:, 0], points[:, 1])
    gap = (half.at(points) - knife.half.at(points))[inside]
    assert -0.01 < gap.min() < 0.1


def test_the_mouth_is_flared_by_what_was_asked():
    straight, flared = (make(mouth=Mouth(wrap=32.0, flare=flare)) for flare in (0.0, 0.8))
    places = np.array([[straight.mouth_x - s, 12.0] for s in (0.0, 8.0)])
    rise = flared.cavity.at(places) - straight.cavity.at(places)
    assert rise == pytest.approx([0.8, 0.0], abs=0.02)


def test_thumb_ramp_curls_one_half_alone():
    sheath = camp_sheath()
    ramp = sheath.choices.thumb_ramp
    u, v = sheath.mouth_x - 0.2, whole(sheath).pattern.bounds[1] + ROUNDING + 2.0
    front, back = whole(sheath).formed.at(np.array([[u, v], [u, -v]]))
    assert front == pytest.approx(ramp.height, abs=0.1)
    assert back == 0.0


def test_four_camp_sheaths_fit_a_blank():
    # Four rectangles a x b pinwheel in a square of a + b and a gap.
    u_min, v_min, u_max, v_max = whole(camp_sheath()).pattern.bounds
    assert (u_max - u_min) + (v_max - v_min) + 8 <= 300 - 2 * 8


def test_no_pads_no_clip_no_drain_no_ramp_is_a_sheath_too():
    plain = make(
        tip_pads=None, clips=(), drain={"diameter": 0}, thumb_ramp={"height": 0}, snap_depth=0
    )
    assert {hole.use for hole in whole(plain).holes} == {HoleUse.EYELET}
    assert plain.clips == ()


@pytest.mark.parametrize(
    ("more", "error", "words"),
    [
        ({"mouth": Mouth(wrap=140.0)}, CannotMakeError, "wrap"),
        ({"mouth": Mouth(wrap=110.0)}, CannotMakeError, "wrap"),
        ({"clearance": Clearance(blade=50.0)}, InputError, "sheath.clearance.blade"),
        ({"clearance": Clearance(side=7.0)}, InputError, "sheath.clearance.side"),
        ({"tip_pads": TipPads(start=40.0, end=30.0)}, InputError, "sheath.tip_pads"),
        ({"tip_pads": TipPads(start=90.0, end=130.0)}, InputError, "sheath.tip_pads"),
        ({"clips": (ClipChoice(clip="no-such-clip"),)}, InputError, "no-such-clip"),
        ({"sheet": "cardboard"}, InputError, "cardboard"),
    ],
)
def test_what_cannot_be_made_is_refused_in_one_sentence(more, error, words):
    with pytest.raises(error, match=words) as caught:
        make(**more)
    assert isinstance(caught.value, ChapeError)
    assert "\n" not in str(caught.value)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(
    ("holes", "words"),
    [
        (((0.0, 0.0), (300.0, 0.0)), r"300\.0 mm .* no longer than 1[34]\d mm"),
        (((0.0, 0.0), (9.0, 0.0)), r"9 mm apart, .* 10\.5 mm wide, would overlap"),
    ],
)
def test_a_clip_that_cannot_fit_says_what_would(holes, words):
    clip = catalog().clip("belt-loop-2").model_copy(update={"name": "mine", "holes": holes})
    entries = catalog().entries
    wider = type(catalog())({**entries, "clips": {**entries["clips"], "mine": clip}})
    choices = SheathChoices(
        name="a",
        knife="b",
        spacing=COARSE,
        mouth=Mouth(wrap=32.0),
        clips=(ClipChoice(clip="mine"),),
    )
    with pytest.raises(CannotMakeError, match=words):
        design_sheath(camp_knife(COARSE), choices, wider)


def test_a_plate_s_second_row_stands_on_flange_that_the_grid_did_not_reach():
    sheath = make(clips=(ClipChoice(clip="plate-4", along=0.4),))
    (piece,) = sheath.pieces
    u_min, v_min, u_max, v_max = piece.pattern.bounds
    grid = piece.formed.grid
    assert grid.y.min() < v_min
    assert grid.y.max() > v_max
    assert v_max > make().pieces[0].pattern.bounds[3] + 15.0
    # Nothing is formed there.
    row = piece.formed.z[np.abs(grid.y) > v_max - 8.0][:, (grid.x > u_min) & (grid.x < u_max - 20)]
    assert row.max() == 0.0


def test_a_sheath_formed_anew_to_its_own_depth_is_itself():
    sheath = camp_sheath()
    around = surroundings_of(sheath.knife, sheath.choices, sheath.cavity.grid)
    again = with_snap_depth(sheath, around, sheath.choices.snap_depth)
    # The half without the thumb ramp, to the last bit.
    rows = whole(sheath).formed.grid.ny // 2
    assert np.array_equal(whole(again).formed.z[rows:], whole(sheath).formed.z[rows:])
    deeper = with_snap_depth(sheath, around, sheath.choices.snap_depth + 0.2)
    assert (deeper.cavity.z <= sheath.cavity.z + 1e-12).all()
    assert (deeper.cavity.z < sheath.cavity.z - 0.15).any()
