"""Every check passes the demos, and sees its own fault."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import Outline
from chape.findings import Severity, errors
from chape.sheath.check import check_sheath
from chape.sheath.closed import FAR, Walls, clearance
from chape.sheath.model import HoleUse
from specimens import camp_sheath, slender_sheath
from whole import remade, whole


@pytest.fixture(params=[camp_sheath, slender_sheath], ids=["camp", "slender"])
def sheath(request):
    return request.param()


def codes(sheath):
    return {finding.code for finding in check_sheath(sheath)}


def test_the_demos_pass(sheath):
    found = check_sheath(sheath)
    assert not errors(found)
    assert [f.severity for f in found] == sorted(
        (f.severity for f in found), key=list(Severity).index
    )


def test_distance_to_a_slope_and_to_the_fold_is_exact():
    grid = Grid(0.0, 0.0, 0.5, 41, 41)
    plane = HeightField.of(grid, lambda x, y: 1.0 + 2.0 * x + 0.5 * y)
    frame = np.array([0.0, 0.0, 0.5, 18.0])
    # No strip: y_e lies past the grid.
    walls = Walls(plane.z, frame, np.full(41, 99.0), np.full(41, 4.0))
    points = np.array([[10.0, 10.0, 24.0], [10.0, 10.0, 26.5], [18.5, 3.0, 0.0], [10.0, 10.0, 0.0]])
    distance = clearance(walls, points)
    assert distance[:2] == pytest.approx(np.array([2.0, -0.5]) / np.sqrt(1 + 4 + 0.25))
    assert (distance[2:] == FAR).all()
    folded = Walls(plane.z, frame, np.full(41, 8.0), np.full(41, 4.0))
    assert clearance(folded, np.array([[6.0, 10.0, 2.0]])) == pytest.approx(4.0 - np.hypot(2, 2))


def test_a_drawn_point_is_measured_where_it_has_got_to():
    grid = Grid(0.0, 0.0, 0.5, 41, 21)
    stepped = HeightField.of(grid, lambda x, _: np.where(x < 10, 5.0, 1.0))
    walls = Walls(stepped.z, np.array([0.0, 0.0, 0.5, 20.0]), np.full(41, 99.0), np.full(41, 1.0))
    point = np.array([[4.0, 5.0, 3.0]])
    assert clearance(walls, point, 0.0) == pytest.approx(2.0)
    assert clearance(walls, point, 10.0)[0] < 0


def test_a_cavity_that_is_too_low_is_seen():
    sheath = camp_sheath()
    low = remade(
        sheath, formed=whole(sheath).formed.with_z(np.maximum(whole(sheath).formed.z - 0.4, 0.0))
    )
    assert {"cavity-clearance-low", "fold-closure"} <= codes(low)


def test_a_fold_line_off_its_place_is_seen():
    sheath = camp_sheath()
    shifted = replace(sheath, fold=replace(sheath.fold, end=sheath.fold.end - 0.3))
    assert "fold-closure" in codes(shifted)


def test_a_sudden_change_of_the_fold_is_strained():
    sheath = camp_sheath()
    jump = np.where(sheath.fold.x > 60, 9.0, 2.0)
    assert "fold-strain-high" in codes(replace(sheath, fold=replace(sheath.fold, height=jump)))


def test_a_spine_far_from_the_fold_is_seen():
    sheath = camp_sheath()
    away = replace(sheath.fold, end=sheath.fold.end + 8.0)
    assert "spine-gap-wide" in codes(replace(sheath, fold=away))


def test_nothing_to_hold_is_said():
    sheath = camp_sheath()
    free = replace(sheath, envelope=sheath.cavity)
    assert "nothing-to-hold" in codes(free)
    assert "nothing-to-hold" not in codes(sheath)


def test_upright_and_deep_walls_are_seen():
    sheath = camp_sheath()
    high = remade(sheath, formed=whole(sheath).formed.with_z(3 * whole(sheath).formed.z))
    assert {"wall-draft-low", "draw-deep"} <= codes(high)


def moved(sheath, use, **more):
    holes = list(whole(sheath).holes)
    at = next(k for k, hole in enumerate(holes) if hole.use is use)
    holes[at] = replace(holes[at], **more)
    return remade(sheath, holes=tuple(holes))


def test_misplaced_rivets_are_seen():
    sheath = camp_sheath()
    first = next(hole for hole in whole(sheath).holes if hole.use is HoleUse.EYELET)
    off_edge = moved(sheath, HoleUse.EYELET, v=whole(sheath).pattern.bounds[1] + 4.0)
    assert {"rivet-margin-low", "rivet-edge-low"} <= codes(off_edge)
    assert "rivet-seat-uneven" in codes(moved(sheath, HoleUse.EYELET, v=first.v + 5.0))
    crowded = codes(moved(sheath, HoleUse.EYELET, u=whole(sheath).holes[1].u + 8.0))
    assert "rivets-close" in crowded
    apart = [h for h in whole(sheath).holes if h.use is not HoleUse.EYELET or not 40 < h.u < 70]
    assert "rivets-far" in codes(remade(sheath, holes=tuple(apart)))


def test_an_eyelet_that_cannot_clinch_is_seen():
    sheath = camp_sheath()

    def codes_at(gauge, lengths):
        thick = sheath.sheet.gauge.model_copy(update={"value": gauge})
        sheet = sheath.sheet.model_copy(update={"gauge": thick})
        return codes(replace(sheath, sheet=sheet, other_lengths=lengths))

    # Alone it clinches no 6.4 mm; another length of its family does, but none 10 mm.
    assert "rivet-grip" in codes_at(3.2, ())
    assert "eyelet-other-length" in codes_at(3.2, sheath.other_lengths)
    assert "rivet-grip" not in codes_at(3.2, sheath.other_lengths)
    assert "rivet-grip" in codes_at(5.0, sheath.other_lengths)


def test_a_drain_out_of_place_is_seen():
    sheath = camp_sheath()
    assert "drain-high" in codes(moved(sheath, HoleUse.DRAIN, u=20.0))
    covered = next(h for h in reversed(whole(sheath).holes) if h.use is HoleUse.EYELET and h.v < 0)
    under = moved(sheath, HoleUse.DRAIN, u=covered.u + 3.0, v=covered.v + 3.0)
    assert "drain-under-rivet" in codes(under)
    dry = tuple(hole for hole in whole(sheath).holes if hole.use is not HoleUse.DRAIN)
    assert "no-drain" in codes(remade(sheath, holes=dry))


def test_a_bad_outline_is_seen():
    sheath = camp_sheath()
    bow_tie = Outline(np.array([[0.0, -60], [150, 60], [150, -60], [0, 60]]), np.zeros(4))
    assert "outline-touches-itself" in codes(remade(sheath, pattern=bow_tie))
    points = np.array([[-20.0, -70], [170, -70], [170, 70], [82, 70], [78, 70], [-20, 70]])
    notched = Outline(points, np.array([0.0, 0, 0, -1.0, 0, 0]))
    assert "outline-corner-sharp" in codes(remade(sheath, pattern=notched))
