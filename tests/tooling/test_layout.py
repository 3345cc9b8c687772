from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely

from chape.errors import CannotMakeError, InputError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.check import check_layout
from chape.tooling.layout import lay_out, turned_field
from chape.tooling.marks import Rim
from chape.tooling.model import BlankChoices
from plain_sheath import plain_sheath
from whole import remade, whole


def four_up(spacing=0.5):
    return lay_out(plain_sheath(spacing), BlankChoices())


def test_four_sheaths_lie_as_a_pinwheel_on_a_300_mm_blank():
    layout = four_up()
    assert sorted(part.place.quarter_turns for part in layout.parts) == [0, 1, 2, 3]


def test_outlines_keep_gap_and_border():
    layout = four_up()
    outlines = [pattern.polygon(0.002) for pattern in layout.patterns]
    assert min(a.distance(b) for a, b in combinations(outlines, 2)) >= 8.0
    x_min, y_min, x_max, y_max = shapely.union_all(outlines).bounds
    assert min(x_min, y_min, 300 - x_max, 300 - y_max) >= 8.0 - 1e-6


def test_each_copy_is_the_sheath_node_for_node():
    layout = four_up()
    grid = layout.formed.grid
    for part in layout.parts:
        place, pattern = part.place, part.pattern
        z, x, y = turned_field(layout.piece_of(part).formed, place.quarter_turns)
        i = round((x + place.x - grid.x0) / grid.spacing)
        j = round((y + place.y - grid.y0) / grid.spacing)
        px, py = grid.mesh()
        rows, columns = np.nonzero(shapely.contains_xy(pattern.polygon(0.01), px, py))
        assert len(rows) > 1000
        assert np.array_equal(layout.formed.z[rows, columns], z[rows - j, columns - i])


@pytest.mark.parametrize("turns", range(4))
def test_a_turned_field_agrees_with_a_turned_point(turns):
    field = HeightField.of(Grid.over(-2, -1, 3, 5, 0.5), lambda x, y: x + 10 * y)
    z, x0, y0 = turned_field(field, turns)
    x, y = 2.0, 3.5
    for _ in range(turns):
        x, y = -y, x
    assert z[round((y - y0) / 0.5), round((x - x0) / 0.5)] == 2.0 + 35.0


def test_too_many_copies_says_how_many_fit_and_what_would_do():
    with pytest.raises(CannotMakeError) as caught:
        lay_out(plain_sheath(1.0), BlankChoices(copies=5))
    text = str(caught.value)
    assert "4 of them fit (" in text
    assert "by their area" in text or "proved" in text
    width, depth = (
        float(part) for part in text.split("at least ")[1].split(" mm,", maxsplit=1)[0].split(" x ")
    )
    lay_out(plain_sheath(1.0), BlankChoices(copies=5, width=width, depth=depth))


def test_a_blank_too_small_for_one():
    with pytest.raises(CannotMakeError, match="one sheath does not fit"):
        lay_out(plain_sheath(), BlankChoices(width=120, depth=120, copies=1))


def test_a_blank_smaller_than_its_border():
    with pytest.raises(InputError, match="leaves nothing"):
        lay_out(plain_sheath(), BlankChoices(width=15, depth=300, clamp_border=8))


def test_no_copies_at_all_is_refused_by_the_choices():
    with pytest.raises(ValueError, match="copies"):
        BlankChoices(copies=0)


def test_a_sheath_below_its_flange_plane_is_refused():
    sheath = plain_sheath()
    sunk = remade(sheath, formed=whole(sheath).formed.with_z(whole(sheath).formed.z - 0.5))
    with pytest.raises(CannotMakeError, match="below its flange plane"):
        lay_out(sunk, BlankChoices())


def test_the_same_layout_every_time():
    one, other = four_up(), four_up()
    assert [part.place for part in one.parts] == [part.place for part in other.parts]
    assert one.formed.z.tobytes() == other.formed.z.tobytes()


def test_locators_stand_free_and_one_is_different():
    layout = four_up()
    assert len(layout.locators) == 4
    assert layout.locators[0][2] > max(radius for _, _, radius, _ in layout.locators[1:])
    outlines = shapely.union_all([pattern.polygon(0.01) for pattern in layout.patterns])
    for x, y, radius, height in layout.locators:
        assert outlines.distance(shapely.Point(x, y)) >= radius
        assert layout.formed.at(np.array([[x, y]]))[0] == pytest.approx(height)
    assert layout.front_mark is not None


def test_a_locator_rim_is_smooth_and_no_sharper_than_its_fillet():
    rim = Rim.of(3.0, 2.5)
    d = np.linspace(-0.5, rim.run, 4001)
    z = rim.heights(d)
    slope = np.gradient(z, d)
    assert z[0] == pytest.approx(3.0)
    assert z[-1] == pytest.approx(0.0, abs=1e-9)
    assert np.abs(np.diff(slope)).max() < 0.1  # no crease
    assert np.abs(slope).max() == pytest.approx(np.tan(np.radians(70)), rel=1e-2)


def test_raised_parts_nearer_than_their_rule_are_reported():
    layout = four_up()
    (sheath,) = layout.sheaths
    tall = remade(sheath, formed=whole(sheath).formed.with_z(8 * whole(sheath).formed.z))
    codes = {finding.code for finding in check_layout(replace(layout, sheaths=(tall,)))}
    assert "web-distance-low" in codes


def test_outlines_moved_too_near_are_reported():
    layout = four_up()
    first, *others = layout.parts
    near = min(others, key=lambda part: part.pattern.polygon().distance(first.pattern.polygon()))
    x, y = (np.array(near.pattern.bounds) - np.array(first.pattern.bounds)).reshape(2, 2).mean(0)
    away = first.pattern.polygon().distance(near.pattern.polygon()) - 4.0
    move = away / np.hypot(x, y) * np.array([x, y])
    moved = replace(first, pattern=first.pattern.moved(*(1.6 * move)))
    codes = {finding.code for finding in check_layout(replace(layout, parts=(moved, *others)))}
    assert "outlines-too-near" in codes


def test_missing_marks_and_raised_border_are_reported():
    layout = four_up()
    z = layout.formed.z.copy()
    z[4, :] = 1.0
    bad = replace(layout, locators=(), front_mark=None, formed=layout.formed.with_z(z))
    codes = {finding.code for finding in check_layout(bad)}
    assert {"corner-locator-missing", "front-mark-missing", "raised-in-border"} <= codes
