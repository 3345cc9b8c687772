from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.check_mould import check_mould
from chape.tooling.grooves import Table, groove_runs
from chape.tooling.layout import lay_out
from chape.tooling.model import BlankChoices, MouldChoices
from chape.tooling.mould import make_mould
from chape.tooling.vents import foot_vents, hollow_depth, hollow_vents, vent_points
from plain_sheath import plain_sheath


@cache
def layout():
    return lay_out(plain_sheath(), BlankChoices())


@cache
def mould():
    return make_mould(layout(), MouldChoices())


def codes(record):
    return {finding.code for finding in check_mould(record)}


def test_a_made_mould_has_only_notes():
    assert codes(mould()) == {"vents-under-sheath"}


def test_vents_and_grooves_reach_each_other():
    record = mould()
    by_vent = [
        max(
            groove.z_floor
            for groove in record.grooves
            if shapely.LineString(groove.points).distance(shapely.Point(vent.x, vent.y)) <= 1.001
        )
        for vent in record.vents
    ]
    assert [vent.z_bottom for vent in record.vents] == pytest.approx(by_vent)


def test_no_vent_is_longer_than_a_drill_reaches():
    assert max((v.z_top - v.z_bottom) / v.diameter for v in mould().vents) <= 22.0 + 1e-6


def test_dowels_trade_places_when_the_plate_is_turned_over():
    left, right = mould().dowels
    assert left.x == pytest.approx(mould().width - right.x)
    assert left.y == right.y
    assert left.z_bottom == mould().z_bottom


def test_a_square_block_is_vented_at_its_corners_and_between():
    def block(x, y):
        inside = np.minimum(np.minimum(x - 50, 110 - x), np.minimum(y - 50, 110 - y))
        return np.clip(inside * 4.0, 0.0, 8.0)

    surface = HeightField.of(Grid.over(0, 0, 160, 160, 0.5), block)
    vents = np.array(foot_vents(surface, 0.5, 25.0))
    for corner in [(50, 50), (110, 50), (110, 110), (50, 110)]:
        assert np.hypot(*(vents - corner).T).min() < 1.5
    # 60 mm a side: three stretches of at most 25 mm between two corners.
    assert len(vents) == 12


def test_no_two_vents_run_into_each_other_where_hollows_lie_side_by_side():
    def twin_troughs(x, y):
        block = (np.abs(x - 30) < 20) & (np.abs(y - 30) < 20)
        # A ridge of one node stands between them; both are lowest at one end.
        dug = (np.abs(y - 30) < 8) & (np.abs(x - 30) > 0.2) & (np.abs(x - 30) < 2.2)
        return np.where(block, np.where(dug, 4.0 + 0.01 * y, 8.0), 0.0)

    surface = HeightField.of(Grid.over(0, 0, 60, 60, 0.4), twin_troughs)
    points = vent_points(surface, 2.0, 25.0)
    apart = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    assert apart[np.triu_indices(len(points), 1)].min() >= 4.0


def test_the_depth_of_a_known_trough():
    def trough(x, y):
        block = (np.abs(x - 30) <= 20) & (np.abs(y - 30) <= 20)
        return np.where(block, np.where(np.abs(y - 30) <= 5, 2.0, 6.0), 0.0)

    surface = HeightField.of(Grid.over(0, 0, 60, 60, 0.5), trough)
    depth = hollow_depth(surface)
    assert depth.max() == 4.0
    assert depth[60, 60] == 4.0
    assert depth[surface.z == 0].max() == 0.0
    vents = np.array(hollow_vents(surface, 25.0, np.empty((0, 2))))
    assert len(vents) >= 2
    assert (surface.at(vents) == 2.0).all()


def test_grooves_join_scattered_vents_to_the_table():
    rng = np.random.default_rng(5)
    vents = rng.uniform(20, 280, (40, 2))
    table = Table(300.0, 300.0, 50.0, 8.0)
    runs = groove_runs(vents, 3.0, 1.0, table)
    assert sorted(k for run in runs for k in run.vents) == list(range(40))
    for run in runs:
        for k in run.vents:
            away = shapely.LineString(run.points).distance(shapely.Point(*vents[k]))
            assert away <= 1.0 + 1e-9
        lines = np.arange(50.0, 300.0, 50.0)
        assert ((lines > run.start) & (lines < run.end)).any()
        assert 8.0 <= run.start < run.end <= 292.0


def test_grooves_that_leave_no_plate_are_refused():
    with pytest.raises(CannotMakeError, match="leave 7 mm"):
        make_mould(layout(), MouldChoices(plate=10, groove_depth=3))


def test_vents_wider_than_the_grooves_are_refused():
    with pytest.raises(CannotMakeError, match="wider than back grooves"):
        make_mould(layout(), MouldChoices(groove_width=0.5))


def test_a_table_pitch_larger_than_the_plate_is_refused():
    with pytest.raises(CannotMakeError, match="pitch of 400 mm"):
        make_mould(layout(), MouldChoices(grid_pitch=400))


def test_scaling_past_the_edge_is_refused():
    snug = lay_out(plain_sheath(), BlankChoices(clamp_border=0.5, width=290, depth=290))
    with pytest.raises(CannotMakeError, match="past the plate's edge"):
        make_mould(snug, MouldChoices(shrink=0.05))


def test_findings_of_a_spoiled_mould():
    good = mould()
    half = replace(good, vents=good.vents[: len(good.vents) // 2])
    assert "vent-pitch-high" in codes(half)
    assert "hollow-unvented" in codes(replace(good, vents=good.vents[:3]))
    assert "vent-not-joined" in codes(replace(good, grooves=good.grooves[1:]))
    short = tuple(replace(v, z_bottom=v.z_bottom + 1) for v in good.vents)
    assert "vent-not-joined" in codes(replace(good, vents=short))
    # Grooves that end before the table's own.
    assert "vent-not-joined" in codes(replace(good, grid_pitch=299.0))
    wide = tuple(replace(v, diameter=2.0) for v in good.vents)
    assert "vent-too-wide" in codes(replace(good, vents=wide))
    deep = tuple(replace(v, z_top=v.z_top + 9) for v in good.vents)
    assert "vent-deep" in codes(replace(good, vents=deep))
    thin = tuple(replace(g, z_floor=-9.0) for g in good.grooves)
    assert "plate-thin" in codes(replace(good, grooves=thin))
    left, right = good.dowels
    assert "flip-not-located" in codes(replace(good, dowels=(left, replace(right, x=290.0))))
    x, y = good.grooves[0].points[0]
    assert "groove-through-dowel" in codes(replace(good, dowels=(replace(left, x=x, y=y), right)))
    edge = (replace(good.grooves[0], points=np.array([[1.0, 150.0], [60.0, 150.0]])),)
    assert "groove-at-edge" in codes(replace(good, grooves=good.grooves + edge))


def test_a_mould_keeps_its_size_and_the_same_bytes():
    again = make_mould(layout(), MouldChoices())
    assert (again.width, again.depth) == (300.0, 300.0)
    assert again.surface.z.tobytes() == mould().surface.z.tobytes()
    assert again.vents == mould().vents
    assert again.surface.grid.bounds[2] >= 300.0 - 1e-9
