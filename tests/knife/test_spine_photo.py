"""Thickness from above the spine, against the rows the photograph was drawn from."""

from functools import cache

import numpy as np
import pytest

from chape.errors import InputError
from chape.knife.from_photo import Setting
from chape.knife.laying import Said, lay_outline
from chape.knife.measured import Measured
from chape.knife.picture import Picture
from chape.knife.spine_photo import spine_of_picture
from measured_camp import FOCAL_35, camp_ring, spine_pixels, thickness_of


def side(factor=1.0):
    laid = lay_outline(camp_ring() * factor, Said(blade_length=115.0 * factor))
    return Measured("photo", laid, Picture(spine_pixels(), None, None), lambda p: p, 0.0, 0.0)


@cache
def seen():
    picture = Picture(spine_pixels(), FOCAL_35, None)
    return spine_of_picture(picture, Setting(18.0, bar=200.0), side())


def test_thickness_is_seen_to_a_fifth_of_a_millimetre():
    for rows in (seen().spine_rows(115.0), seen().handle_rows(115.0, 230.0)):
        x, thickness = np.array(rows).T
        # At either end of a part the rows stand a little inside it.
        within = (x > 5) & (x < 225) & (np.abs(x - 115) > 4)
        assert thickness[within] == pytest.approx(thickness_of(x[within]), abs=0.2)
    assert seen().spine_rows(115.0)[0][0] == 0.0
    assert seen().handle_rows(115.0, 230.0)[-1][0] == 230.0


def test_the_blade_ends_where_the_knife_gets_thicker():
    assert seen().blade_end == pytest.approx(115.0, abs=1.0)


def test_both_lengths_are_told():
    remark = seen().remarks[-1]
    assert remark.code == "spine-length"
    assert seen().length == pytest.approx(230.0, abs=1.0)


def test_another_knife_is_refused():
    picture = Picture(spine_pixels(), FOCAL_35, None)
    with pytest.raises(InputError, match="mm long from above its spine"):
        spine_of_picture(picture, Setting(18.0, bar=200.0), side(0.8))
