"""What holds for every sheath, whatever is asked of it."""

from __future__ import annotations

from math import cos, radians

import numpy as np
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from chape.catalog.read import catalog
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.cavity import above_of, make_cavity, sheath_grid
from chape.sheath.closed import clearance, edge_points, walls_of
from chape.sheath.design import design_sheath
from chape.sheath.folded import fold_back
from chape.sheath.hold import draw_envelope, snapped
from chape.sheath.margins import margins_of
from chape.sheath.model import (
    Clearance,
    Edging,
    Hand,
    HoleUse,
    Line,
    Mouth,
    SheathChoices,
    SlotChoice,
    ThumbRamp,
)
from chape.sheath.slots import edge_distance
from chape.tolerances import ARC_FIT, FOLD_CLOSURE
from specimens import camp_knife, slender_knife
from whole import whole

COARSE = 0.8

#: A design takes half a second, so that a failure is shown as it was found, not made smaller.
few = settings(
    max_examples=4,
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)

rooms = st.builds(
    Clearance,
    blade=st.floats(0.2, 1.0),
    handle=st.floats(0.0, 0.6),
    side=st.floats(0.8, 2.0),
    spine=st.floats(0.1, 0.8),
    draft=st.floats(5.0, 12.0),
)


def choices_of(**more):
    defaults = {"name": "law", "knife": "law.toml", "spacing": COARSE, "mouth": Mouth(wrap=32.0)}
    return SheathChoices(**{**defaults, **more})


def cavity_of(knife, choices):
    # A strip far above leaves the whole cavity to look at.
    _, y_min, _, y_max = knife.outline.bounds
    grid = sheath_grid(-8.0, y_min - 6.0, knife.length + 4.0, y_max + 10.0, choices.spacing)
    return make_cavity(knife, choices, grid, np.full(grid.nx, y_max + 30.0))


@few
@given(clearance=rooms, snap_depth=st.floats(0.0, 2.0), slender=st.booleans())
def test_the_cavity_clears_the_knife_by_what_was_asked(clearance, snap_depth, slender):
    knife = slender_knife(COARSE) if slender else camp_knife(COARSE)
    choices = choices_of(clearance=clearance, snap_depth=snap_depth, tip_pads=None)
    cavity = cavity_of(knife, choices).shape
    x, y = knife.half.grid.mesh()
    inside = shapely.contains_xy(knife.outline, x, y)
    points = np.column_stack([x[inside], y[inside]])
    room = cavity.at(points) - knife.half.z[inside]
    asked = above_of(points[:, 0], knife, choices)
    assert (room - asked).min() > -1e-9
    # Beside the knife: as far out as was asked, the cavity has not come down yet.
    rim = shapely.buffer(knife.outline, clearance.side + knife.uncertainty, quad_segs=64).exterior
    beside = shapely.get_coordinates(rim.interpolate(np.arange(0.0, rim.length, 0.5)))
    beside = beside[beside[:, 0] < knife.length]
    assert cavity.at(beside).min() > -1e-9
    floor = min(clearance.blade, clearance.handle) + knife.uncertainty
    near = shapely.buffer(knife.outline, clearance.side + knife.uncertainty - COARSE * 1.5).exterior
    assert cavity.at(shapely.get_coordinates(near)).min() >= floor - 1e-9


@few
@given(clearance=rooms, depths=st.tuples(st.floats(0.0, 3.0), st.floats(0.0, 3.0)))
def test_snap_depth_is_free_at_nought_and_tighter_the_deeper(clearance, depths):
    knife = camp_knife(COARSE)
    level = Mouth(wrap=32.0, flare=0.0)
    cavities = [
        cavity_of(knife, choices_of(clearance=clearance, snap_depth=u, tip_pads=None, mouth=level))
        for u in (0.0, min(depths), max(depths))
    ]
    free, shallow, deep = (cavity.shape.z for cavity in cavities)
    assert np.array_equal(free, cavities[0].envelope.z)
    assert (shallow >= deep).all()
    assert (free >= shallow).all()
    assert (deep >= cavities[0].home.z).all()


@given(
    heights=st.lists(st.floats(0.0, 9.0), min_size=12, max_size=12),
    edge=st.lists(st.floats(0.0, 2.0), min_size=12, max_size=12),
    depth=st.floats(0.0, 5.0),
)
def test_a_drawn_surface_passes_at_nought_and_the_edge_always(heights, edge, depth):
    grid = Grid(0.0, 0.0, 1.0, 4, 3)
    home = HeightField(grid, np.reshape(heights, (3, 4)))
    band = HeightField(grid, np.minimum(home.z, np.reshape(edge, (3, 4))))
    envelope, edge_envelope = draw_envelope(home), draw_envelope(band)
    cavity = snapped(home, envelope, edge_envelope, depth)
    for step in range(4):
        drawn = home.z[:, : 4 - step]
        assert (cavity.z[:, step:] >= drawn - depth - 1e-12).all()
        assert (cavity.z[:, step:] >= band.z[:, : 4 - step] - 1e-12).all()
    assert (snapped(home, envelope, edge_envelope, 0.0).z == envelope.z).all()


@few
@given(room=rooms, snap_depth=st.sampled_from([0.0, 0.5, 1.5]), slender=st.booleans())
def test_the_folded_pattern_closes_and_the_edge_never_touches(room, snap_depth, slender):
    knife = slender_knife(COARSE) if slender else camp_knife(COARSE)
    choices = choices_of(clearance=room, snap_depth=snap_depth, clips=())
    sheath = design_sheath(knife, choices, catalog())
    stations = np.arange(whole(sheath).pattern.bounds[0], sheath.mouth_x, 3.0)
    closure = fold_back(sheath.fold, whole(sheath).formed, stations)
    assert np.hypot(closure.gap, closure.astray).max() < FOLD_CLOSURE
    walls, points = walls_of(sheath), edge_points(knife, 2.0)
    least = min(float(clearance(walls, points, draw).min()) for draw in np.arange(0.0, 150.0, 6.0))
    assert least > min(room.blade, room.side) * cos(radians(45.0))
    # The eyelets: none further from the next than the pitch, all the way from mouth to tip.
    eyelets = [(h.u, h.v) for h in whole(sheath).holes if h.use is HoleUse.EYELET and h.v < 0]
    steps = np.hypot(*np.diff(np.array(eyelets), axis=0).T)
    assert steps.max() <= choices.eyelets.pitch_most + 1e-3


def test_a_left_hand_sheath_is_the_mirror_image():
    right, left = (
        design_sheath(camp_knife(COARSE), choices_of(hand=hand), catalog()) for hand in Hand
    )
    assert np.array_equal(whole(left).formed.z, whole(right).formed.z[::-1])
    mirrored = whole(right).pattern.mirrored()
    assert np.array_equal(whole(left).pattern.points, mirrored.points)
    assert np.array_equal(whole(left).pattern.bulges, mirrored.bulges)
    assert {(h.u, round(h.v, 9)) for h in whole(left).holes} == {
        (h.u, round(-h.v, 9)) for h in whole(right).holes
    }


def test_halves_differ_by_the_ramp_alone_and_their_areas_add_up():
    flat = design_sheath(camp_knife(COARSE), choices_of(thumb_ramp=ThumbRamp(height=0)), catalog())
    ramped = design_sheath(camp_knife(COARSE), choices_of(), catalog())
    assert np.array_equal(whole(flat).formed.z, whole(flat).formed.z[::-1])
    polygon = whole(flat).pattern.polygon(1e-4)
    front = polygon.intersection(shapely.box(-1e3, -1e3, 1e3, 0.0))
    # Each half of the outline is fitted for itself, within 0.01 mm all along.
    assert abs(2 * front.area - polygon.area) < 0.01 * polygon.length
    assert abs(whole(flat).pattern.area - polygon.area) < 1e-4 * polygon.length
    start = ramped.mouth_x - ramped.choices.thumb_ramp.length
    back = whole(ramped).formed.z[whole(ramped).formed.grid.y > 0]
    front_z = whole(ramped).formed.z[whole(ramped).formed.grid.y < 0][::-1]
    differs = np.flatnonzero((back != front_z).any(axis=0))
    assert whole(ramped).formed.grid.x[differs].min() > start - 2 * ramped.choices.fillet - COARSE


def test_the_same_input_gives_the_same_sheath():
    one, other = (design_sheath(camp_knife(COARSE), choices_of(), catalog()) for _ in range(2))
    assert whole(one).formed.z.tobytes() == whole(other).formed.z.tobytes()
    assert whole(one).pattern.points.tobytes() == whole(other).pattern.points.tobytes()
    assert whole(one).holes == whole(other).holes


@few
@given(
    margin=st.floats(1.0, 4.0),
    wall=st.floats(3.0, 6.0),
    fair=st.floats(15.0, 150.0),
    line=st.sampled_from(list(Line)),
    along=st.floats(0.1, 0.9),
    angle=st.floats(-60.0, 60.0),
    slender=st.booleans(),
)
def test_every_flange_and_every_slot_lies_inside_the_outline_by_its_margin(
    margin, wall, fair, line, along, angle, slender
):
    knife = slender_knife(COARSE) if slender else camp_knife(COARSE)
    edging = Edging(margin=margin, wall=wall, fair=fair, line=line)
    slot = SlotChoice(along=along, length=16.0, width=4.0, angle=angle)
    sheath = design_sheath(knife, choices_of(edging=edging, slots=(slot,)), catalog())
    piece = whole(sheath)
    polygon = piece.pattern.polygon(0.005)
    for hole in piece.holes:
        if hole.use is not HoleUse.DRAIN:
            flange = shapely.Point(hole.u, hole.v).buffer(hole.keep_clear + margin - 3 * ARC_FIT)
            assert polygon.contains(flange)
    for slot in piece.slots:
        grown = slot.area().buffer(edge_distance(sheath.sheet.gauge.value) - 5 * ARC_FIT)
        assert polygon.contains(grown)
    shares = margins_of(sheath, piece).shares
    assert abs(sum(shares.values()) - 1.0) < 1e-9
