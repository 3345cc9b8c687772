"""What holds for every layout, mould and dummy, whatever the sheath."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.tooling.layout import lay_out
from chape.tooling.model import BlankChoices
from chape.tooling.mould import scaled_surface
from chape.tooling.nesting import usable
from plain_sheath import plain_sheath
from whole import remade, whole

SPACING = 1.0


def volume(field):
    return float(field.z.sum()) * field.grid.spacing**2


def bare(layout):
    """The formed blank without locators and mark."""
    z = layout.formed.z.copy()
    grid = layout.formed.grid
    px, py = grid.mesh()
    for x, y, radius, _ in layout.locators:
        z[np.hypot(px - x, py - y) <= radius + SPACING] = 0.0
    if layout.front_mark is not None:
        x, y, half_x, half_y = layout.front_mark
        z[(np.abs(px - x) <= half_x + 4) & (np.abs(py - y) <= half_y + 4)] = 0.0
    return layout.formed.with_z(z)


@settings(max_examples=12, deadline=None)
@given(
    copies=st.integers(1, 6),
    width=st.floats(380, 620),
    depth=st.floats(380, 500),
    border=st.floats(0, 20),
    gap=st.floats(4, 12),
)
def test_copies_keep_their_distance_and_their_volume(copies, width, depth, border, gap):
    sheath = plain_sheath(SPACING)
    blank = BlankChoices(width=width, depth=depth, copies=copies, clamp_border=border, gap=gap)
    layout = lay_out(sheath, blank)
    outlines = [pattern.polygon(0.002) for pattern in layout.patterns]
    areas = [outline.area for outline in outlines]
    assert areas == pytest.approx([areas[0]] * copies)
    for one, other in combinations(outlines, 2):
        assert one.distance(other) >= gap
    wide, deep = usable(blank)
    for outline in outlines:
        x_min, y_min, x_max, y_max = outline.bounds
        assert x_min >= border - 1e-6
        assert y_min >= border - 1e-6
        assert x_max <= border + wide + 1e-6
        assert y_max <= border + deep + 1e-6
    assert volume(bare(layout)) == pytest.approx(copies * volume(whole(sheath).formed), rel=1e-9)


@pytest.fixture(scope="module")
def layout():
    return lay_out(plain_sheath(SPACING), BlankChoices())


@settings(max_examples=10, deadline=None)
@given(shrink=st.floats(-0.02, 0.02))
def test_a_scaled_mould_scales_its_volume_by_the_cube(layout, shrink):
    scaled = scaled_surface(layout, 1 + shrink)
    assert volume(scaled) == pytest.approx(volume(layout.formed) * (1 + shrink) ** 3, rel=1e-9)


def test_left_and_right_sheaths_lie_as_mirror_images():
    sheath = plain_sheath(SPACING)
    grid = whole(sheath).formed.grid
    lop = np.where(grid.mesh()[1] > 0, 1.0, 0.6)
    right = remade(sheath, formed=whole(sheath).formed.with_z(whole(sheath).formed.z * lop))
    left = remade(
        right,
        formed=whole(right).formed.with_z(whole(right).formed.z[::-1]),
        pattern=whole(right).pattern.mirrored(),
    )
    one, other = (lay_out(each, BlankChoices()) for each in (right, left))
    assert volume(bare(one)) == pytest.approx(volume(bare(other)), rel=1e-9)
