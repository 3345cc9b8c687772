"""Whether a customer's knife fits a sheath from the shelf."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from shapely import affinity

from chape.findings import errors
from chape.fit.check_stock import check_stock
from chape.fit.stock import moved, stock_fit
from chape.knife.compare import Placement
from specimens import camp_knife, camp_sheath

SPACING, MARGIN = 0.8, 0.2


@cache
def own():
    return stock_fit(camp_sheath(SPACING), camp_knife(SPACING))


def thicker(factor, where):
    knife = camp_knife(SPACING)
    x, _ = knife.half.grid.mesh()
    return replace(knife, half=knife.half.with_z(knife.half.z * np.where(where(x), factor, 1.0)))


def codes(fit):
    return {finding.code for finding in check_stock(fit, MARGIN)}


def test_the_sheaths_own_knife_fits():
    fit = own()
    assert (fit.placement.x, fit.placement.y, fit.placement.turn) == pytest.approx((0, 0, 0))
    assert fit.room.min() > -0.05
    assert fit.lift == fit.lift_own > 0
    assert codes(fit) == {"stock-fits"}


def test_a_knife_measured_in_another_frame_is_laid_in():
    place = Placement(3.0, -2.0, 0.03)
    fit = stock_fit(camp_sheath(SPACING), moved(camp_knife(SPACING), place))
    assert fit.placement.turn == pytest.approx(-0.03, abs=2e-3)
    knife = camp_knife(SPACING)
    assert fit.sheath.knife.outline.hausdorff_distance(knife.outline) < 0.3
    assert codes(fit) == {"stock-fits"}


def test_a_thicker_handle_presses_where_it_is_thicker():
    fit = stock_fit(camp_sheath(SPACING), thicker(1.08, lambda x: x > 117))
    found = check_stock(fit, MARGIN)
    tight = [finding for finding in found if finding.code == "stock-too-tight"]
    assert fit.points[fit.tightest, 0] > 115
    assert "handle" in tight[0].place
    assert "stock-stiff" in codes(fit)
    assert fit.lift > 1.4 * fit.lift_own
    assert errors(found)


def test_every_place_where_it_presses_is_named():
    def where(x):
        return (np.abs(x - 50) < 12) | ((x > 117) & (x < 130))

    fit = stock_fit(camp_sheath(SPACING), thicker(1.5, where))
    places = fit.points[fit.pressed(0.2)]
    assert (np.abs(places[:, 0] - 50) < 15).any()
    assert (np.abs(places[:, 0] - 123) < 10).any()
    named = [each for each in check_stock(fit, MARGIN) if each.code == "stock-too-tight"]
    assert [each.measured for each in named] == sorted(
        (each.measured for each in named), reverse=True
    )
    assert len({each.place for each in named}) == len(named) >= 2
    for n, one in enumerate(places):
        assert all(np.hypot(*(one - other)[:2]) > 25 for other in places[:n])


def test_a_thinner_handle_is_held_looser():
    fit = stock_fit(camp_sheath(SPACING), thicker(0.96, lambda x: x > 117))
    assert codes(fit) == {"stock-loose"}


def test_a_wider_blade_brings_its_edge_too_near():
    knife = camp_knife(SPACING)
    low = affinity.scale(knife.outline, 1, 1.12, origin=(0, 30))
    band = affinity.scale(knife.edge_band, 1, 1.12, origin=(0, 30))
    grid = knife.half.grid
    x, y = grid.mesh()
    at = np.column_stack([x.ravel(), (30 + (y.ravel() - 30) / 1.12)])
    half = knife.half.with_z(knife.half.at(at).reshape(grid.shape))
    fit = stock_fit(camp_sheath(SPACING), replace(knife, outline=low, edge_band=band, half=half))
    assert "stock-edge-near" in codes(fit)


def test_a_poorly_measured_knife_is_not_let_through():
    """It goes in as measured, and whether it does in truth is said to be open."""
    vague = replace(camp_knife(SPACING), uncertainty=0.4)
    found = check_stock(stock_fit(camp_sheath(SPACING), vague), MARGIN)
    assert {finding.code for finding in errors(found)} == {"stock-unsure"}
    assert all(finding.measured > finding.limit for finding in found if "edge" not in finding.place)
