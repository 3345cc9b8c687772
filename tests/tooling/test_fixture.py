from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError, InputError
from chape.field.envelope import Body, closing
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.model import HoleUse
from chape.tooling.boards import board_pins
from chape.tooling.check import check_tooling
from chape.tooling.check_fixture import check_fixture, flange_support
from chape.tooling.fixture import make_fixture, seat_under
from chape.tooling.layout import lay_out
from chape.tooling.model import BlankChoices, FixtureChoices, MouldChoices
from chape.tooling.mould import make_mould
from chape.tooling.screws import keep_out_radius, spread_out
from plain_sheath import eyelet_holes, plain_sheath
from whole import remade, whole


@cache
def layout():
    return lay_out(plain_sheath(), BlankChoices())


@cache
def fixture():
    return make_fixture(layout(), FixtureChoices(), catalog())


def codes(record):
    return {finding.code for finding in check_fixture(record)}


def test_a_made_fixture_has_only_notes():
    assert codes(fixture()) == {"pin-under-trim-path"}


def test_the_seat_of_a_wedge_is_its_offset():
    # z = x tan 60: moved inwards by 0.5 mm along its normal it falls by 0.5 / cos 60 = 1 mm.
    slope = np.tan(np.radians(60))
    surface = HeightField.of(Grid.over(0, 0, 20, 6, 0.5), lambda x, _: slope * x)
    seat = seat_under(surface, 0.5, 3.0)
    fall = (surface.z - seat.z)[3:-3, 8:-8]
    assert fall == pytest.approx(1.0, abs=1e-6)


def test_a_ball_of_the_fillet_reaches_the_foot_of_the_seat():
    slope = np.tan(np.radians(80))
    grid = Grid.over(0, 0, 24, 8, 0.2)
    wall = HeightField.of(grid, lambda x, _: np.clip(slope * (x - 10), 0, 8))
    formed, ball = closing(wall, Body.ball(3.0)), Body.ball(3.0)
    seat = seat_under(formed, 0.2, 3.0)
    # The offset alone, cut off at the flange plane, leaves a crease: 0.2 (1 - sin 20 deg) deep.
    tight = seat_under(formed, 0.2, 0.1)
    foot = (seat.z < 1.5) & (wall.z < 1.5)
    assert (closing(tight, ball).z - tight.z)[foot].max() > 0.1
    assert (closing(seat, ball).z - seat.z)[foot].max() < 0.04
    assert (seat.z <= formed.z + 1e-9).all()


def test_flanges_lie_on_the_seat_and_the_groove_is_below_them():
    record = fixture()
    formed = record.layout.formed.z
    assert (record.seat.z <= formed + 1e-9).all()
    assert (record.seat.z[formed == 0] == 0).all()
    for groove, path in zip(record.grooves, record.trim_paths, strict=True):
        assert record.surface.at(path.flattened(0.1)) == pytest.approx(groove.z_floor)
        assert groove.z_floor == -2.0


def test_the_trim_path_runs_a_cutter_radius_outside_the_outline():
    record = fixture()
    for pattern, path in zip(layout().patterns, record.trim_paths, strict=True):
        outline = pattern.polygon(0.002)
        away = shapely.distance(shapely.points(path.flattened(0.002)), outline)
        assert away == pytest.approx(3.0, abs=0.015)


def test_four_eyelets_of_each_sheath_and_four_corners_are_screwed():
    record = fixture()
    assert len(record.screws) == 16
    assert len(record.inserts) == 20
    eyelets = [h for h in whole(layout().sheaths[0]).holes if h.use is HoleUse.EYELET]
    for part in layout().parts:
        place, pattern = part.place, part.pattern
        inside = [
            hole
            for k, hole in enumerate(record.inserts)
            if k in record.screws and pattern.polygon().contains(shapely.Point(hole.x, hole.y))
        ]
        assert len(inside) == 4
        for hole in inside:
            x, y = hole.x - place.x, hole.y - place.y
            for _ in range(place.quarter_turns):
                x, y = y, -x
            assert min(abs(x - e.u) + abs(y - e.v) for e in eyelets) < 1e-9


def test_the_spread_out_choice_is_the_best_of_all():
    points = np.random.default_rng(3).uniform(0, 100, (9, 2))

    def least(members):
        return min(np.hypot(*(points[a] - points[b])) for a, b in combinations(members, 2))

    chosen = spread_out(points, 4)
    assert least(chosen) == max(least(c) for c in combinations(range(9), 4))
    assert spread_out(points, 20) == tuple(range(9))
    assert spread_out(points, 0) == ()


def test_many_points_are_still_spread_out():
    points = np.random.default_rng(4).uniform(0, 100, (60, 2))
    chosen = spread_out(points, 6)
    assert len(set(chosen)) == 6
    assert min(np.hypot(*(points[a] - points[b])) for a, b in combinations(chosen, 2)) > 25


def test_keep_out_of_a_quarter_inch_socket_head():
    # Head 0.375 in, 6 mm cutter, 1 mm clearance: 4.7625 + 3 + 1 mm (arithmetic).
    screw = catalog().screw("screw-m6-button")
    head = screw.head_diameter.model_copy(update={"value": 9.525})
    screw = screw.model_copy(update={"head_diameter": head})
    assert keep_out_radius(screw, 6.0) == pytest.approx(8.7625)


def test_board_pins_outside_the_plate_are_refused():
    board = catalog().board("board-400x300")
    with pytest.raises(InputError, match="board-400x300"):
        board_pins(board, 300.0, 300.0, -25.0)


@pytest.mark.parametrize(
    ("choices", "cutter", "words"),
    [
        ({"relief_width": 40.0}, 6.0, "relief groove of 40 mm"),
        ({"relief_width": 5.0}, 6.0, "narrower than the trim cutter"),
        ({"relief_width": 13.0}, 12.0, "does not pass between outlines"),
        ({"plate": 15.0}, 6.0, "insert holes 14 mm deep"),
        ({"plate": 25.0, "relief_depth": 24.0}, 6.0, "relief groove 24 mm deep"),
    ],
)
def test_fixtures_that_cannot_be(choices, cutter, words):
    with pytest.raises(CannotMakeError, match=words):
        make_fixture(layout(), FixtureChoices(**choices), catalog(), cutter)


def test_a_screw_too_thick_for_the_eyelets_is_refused_by_name_of_those_that_pass():
    small = replace(layout().sheaths[0], eyelet=catalog().eyelet("eyelet-4.8"))
    with pytest.raises(CannotMakeError, match=r"6 mm, does not .* 4\.9 mm.*screw-m4-button"):
        make_fixture(replace(layout(), sheaths=(small,)), FixtureChoices(), catalog())


def test_unknown_screws_and_boards_are_refused():
    with pytest.raises(InputError, match="screw-m99"):
        make_fixture(layout(), FixtureChoices(screw="screw-m99"), catalog())
    with pytest.raises(InputError, match="board-1"):
        make_fixture(layout(), FixtureChoices(board="board-1"), catalog())


def test_findings_of_a_spoiled_fixture():
    good = fixture()
    few = replace(good, screws=good.screws[:-1])
    assert "screws-few" in codes(few)
    path = good.trim_paths[0].points[0]
    struck = replace(good.inserts[0], x=path[0] + 1, y=path[1])
    assert "screw-head-in-path" in codes(replace(good, inserts=(struck, *good.inserts[1:])))
    x, y = good.layout.parts[0].place.placed(np.array([[130.0, 0.0]]))[0]
    walled = replace(good.inserts[0], x=x, y=y)
    assert "screw-head-on-wall" in codes(replace(good, inserts=(walled, *good.inserts[1:])))
    high = good.surface.with_z(good.surface.z + 1)
    assert "seat-too-high" in codes(replace(good, surface=high))
    wide = tuple(replace(g, width=26.0) for g in good.grooves)
    assert {"flange-support-low", "insert-wall-thin"} <= codes(replace(good, grooves=wide))
    pins = (replace(good.pins[0], x=20.0), good.pins[1])
    assert "pins-do-not-match" in codes(replace(good, pins=pins))
    thread = good.screw.thread.model_copy(update={"value": 8.0})
    thick = good.screw.model_copy(update={"thread": thread})
    assert "screw-too-thick" in codes(replace(good, screw=thick))
    broad = tuple(replace(g, width=16.0) for g in good.grooves)
    assert "groove-undercuts-neighbour" in codes(replace(good, grooves=broad, trim_cutter=14.0))


def test_the_flange_support_of_a_known_sheath():
    # Least at the tip: the outline bulges to u = -2, the body begins at u = 10, and the groove
    # reaches 1.5 mm under the edge. The foot line is taken a little inside the true foot.
    assert flange_support(fixture()) == pytest.approx(12.0 - 1.5, abs=0.2)


def test_a_sheath_with_two_eyelets_is_warned_about():
    sheath = remade(plain_sheath(), holes=eyelet_holes(1))
    plan = lay_out(sheath, BlankChoices(copies=1))
    record = make_fixture(plan, FixtureChoices(), catalog())
    assert "screws-few" in codes(record)
    every = {f.code for f in check_tooling(plan, make_mould(plan, MouldChoices()), record)}
    assert "screws-few" in every
