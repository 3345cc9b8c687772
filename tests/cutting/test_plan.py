from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely

from chape.catalog.model import CutterKind
from chape.catalog.read import catalog
from chape.cutting.bore import bore_radii
from chape.cutting.choose import for_fillet
from chape.cutting.locate import follow, thinned, tip_heights
from chape.cutting.model import Motion, Moves, OperationKind, Program
from chape.cutting.plan import plan_program
from chape.errors import CannotMakeError
from chape.field.envelope import Body, closing
from chape.tooling.model import Groove, RoundHole
from cut_boards import SIZE, hill, mould, trim
from naive_carving import carve, stations

VENT = RoundHole(6.0, 6.0, 1.0, 0.0, -22.6, "vent")
DOWEL = RoundHole(6.0, SIZE - 8, 6.0, 0.0, -25.3, "dowel")


@pytest.fixture(scope="module")
def plate() -> Program:
    return plan_program(mould((VENT, DOWEL)))


@pytest.fixture(scope="module")
def trimmed() -> Program:
    return plan_program(trim())


def kinds(program: Program) -> list[OperationKind]:
    return [operation.kind for operation in program.operations]


def test_a_plate_is_roughed_finished_drilled_and_bored_in_this_order(plate: Program) -> None:
    *surfaces, drilled, bored = kinds(plate)
    assert [drilled, bored] == [OperationKind.DRILL, OperationKind.BORE]
    assert surfaces[0] is OperationKind.ROUGH
    assert set(surfaces[1:]) == {OperationKind.FINISH}
    # Creases, walls and shallow ground; what follows where much is left yet is little beside them.
    first, again = plate.operations[1:4], plate.operations[4:-2]
    ways = [sum(_cut_length(operation.moves) for operation in cuts) for cuts in (first, again)]
    assert len(again) <= 1
    assert ways[1] < 0.2 * ways[0]


def test_nothing_is_gouged_little_is_left_and_no_rapid_meets_material(plate: Program) -> None:
    setup = plate.setup
    carved = carve(plate)
    x, y = setup.target.grid.mesh()
    holes = shapely.union_all(
        [shapely.Point(h.x, h.y).buffer(h.diameter / 2 + 0.05) for h in setup.holes]
    )
    solid = ~shapely.contains_xy(holes, x, y)
    slope = np.hypot(*np.gradient(setup.target.z, setup.target.grid.spacing))
    along_normal = (carved.z - setup.target.z) / np.hypot(1, slope)
    assert along_normal[solid].min() > -0.02
    # Beyond what the ball can reach at all: scallop 0.02, chords 0.005, faceting of the grid.
    reachable = closing(setup.target, Body.ball(plate.operations[1].cutter.radius))
    left = ((carved.z - reachable.z) / np.hypot(1, slope))[solid]
    assert np.percentile(left, 99) < 0.03
    assert left.max() < 0.1
    assert carved.rapid_into < 0.01


def test_level_ground_is_left_exactly_at_its_height(plate: Program) -> None:
    rough = plate.operations[0]
    lowest = rough.moves.end[:, 2].min()
    assert lowest == pytest.approx(0.0, abs=1e-9)


def test_rapids_never_mix_height_with_travel(plate: Program, trimmed: Program) -> None:
    for program in (plate, trimmed):
        for operation in program.operations:
            moves = operation.moves
            rapid = moves.motion[1:] == Motion.RAPID
            changed = np.abs(np.diff(moves.end, axis=0)) > 0
            assert not (rapid & changed[:, 2] & changed[:, :2].any(axis=1)).any()


def test_operations_start_and_end_at_the_safe_height(plate: Program, trimmed: Program) -> None:
    for program in (plate, trimmed):
        tops = [float(program.setup.stock.z.max()), *[p.z_top for p in program.setup.keep_outs]]
        safe = max(tops) + program.setup.machine.safe_height
        for operation in program.operations:
            assert operation.moves.end[0, 2] == pytest.approx(safe)
            assert operation.moves.end[-1, 2] == pytest.approx(safe)


def test_a_bore_is_as_wide_as_its_hole(plate: Program) -> None:
    bored = plate.operations[-1]
    arcs = bored.moves.motion == Motion.COUNTER_CLOCKWISE
    reach = np.hypot(*(bored.moves.end[arcs, :2] - bored.moves.centre[arcs]).T)
    turns = (DOWEL.diameter - bored.cutter.diameter) / 2
    # In from the middle and out to it on half a circle, between them round and round the wall.
    assert reach[[0, -1]] == pytest.approx(turns / 2, abs=1e-9)
    assert reach[1:-1] == pytest.approx(turns, abs=1e-9)
    assert bored.moves.end[:, 2].min() == pytest.approx(DOWEL.z_bottom)
    assert not (bored.moves.motion == Motion.CLOCKWISE).any()


def test_wide_bores_are_opened_in_steps_that_overlap() -> None:
    radii = bore_radii(30.0, 6.0)
    assert radii[-1] == 12.0
    assert np.diff([0.0, *radii]).max() < 3.0


def test_pecks_break_the_chip_and_now_and_then_clear_the_hole(plate: Program) -> None:
    drilled = plate.operations[-2]
    assert drilled.moves.motion[-1] == Motion.RAPID
    z, cutting = drilled.moves.end[:, 2], drilled.moves.motion == Motion.LINE
    assert z[cutting].min() == pytest.approx(VENT.z_bottom)
    above = np.flatnonzero(~cutting & (z > VENT.z_top))
    stretches = [run[run < VENT.z_top] for run in np.split(z, above) if (run < VENT.z_top).any()]
    bottoms = [VENT.z_top, *[float(run.min()) for run in stretches]]
    # Deeper than eight diameters no drill goes without coming out, nor comes out needlessly.
    assert (-np.diff(bottoms)).max() <= 8.0 + 1e-9
    assert len(stretches) == 3
    lifts = np.diff(z)[cutting[:-1] & ~cutting[1:] & (z[1:] < VENT.z_top)]
    assert lifts == pytest.approx(0.254)
    floors = z[:-1][cutting[:-1] & ~cutting[1:]]
    assert (-np.diff([VENT.z_top, *floors])).min() > 0
    assert (-np.diff([VENT.z_top, *floors])).max() <= 3.0 + 1e-9


def test_holes_come_before_the_stop_and_outlines_after_it(trimmed: Program) -> None:
    assert kinds(trimmed) == [OperationKind.BORE, OperationKind.OUTLINE]
    assert [operation.stop_before for operation in trimmed.operations] == [False, True]
    assert "screws" in trimmed.operations[1].stop_message


def test_outlines_stay_on_the_waste_and_go_round_clockwise(trimmed: Program) -> None:
    moves = trimmed.operations[1]
    radius = moves.cutter.radius
    points = np.vstack([p for m, p in stations(moves.moves) if m != Motion.RAPID])
    for part in trimmed.setup.outlines:
        away = shapely.distance(part.polygon(0.0005), shapely.points(points[:, :2]))
        low = points[:, 2] < 2.0
        assert away[low].min() > radius - 0.002
        assert away[low].min() < radius + 0.012
        near = points[low & (away < radius + 0.012)]
        middle = np.array(part.polygon().centroid.coords[0])
        turning = np.unwrap(np.arctan2(*(near[:, :2] - middle).T[::-1]))
        assert turning[-1] - turning[0] < -2 * np.pi


def test_parts_come_free_and_stay_whole(trimmed: Program) -> None:
    carved = carve(trimmed)
    x, y = trimmed.setup.stock.grid.mesh()
    holes = shapely.union_all(
        [shapely.Point(h.x, h.y).buffer(h.diameter / 2 + 0.05) for h in trimmed.setup.holes]
    )
    for part in trimmed.setup.outlines:
        shape = part.polygon().difference(holes)
        inside = shapely.contains_xy(shape.buffer(-0.02), x, y)
        assert carved.z[inside].min() == 2.0
        rim = shapely.contains_xy(part.polygon().buffer(5.5), x, y)
        rim &= ~shapely.contains_xy(part.polygon().buffer(0.3), x, y)
        assert carved.z[rim].max() == pytest.approx(-1.0, abs=1e-6)
    assert carved.rapid_into < 0.01


def test_a_screw_head_in_the_way_is_refused() -> None:
    setup = trim()
    near = replace(setup.keep_outs[0], x=26.0)
    with pytest.raises(CannotMakeError, match=r"screw head at x 26\.0"):
        plan_program(replace(setup, keep_outs=(near,)))


def test_a_cutter_too_short_is_named() -> None:
    setup = mould()
    short = tuple(
        cutter.model_copy(update={"stick_out": 6.0, "flute_length": 5.0})
        for cutter in setup.cutters
    )
    with pytest.raises(CannotMakeError, match=r"T1 with stick-out of 6 mm is too short"):
        plan_program(replace(setup, cutters=short))


def test_a_hole_deeper_than_its_drill_is_refused() -> None:
    with pytest.raises(CannotMakeError, match=r"30\.0 mm deep"):
        plan_program(mould((replace(VENT, z_bottom=-30.0),)))


def test_grooves_are_cut_to_width_and_depth() -> None:
    setup = mould()
    level = setup.stock.with_z(np.zeros(setup.stock.grid.shape))
    groove = Groove(np.array([[10.0, 12.0], [40.0, 12.0]]), 4.0, -3.0)
    back = replace(setup, name="mould-back", stock=level, target=level, grooves=(groove,))
    carved = carve(plan_program(back))
    x, y = level.grid.mesh()
    line = shapely.LineString(groove.points)
    inside = shapely.contains_xy(line.buffer(1.95), x, y)
    outside = ~shapely.contains_xy(line.buffer(2.01, quad_segs=32), x, y)
    assert carved.z[inside].max() == pytest.approx(-3.0)
    assert carved.z[outside].min() == 0.0


def test_the_ball_leaves_alone_what_a_groove_has_taken() -> None:
    way = np.array([[12.0, 8.0], [36.0, 8.0]])
    # Along the foot of the hill, where the ball would go for its fillet.
    groove = Groove(way + np.array([0.0, 6.0]), 6.0, -2.0)
    plain, grooved = mould(), replace(mould(), grooves=(groove,))
    ways = []
    for setup in (plain, grooved):
        ball = [op for op in plan_program(setup).operations if op.cutter.kind is CutterKind.BALL]
        ways.append(sum(_cut_length(op.moves) for op in ball))
    assert ways[1] < 0.95 * ways[0]


def test_moves_follow_the_surface_within_the_chord() -> None:
    surface, ball = hill(), Body.ball(3.0)
    (path,) = follow(surface, ball, [np.array([[2.0, 20.3], [46.0, 27.1]])], tolerance=0.005)
    between = np.vstack([np.linspace(a, b, 7) for a, b in pairwise(path)])
    stray = tip_heights(surface, ball, between[:, :2]) - between[:, 2]
    way = np.diff(path, axis=0)
    lean = np.hypot(way[:, 0], way[:, 1]) / np.linalg.norm(way, axis=1)
    assert np.abs(stray * np.repeat(lean, 7)).max() < 0.007


def test_thinning_keeps_within_its_tolerance() -> None:
    angle = np.linspace(0, 2, 500)
    points = np.column_stack([20 * np.cos(angle), 20 * np.sin(angle), np.zeros(500)])
    kept = thinned(points, 0.005)
    line = shapely.LineString(kept[:, :2])
    assert shapely.distance(line, shapely.points(points[:, :2])).max() <= 0.005 + 1e-9
    assert len(kept) < 100


def test_a_fillet_written_in_inches_is_cut_with_the_ball_it_means() -> None:
    rack = catalog().rack("rack-6").cutters
    for written in (0.118, 0.11811):
        balls = [c.diameter for c in for_fillet(rack, written * 25.4) if c.kind is CutterKind.BALL]
        assert balls == [6.0]
    finer = [c.diameter for c in for_fillet(rack, 2.99) if c.kind is CutterKind.BALL]
    assert finer == [6.0, 3.0]
    with pytest.raises(CannotMakeError, match="too large for fillets"):
        for_fillet(rack, 1.49)


def test_a_smaller_ball_picks_out_only_the_fillets_that_the_larger_leaves() -> None:
    sharp = hill(fillet=1.6)
    rack = for_fillet(catalog().rack("rack-6").cutters, 1.6)
    program = plan_program(replace(mould(), target=sharp, cutters=rack))
    finished = [op for op in program.operations if op.kind is OperationKind.FINISH]
    numbers = [op.cutter.diameter for op in finished]
    assert sorted(numbers, reverse=True) == numbers
    assert set(numbers) == {6.0, 3.0}
    ways = {
        size: sum(_cut_length(op.moves) for op in finished if op.cutter.diameter == size)
        for size in (6.0, 3.0)
    }
    # All along the foot and not over the hill: alone it would take 1.4 times the way of the large.
    assert 60 < ways[3.0] < 0.8 * ways[6.0]
    carved = carve(program)
    slope = np.hypot(*np.gradient(sharp.z, sharp.grid.spacing))
    left = (carved.z - sharp.z) / np.hypot(1, slope)
    assert left.min() > -0.02
    # The large ball alone leaves 0.5 mm.
    assert np.percentile(left, 99) < 0.04


def _cut_length(moves: Moves) -> float:
    way = np.linalg.norm(np.diff(moves.end, axis=0), axis=1)
    return float(way[moves.motion[1:] != Motion.RAPID].sum())
