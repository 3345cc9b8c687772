"""The sheet on a mould: laws it must keep, and what it must see."""

import numpy as np
import pytest

from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.forming.channel import gap_at_floor, narrowest_channel
from chape.forming.draping import drape

GRID = Grid.over(0.0, 0.0, 80.0, 80.0, 0.5)
PRESSURE = 0.08


def block(x, y):
    """A block of 24 mm with a drafted wall, 8 mm high, in the middle of the blank."""
    outside = np.maximum(np.abs(x - 40.0), np.abs(y - 40.0)) - 12.0
    return np.clip(8.0 - 5.0 * outside, 0.0, 8.0)


MOULD = HeightField.of(GRID, block)


def test_a_flat_mould_leaves_the_sheet_as_it_is():
    found = drape(HeightField.flat(GRID), PRESSURE, 5.0)
    assert found.thinnest == pytest.approx(1.0, abs=2e-3)
    assert found.draw_ratio == pytest.approx(1.0, abs=2e-3)
    assert found.webs == found.bridges == ()


def test_a_block_thins_the_sheet_at_its_walls_and_loses_none_of_it():
    found = drape(MOULD, PRESSURE, 5.0)
    assert found.volume_error < 1e-12
    assert found.least < found.thinnest < 0.9
    middle = found.kept.at(np.array([[40.0, 40.0], [40.0, 54.5], [6.0, 6.0]]))
    assert middle[0] > 0.95
    assert middle[1] < middle[0]
    assert 1.0 < found.draw_ratio < 1.5
    # Under the tent of the sheet before it is drawn down.
    assert 0.005 < found.trapped < 0.03


def test_the_mirrored_mould_gives_the_mirrored_sheet():
    """The nodes' diagonals alternate, so a mirror image differs by their pattern alone."""
    corner = HeightField.of(GRID, lambda x, y: block(x + 8.0, y))
    mirror = HeightField.of(GRID, lambda x, y: block(80.0 - x + 8.0, y))
    first, second = drape(corner, PRESSURE, 5.0), drape(mirror, PRESSURE, 5.0)
    assert first.thinnest == pytest.approx(second.thinnest, abs=0.01)
    apart = np.abs(first.kept.z - second.kept.z[:, ::-1])
    assert np.quantile(apart, 0.95) < 0.02


def test_the_trusted_figure_hardly_moves_with_the_nodes_and_the_pace():
    coarse, fine = drape(MOULD, PRESSURE, 5.0, 4.0), drape(MOULD, PRESSURE, 5.0, 2.0)
    slow = drape(MOULD, PRESSURE, 5.0, 2.0, slowness=3)
    assert coarse.thinnest == pytest.approx(fine.thinnest, abs=0.04)
    assert slow.thinnest == pytest.approx(fine.thinnest, rel=0.02)


def test_a_stiff_sheet_bridges_and_a_soft_one_gets_down():
    stiff, soft = drape(MOULD, 0.02, 5.0), drape(MOULD, 0.5, 5.0)
    assert stiff.bridges
    assert stiff.bridges[0].worst > 0.5
    assert sum(place.area for place in soft.bridges) < 0.2 * sum(p.area for p in stiff.bridges)


def test_corners_push_the_sheet_together():
    assert drape(MOULD, PRESSURE, 5.0).webs


def test_a_frame_that_covers_the_blank_is_refused():
    with pytest.raises(CannotMakeError, match="40 mm"):
        drape(MOULD, PRESSURE, 40.0)


def test_the_narrowest_channel_is_where_the_sheet_just_gets_down():
    width = narrowest_channel(6.0, 8.0, PRESSURE)
    assert gap_at_floor(width, 6.0, 8.0, PRESSURE) <= 0.2
    assert gap_at_floor(width - 1.0, 6.0, 8.0, PRESSURE) > 0.2
    assert narrowest_channel(6.0, 8.0, 2 * PRESSURE) < width
