"""The camp knife drawn from its sheath, coarsely: what must hold for every sheath."""

from __future__ import annotations

import pickle
from dataclasses import replace
from functools import cache
from math import cos, radians, sin

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError
from chape.fit.condensed import condensed
from chape.fit.held import Grip, Spots
from chape.fit.model import Conditions
from chape.fit.near import SPACING, Near, near
from chape.fit.pull import (
    draw_curve,
    pull_model,
    with_gauge,
    with_surface,
)
from chape.fit.step import locking_slope, mating_factor, step, untouched
from chape.sheath.design import design_sheath
from chape.solve.contact import Compliance, Points
from specimens import camp_knife, camp_sheath
from whole import whole

COARSE, MESH = 0.8, 4.0
PLAIN = Conditions(friction=0.25, modulus=2300.0)


@cache
def sheath(snap_depth):
    base = camp_sheath(COARSE)
    choices = base.choices.model_copy(update={"snap_depth": snap_depth})
    return base if snap_depth == 0.6 else design_sheath(base.knife, choices, catalog())


@cache
def model(snap_depth=0.6):
    return pull_model(sheath(snap_depth), MESH)


@cache
def curve(snap_depth=0.6, friction=0.25, steps=20):
    return draw_curve(model(snap_depth), replace(PLAIN, friction=friction), steps)


def test_a_free_draw_takes_no_force():
    assert curve(0.0).peak == 0.0
    assert curve(0.0).push_peak == 0.0
    assert np.isnan(curve(0.0).contact_low).all()


def test_the_deeper_it_snaps_the_harder_it_holds():
    peaks = [curve(depth).peak for depth in (0.0, 0.45, 0.6, 0.8)]
    assert (np.diff(peaks) > 5.0).all()


def test_the_demo_holds_as_a_sheath_should():
    found = curve()
    assert 20.0 < found.peak < 60.0
    assert found.pull[0] == 0.0, "at home nothing presses"
    assert found.pull[-1] == pytest.approx(0.0, abs=0.1), "drawn, nothing presses any more"
    touching = ~np.isnan(found.contact_low)
    assert found.contact_low[touching].min() > 115.0, "the blade is never touched"
    assert found.contact_high[touching].max() <= sheath(0.6).mouth_x
    # The guard must pass 0.35 mm of undercut a side: 0.6 less the clearance over the handle.
    assert 0.3 < found.opening.max() < 0.6
    limit = sheath(0.6).sheet.strain_limit.value
    assert 0 < found.strain_fold.max() < limit
    assert 0 < found.strain_eyelets.max() < limit


def test_nothing_pulls_at_the_contact():
    found = curve()
    assert (found.contact.pressure >= 0).all()
    assert (found.spread >= 0).all()
    assert found.contact.at_peak.max() > 0


def test_without_friction_the_work_put_in_is_held_and_given_back():
    found = curve(0.8, friction=0.0, steps=120)
    work = np.concatenate(
        [[0.0], np.cumsum((found.pull[1:] + found.pull[:-1]) / 2 * np.diff(found.travel))]
    )
    most = found.energy.max()
    assert np.abs(work - found.energy).max() < 0.05 * most
    assert abs(work[-1]) < 0.03 * most
    assert found.push == pytest.approx(-found.pull, abs=1e-6), "the same way back"


def test_friction_costs_work_both_ways():
    found = curve()
    assert found.work > 0
    back = float(np.trapezoid(found.push, found.travel))
    assert back > 0
    assert curve(friction=0.35).peak > found.peak > curve(friction=0.15).peak


def test_forces_are_in_proportion_to_the_modulus():
    twice = draw_curve(model(), replace(PLAIN, modulus=4600.0), 20)
    assert twice.pull == pytest.approx(2 * curve().pull)
    assert twice.opening == pytest.approx(curve().opening)


def test_the_condensed_model_gives_the_same_hold():
    small = pickle.loads(pickle.dumps(condensed(model())))  # noqa: S301 - our own, just packed
    for changed in (
        {},
        {"friction": 0.35},
        {"swell": 0.1},
        {"swell": -0.1},
        {"across": 0.3},
        {"modulus": 1500.0},
        {"gauge_factor": 0.92},
        {"gauge_factor": 1.08},
    ):
        here = replace(PLAIN, **changed)
        assert small.peak(here) == pytest.approx(draw_curve(model(), here, 40).peak, rel=0.04)
    assert small.peak(replace(PLAIN, swell=-0.5)) == 0.0, "a thin handle is not held"
    free = condensed(model(0.0))
    assert free.peak(PLAIN) == 0.0
    assert free.peak(replace(PLAIN, swell=0.4)) > 0, "a thick one is, even by a free draw"
    assert 1.5 < small.gauge_power < 3.0


def test_another_depth_on_the_same_compliance():
    shared = with_surface(model(), sheath(0.8))
    assert draw_curve(shared, PLAIN, 20).peak == pytest.approx(curve(0.8).peak, rel=0.06)


def test_a_thicker_sheet_holds_harder():
    thicker = draw_curve(with_gauge(model(), 1.1), PLAIN, 20).peak
    assert 1.1 < thicker / curve().peak < 1.1**3
    same = draw_curve(model(), replace(PLAIN, gauge_factor=1.1), 20).peak
    assert same == pytest.approx(thicker)


def test_a_sheet_formed_thinner_over_the_handle_holds_less():
    base = sheath(0.6)
    x, _ = whole(base).formed.grid.mesh()
    even = whole(base).formed.with_z(np.full(x.shape, 2.0))
    thin = whole(base).formed.with_z(np.where(x > 110, 1.7, 2.0))
    same = draw_curve(pull_model(base, MESH, even), PLAIN, 10)
    assert same.pull == pytest.approx(draw_curve(model(), PLAIN, 10).pull)
    assert draw_curve(pull_model(base, MESH, thin), PLAIN, 10).peak < 0.9 * same.peak
    gone = whole(base).formed.with_z(np.where(x > 110, 0.0, 2.0))
    with pytest.raises(CannotMakeError, match="holds nothing"):
        pull_model(base, MESH, gone)


@pytest.mark.parametrize("depth", [0.45, 0.6, 0.8])
def test_the_mesh_is_fine_enough(depth):
    """At 2 mm the peak is near that of a finer mesh: the long study is in the benchmarks."""
    two, finer = (draw_curve(pull_model(sheath(depth), m), PLAIN, 12).peak for m in (2.0, 1.5))
    assert two == pytest.approx(finer, rel=0.1)


@pytest.mark.parametrize(
    ("friction", "slope", "wanted"),
    [
        (0.2, 30.0, 0.87883),
        (0.3, 30.0, 1.06115),
        (0.3, 45.0, 1.85714),
        (0.6, 30.0, 1.80136),
        (0.5, 45.0, 3.00000),
        (0.2, 60.0, 2.95606),
    ],
)
def test_the_mating_factor(friction, slope, wanted):
    """Malloy, Plastic Part Design for Injection Molding; Bonenberger, First Snap-Fit Handbook."""
    assert mating_factor(friction, slope) == pytest.approx(wanted, abs=1e-5)
    assert wedge(friction, slope).along == pytest.approx(
        2 * wanted * STIFF * INTERFERENCE, rel=1e-5
    )


def test_mating_forces_of_a_design_guide():
    """A polymer maker's snap-fit guide, calculation example 1, from memory: 58.6 and 22.14 N."""
    assert 32.526 * mating_factor(0.6, 30.0) == pytest.approx(58.591, rel=1e-4)
    assert 12.289 * mating_factor(0.6, 30.0) == pytest.approx(22.137, rel=1e-4)


@pytest.mark.parametrize(
    ("friction", "wanted"), [(0.2, 78.690), (0.3, 73.301), (0.5, 63.435), (0.6, 59.036)]
)
def test_slopes_that_lock(friction, wanted):
    """tan a = 1 / mu, the same sources."""
    assert locking_slope(friction) == pytest.approx(wanted, abs=1e-3)
    assert mating_factor(friction, wanted + 0.01) == np.inf
    assert np.isfinite(wedge(friction, wanted - 1.0).along)
    assert wedge(friction, wanted + 1.0).along == np.inf


STIFF, INTERFERENCE = 12.0, 0.3


def wedge(friction, slope):
    """A slope under one spring that moves across the draw only, as the pull's own step sees it."""
    a = radians(slope)
    nodes = SPACING * np.stack(np.meshgrid(*[np.arange(-6, 7)] * 3, indexing="ij"), axis=-1)
    nodes[..., 2] += 6 * SPACING
    distance = nodes[..., 2] * cos(a) + nodes[..., 0] * sin(a)
    # The plane runs through (0, 0, height); the spot hangs the interference below it.
    height = 4 * SPACING
    table = Near(distance - height * cos(a), nodes[0, 0, 0], 1e9)
    point = np.array([[0.1, 0.1, height - INTERFERENCE - 0.1 * np.tan(a)]])
    spots = Spots(point, np.ones(1), np.zeros((1, 1), dtype=np.int64), np.ones((1, 1)), np.ones(1))
    points = Points(spots.nodes, spots.weights, np.zeros(1))
    compliance = Compliance(None, 1)
    compliance.rows[2, 2], compliance.known[:] = 1 / STIFF, True
    grip = Grip(spots, np.zeros(1, dtype=np.int64), points, compliance)
    return step(grip, table, Conditions(friction, 1.0), 0.0, untouched(grip))


def test_the_table_knows_how_far_the_knife_is():
    """Against the triangles of the knife's own surface, where it is smooth."""
    knife = camp_knife(0.4)
    table = near(knife, 150.0)
    rng = np.random.default_rng(1)
    spots = rng.uniform([118, 4], [148, 22], size=(300, 2))
    inner = knife.outline.buffer(-4)
    spots = spots[shapely.contains_xy(inner, spots[:, 0], spots[:, 1])]
    step_ = 0.4
    slope = np.column_stack([
        knife.half.at(spots + np.array([step_, 0])) - knife.half.at(spots - np.array([step_, 0])),
        knife.half.at(spots + np.array([0, step_])) - knife.half.at(spots - np.array([0, step_])),
    ]) / (2 * step_)  # fmt: skip
    normal = np.column_stack([-slope, np.ones(len(spots))])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    feet = np.column_stack([spots, knife.half.at(spots)])
    for off in (-0.4, 0.0, 0.3, 0.8):
        found, out = table.at(feet + off * normal, (0.0, 0.0), 0.0)
        assert found == pytest.approx(off, abs=0.03)
        assert (out * normal).sum(axis=1).min() > np.cos(radians(6))
    moved, _ = table.at(feet + np.array([3.0, -1.0, 0.0]), (3.0, -1.0), 0.2)
    assert moved == pytest.approx(-0.2, abs=0.03)
    below, down = table.at(feet * np.array([1, 1, -1]), (0.0, 0.0), 0.0)
    assert below == pytest.approx(0.0, abs=0.03)
    assert (down[:, 2] < 0).all()


def test_it_is_known_on_which_side_of_the_rim_a_point_lies():
    knife = camp_knife(0.4)
    table = near(knife, 150.0)
    for away in (0.4, 0.9):
        ring = shapely.get_coordinates(knife.outline.buffer(away).exterior)
        ring = ring[(ring[:, 0] > 5) & (ring[:, 0] < 145)]
        found, _ = table.at(np.column_stack([ring, np.zeros(len(ring))]), (0.0, 0.0), 0.0)
        assert found == pytest.approx(away, abs=0.12)
