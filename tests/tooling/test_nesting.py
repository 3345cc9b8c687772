"""True shapes on a blank: no-fit shapes against an independent library, and what is laid."""

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from chape.errors import InputError
from chape.tooling.layout import lay_out
from chape.tooling.model import BlankChoices
from chape.tooling.nesting import Wanted, at_most, lay_all
from chape.tooling.no_fit import distances, no_fit
from chape.tooling.room import Room, Shape
from plain_sheath import plain_sheath

HOOK = shapely.Polygon([(0, 0), (60, 0), (60, 15), (15, 15), (15, 60), (0, 60)])
WEDGE = shapely.Polygon([(0, 0), (90, 0), (90, 24), (60, 40), (0, 12)])
CUP = shapely.Polygon(
    [(0, 0), (50, 0), (50, 50), (28, 50), (28, 40), (40, 40), (40, 10), (10, 10), (10, 40),
     (22, 40), (22, 50), (0, 50)]
)  # fmt: skip


def placed(shape, laid, step):
    turned = affinity.rotate(shape, 90 * laid.turns, origin=(0, 0))
    return affinity.translate(turned, laid.i * step, laid.j * step)


@pytest.mark.parametrize(("fixed", "moving"), [(HOOK, WEDGE), (WEDGE, HOOK), (HOOK, HOOK)])
def test_a_no_fit_shape_tells_the_distance_of_two_shapes(fixed, moving):
    """Against the distance of the polygons themselves, where they are clear of each other."""
    x, y = np.arange(-120.0, 120.0, 17.0), np.arange(-120.0, 120.0, 13.0)
    found = distances(no_fit(fixed, moving), x, y)
    for i, dx in enumerate(x):
        for j, dy in enumerate(y):
            true = fixed.distance(affinity.translate(moving, dx, dy))
            assert found[i, j] == pytest.approx(true, abs=1e-9)


def test_a_shape_may_lie_in_a_bay_it_cannot_be_slid_into():
    small = shapely.box(0, 0, 20, 20)
    place = no_fit(CUP, small)
    assert distances(place, np.array([15.0]), np.array([15.0]))[0, 0] == pytest.approx(5.0)
    assert (
        distances(no_fit(shapely.box(0, 0, 50, 50), small), np.array([15.0]), np.array([15.0])) == 0
    )


@pytest.mark.parametrize("bad", [
    shapely.Polygon(), shapely.Polygon([(0, 0), (9, 9), (9, 0), (0, 9)]),
    shapely.box(0, 0, 9, 9).difference(shapely.box(3, 3, 6, 6)),
])  # fmt: skip
def test_what_is_no_simple_shape_is_refused(bad):
    with pytest.raises(InputError):
        no_fit(bad, HOOK)


@settings(max_examples=8, deadline=None)
@given(
    counts=st.tuples(st.integers(1, 3), st.integers(0, 3)),
    gap=st.sampled_from([2.0, 6.0]),
    quarter=st.integers(0, 3),
)
def test_no_two_outlines_lie_nearer_than_the_gap(counts, gap, quarter):
    shapes = [Shape(affinity.rotate(s, 90 * quarter), s.buffer(-4), 5.0) for s in (HOOK, WEDGE)]
    shapes = [Shape(s.outline, affinity.rotate(s.raised, 90 * quarter), 5.0) for s in shapes]
    blank = BlankChoices(width=240, depth=200, clamp_border=5, gap=gap)
    room = Room(shapes, gap, 2.0, 2.0)
    laid = lay_all(room, blank, counts)
    assert laid is not None
    outlines = [placed(shapes[p.kind].outline, p, laid.step) for p in laid.laid]
    assert [sum(p.kind == n for p in laid.laid) for n in (0, 1)] == list(counts)
    assert all(a.distance(b) >= gap for a, b in combinations(outlines, 2))
    assert shapely.box(5, 5, 235, 195).covers(shapely.union_all(outlines))


def test_shapes_interlock_where_their_boxes_would_not_go():
    """Two hooks of 60 x 60 with arms of 15, 4 apart: nested corner to corner, or nose to tail."""
    room = Room([Shape(HOOK, HOOK.buffer(-4), 2.0)], 4.0, 2.0, 1.0)
    blank = BlankChoices(width=84, depth=84, clamp_border=0, gap=4)
    laid = lay_all(room, blank, [2])
    assert laid is not None
    assert at_most(Wanted((Shape(HOOK, HOOK, 2.0),), (2,), 2), blank) >= 2


def test_mirrored_shapes_go_on_the_mirrored_blank():
    """What goes on a blank goes, mirrored, on the blank with its sides exchanged."""
    turned = affinity.scale(HOOK, xfact=-1, origin=(0, 0))
    for outline, size in ((HOOK, (150, 90)), (turned, (150, 90)), (turned, (90, 150))):
        room = Room([Shape(outline, outline.buffer(-4), 2.0)], 4.0, 2.0, 1.0)
        blank = BlankChoices(width=size[0], depth=size[1], clamp_border=0, gap=4)
        assert lay_all(room, blank, [4]) is not None


def test_nothing_lies_beyond_the_bound_of_area():
    shape = Shape(shapely.box(0, 0, 50, 50), shapely.box(5, 5, 45, 45), 3.0)
    blank = BlankChoices(width=116, depth=116, clamp_border=0, gap=8)
    room = Room([shape], 8.0, 2.0, 1.0)
    most = at_most(Wanted((shape,), (4,), 4), blank)
    assert most == 4
    assert lay_all(room, blank, [4]) is not None
    assert lay_all(room, blank, [5], rounds=0) is None


def test_several_sheaths_lie_on_one_blank():
    sheath = plain_sheath(1.0)
    layout = lay_out(sheath, BlankChoices(width=320, depth=320, copies=2), [(sheath, 2)])
    assert [part.sheath for part in sorted(layout.parts, key=lambda p: p.sheath)] == [0, 0, 1, 1]
    assert layout.copies == 4
    outlines = [pattern.polygon(0.002) for pattern in layout.patterns]
    assert min(a.distance(b) for a, b in combinations(outlines, 2)) >= 8.0


def test_sheaths_of_two_grids_do_not_share_a_blank():
    with pytest.raises(InputError, match=r"grid of 0\.5 mm"):
        lay_out(plain_sheath(1.0), BlankChoices(), [(plain_sheath(0.5), 1)])
