"""Gauges measure what they say, and drill guides stand where the holes are."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from chape.field.drilled import genus
from chape.field.envelope import Body, dilate
from chape.field.extruded import plate
from chape.sheath.model import HoleUse
from chape.tooling import drill_guide
from chape.tooling.fold_gauge import AROUND, make_fold_gauge
from chape.tooling.gauges import check_gauges, make_gauges
from chape.tooling.mouth_gauge import make_mouth_gauge, opening_at
from specimens import camp_sheath, slender_sheath
from whole import whole

SHEATHS = pytest.mark.parametrize("sheath", [camp_sheath, slender_sheath], ids=["camp", "slender"])


@SHEATHS
def test_the_go_end_goes_in_and_the_no_go_end_does_not(sheath):
    made = sheath()
    gauge = make_mouth_gauge(made, 0.1)
    y, inside = opening_at(made, gauge.x)
    grid = gauge.half.grid

    def end(x):
        return gauge.half.at(np.column_stack([np.full_like(y, x), y]))

    go, no_go = end(10.0), end(grid.bounds[2] - 10.0)
    assert (go <= inside + 1e-9).all()
    assert (no_go > inside + 0.01).any()
    assert 2 * inside.max() == pytest.approx(gauge.opening, abs=1e-9)
    assert 2 * go.max() == pytest.approx(gauge.go, abs=1e-6)
    assert gauge.go < gauge.opening < gauge.no_go
    assert gauge.go >= gauge.knife


def test_where_knives_vary_more_than_the_mouth_gives_no_gauge_is_made():
    gauges = make_gauges(camp_sheath(), 3.0)
    assert gauges.mouth is None
    assert [finding.code for finding in check_gauges(gauges)] == ["mouth-gauge-none"]
    assert check_gauges(make_gauges(camp_sheath(), 0.1)) == ()


@SHEATHS
def test_a_slot_of_the_fold_gauge_is_as_wide_as_its_measure(sheath):
    gauge = make_fold_gauge(sheath())
    x_min, y_min, x_max, y_max = gauge.shape.bounds
    for level, widths in (
        (y_max - AROUND / 4, [measure.go for measure in gauge.measures]),
        (y_min + AROUND / 4, [measure.no_go for measure in gauge.measures]),
    ):
        line = shapely.LineString([(x_min, level), (x_max, level)])
        gaps = [g.length for g in shapely.get_parts(line.difference(gauge.shape)) if g.length > 2]
        assert gaps == pytest.approx(widths, abs=0.02)
    fold = sheath().fold
    for measure in gauge.measures[:-1]:
        radius = np.interp(measure.x, fold.x, fold.height)
        assert measure.nominal == pytest.approx(2 * (radius + fold.gauge))


@SHEATHS
def test_a_drill_guide_has_a_pilot_at_every_rivet_and_clears_the_formed_sheet(sheath):
    made = sheath()
    guides = make_gauges(made, 0.1).guides
    assert sorted(guide.name for guide in guides) == ["back", "front"]
    piece = whole(made)
    rivets = sorted((h.u, h.v) for h in piece.holes if h.use is not HoleUse.DRAIN)
    assert sorted(place for guide in guides for place in guide.holes) == rivets
    outer = dilate(piece.formed, Body.ball(2.0))
    flat = outer.z.min()
    for guide in guides:
        x, y = piece.formed.grid.mesh()
        under = shapely.contains_xy(guide.shape, x, y)
        assert float((outer.z[under] - flat).max()) < 0.15
        solid = plate(guide.shape, 0.0, drill_guide.THICKNESS)
        assert genus(solid) == len(guide.holes)
        assert solid.volume == pytest.approx(guide.shape.area * drill_guide.THICKNESS, rel=1e-6)
        for place in guide.holes:
            ring = guide.shape.distance(shapely.Point(place))
            assert ring == pytest.approx(drill_guide.PILOT / 2, abs=0.01)


def test_a_plate_is_its_area_times_its_thickness():
    shape = shapely.box(0, 0, 30, 20).difference(shapely.Point(15, 10).buffer(4))
    solid = plate(shape, -1.0, 3.0)
    assert solid.volume == pytest.approx(4 * shape.area)
    assert genus(solid) == 1
    with pytest.raises(ValueError, match="no thickness"):
        plate(shape, 1.0, 1.0)
    with pytest.raises(ValueError, match="needs a shape"):
        plate(shapely.Polygon(), 0.0, 1.0)
