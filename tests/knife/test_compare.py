"""Two measurements of a knife laid over one another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity

from chape.knife.compare import Placement, best_fit, compare, signed_distance
from specimens import camp_knife


def test_a_placement_goes_there_and_back():
    place = Placement(3.0, -2.0, 0.4)
    points = np.array([[1.0, 2.0], [-4.0, 0.5]])
    assert np.allclose(place.back(place.of(points)), points)
    assert np.allclose(place.of(np.array([[1.0, 0.0]])), [[3 + np.cos(0.4), -2 + np.sin(0.4)]])


@pytest.mark.parametrize(("x", "y", "degrees"), [(0, 0, 0), (2, -1.5, 0.8), (-4, 3, -2.5)])
def test_the_best_fit_finds_how_an_outline_was_moved(x, y, degrees):
    knife = camp_knife(0.8)
    moved = affinity.translate(affinity.rotate(knife.outline, degrees, origin=(0, 0)), x, y)
    place = best_fit(knife.outline, moved)
    back = shapely.transform(moved, place.of)
    assert back.hausdorff_distance(knife.outline) < 0.002


def test_a_knife_is_like_itself():
    knife = camp_knife(0.8)
    seen = compare(knife, knife)
    assert seen.outline_off < 1e-6
    assert (seen.thicker, seen.thinner, seen.blade) == pytest.approx((0, 0, 0), abs=1e-9)
    assert np.abs(seen.thickness.z).max() < 1e-6
    assert 0.85 < seen.compared < 1
    assert seen.within(1e-6)


def test_differences_are_found_where_they_are():
    knife = camp_knife(0.4)
    x, _ = knife.half.grid.mesh()
    swell = (np.abs(x - 170) < 15) & (knife.half.z > 0)
    bump = shapely.Point(60, 29).buffer(2.0)
    other = replace(
        knife,
        half=knife.half.with_z(knife.half.z + np.where(swell, 0.2, 0.0)),
        outline=knife.outline.union(bump),
    )
    other = replace(other, blade_length=knife.blade_length + 1.5)
    seen = compare(knife, other)
    # The bump of 1 mm hardly pulls the rest of the outline along.
    assert seen.outline_off < 0.02
    assert seen.off[seen.worst] == pytest.approx(1.0, abs=0.15)
    assert seen.points[seen.worst] == pytest.approx([60, 31], abs=1.2)
    assert seen.most == pytest.approx(0.4, abs=0.03)
    assert abs(seen.most_at[0] - 170) < 15
    assert seen.thicker == pytest.approx(0.4, abs=0.03)
    assert seen.thinner < 0.05
    assert seen.blade == 1.5
    assert not seen.within(0.1)


def test_the_sign_of_a_distance():
    box = shapely.box(0, 0, 10, 10)
    assert signed_distance(box, np.array([[5.0, 12.0], [5.0, 9.0]])) == pytest.approx([2, -1])
