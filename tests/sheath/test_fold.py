"""The fold line, and folding it back."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians, sqrt

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.sheath.fold import (
    Sections,
    apex,
    blended,
    fold_strain,
    handle_drop,
    line_needed,
    make_fold,
    strip_height,
    strip_width,
    wall_rise,
    wall_run,
)
from chape.sheath.folded import fold_back
from chape.sheath.model import Fold, SheathChoices
from specimens import camp_knife, camp_sheath

SHEET = catalog().sheet("acrylic-pvc-2.0")
T, K = SHEET.gauge.value, SHEET.k_factor.value


def choices_of(**more):
    return SheathChoices(**{"name": "a", "knife": "b", "spacing": 0.4, **more})


def corner(z, room=0.0, y=20.0):
    x = np.arange(0.0, 20.0, 0.5)
    table = np.ones((1, len(x)))
    return Sections(x, y * table, z * table, room * table)


@pytest.mark.parametrize("z", [2.5, 4.0])
def test_a_square_spine_is_folded_around_with_the_best_radius(z):
    # y_c = y - sqrt(g^2 - z^2) + (pi/2)(g + K t) is least where g = z / sqrt(1 - (2/pi)^2).
    g = z / sqrt(1 - (2 / pi) ** 2)
    exact = 20.0 - sqrt(g**2 - z**2) + pi / 2 * (g + K * T)
    choices = choices_of(fillet=12.0)  # so wide a fillet leaves a narrow U no chance
    found = line_needed(corner(z), np.full(40, g), SHEET, choices)
    assert found == pytest.approx(exact)
    height = strip_height(corner(z), SHEET, choices)
    best = line_needed(corner(z), height, SHEET, choices)
    assert exact - 1e-9 <= best.max() < exact + 0.02


def test_room_is_kept_square_to_the_fold():
    g = np.full(40, 6.0)
    line = line_needed(corner(3.0, room=0.5), g, SHEET, choices_of())
    end = line - pi / 2 * (6.0 + K * T)
    assert 6.0 - np.hypot(20.0 - end, 3.0) == pytest.approx(0.5)


def test_wall_and_run_are_inverse():
    rise = np.linspace(0.0, 12.0, 50)
    run = wall_run(rise, 3.0, radians(8.0))
    assert wall_rise(run, 3.0, radians(8.0)) == pytest.approx(rise)
    assert (np.diff(run) > 0).all()


def test_blend_is_smooth_and_nowhere_below():
    x = np.arange(0.0, 80.0, 0.4)
    wanted = np.where(x > 40, 9.0, 2.5)
    height = blended(wanted, x)
    assert (height >= wanted - 1e-9).all()
    assert np.abs(np.gradient(height, x)).max() <= 0.4 + 1e-6


def test_a_thick_handle_sits_lower_by_0_571_of_the_change():
    x = np.arange(0.0, 60.0, 0.5)
    height = np.interp(x, [20.0, 40.0], [3.0, 9.0])
    end = 30.0 - pi / 2 * (height + K * T)
    fold = Fold(30.0, x, height, end, K, T)
    assert handle_drop(fold) == pytest.approx((pi / 2 - 1) * 6.0)
    assert strip_width(fold) == pytest.approx(pi * (9.0 + K * T))
    # A fibre at the angle a: y' = g' (sin a - a cos a - (pi/2)(1 - cos a)),
    # z' = g' (cos a - (pi/2 - a) sin a); flat it climbs by g'.
    a = np.linspace(0.0, pi / 2, 500)
    across = np.sin(a) - a * np.cos(a) - pi / 2 * (1 - np.cos(a))
    up = np.cos(a) - (pi / 2 - a) * np.sin(a)
    exact = np.sqrt(1 + 0.09 * (across**2 + up**2)) / sqrt(1.09) - 1
    strain, place = fold_strain(fold)
    assert strain == pytest.approx(exact.min(), rel=0.03)
    assert 19.0 < place < 41.0
    level = Fold(30.0, x, np.full_like(x, 4.0), np.full_like(x, 20.0), K, T)
    assert fold_strain(level)[0] == pytest.approx(0.0, abs=1e-12)


def level_strip(height, line=20.0):
    """A plain strip, and the fold that belongs to it."""
    grid = Grid(-2.0, -20.0, 0.25, 80, 161)
    x = grid.x
    end = np.full(len(x), line - pi / 2 * (height + K * T))
    fold = Fold(line, x, np.full(len(x), height), end, K, T)
    return fold, HeightField.flat(grid, height)


def test_a_level_strip_folds_into_an_exact_quarter_circle():
    closure = fold_back(*level_strip(5.0), np.array([2.0, 8.0]))
    assert closure.gap == pytest.approx(0.0, abs=1e-9)
    assert closure.astray == pytest.approx(0.0, abs=1e-9)


def test_folding_back_sees_a_strip_of_the_wrong_height_or_length():
    fold, formed = level_strip(5.0)
    high = HeightField.flat(formed.grid, 5.2)
    assert fold_back(fold, high, np.array([4.0])).gap == pytest.approx(0.2)
    long = replace(fold, end=fold.end - 0.5)
    # Half a millimetre too long: the radius grows by 0.5 / (pi / 2).
    assert fold_back(long, formed, np.array([4.0])).gap == pytest.approx(-0.5 * 2 / pi, abs=1e-6)


def test_the_demo_keeps_every_section_inside():
    sheath = camp_sheath()
    fold = sheath.fold
    assert (fold.height >= T - 1e-9).all()
    on_knife = (fold.x > 62) & (fold.x < 96)
    assert (apex(fold)[on_knife] > sheath.knife.outline.bounds[3]).all()


def test_a_handle_thicker_than_high_cannot_be_folded_around():
    knife = camp_knife()
    x, y = knife.half.grid.mesh()
    bar = shapely.box(110.0, 8.0, 230.0, 18.0)
    half = np.where(shapely.contains_xy(bar, x, y), 40.0, 0.0)
    thick = replace(knife, half=knife.half.with_z(half), outline=bar)
    with pytest.raises(CannotMakeError, match=r"x = \d+ mm the knife is 80.0 mm thick"):
        make_fold(thick, choices_of(), SHEET, np.arange(0.0, 150.0, 0.4))
