"""The tooling of both demo sheaths, on a coarse grid."""

from functools import cache

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.findings import errors
from chape.tooling.check import check_tooling
from chape.tooling.fixture import make_fixture
from chape.tooling.gauges import make_dummy
from chape.tooling.layout import lay_out
from chape.tooling.model import FixtureChoices, MouldChoices
from chape.tooling.mould import make_mould
from specimens import CAMP_BLANK, camp_sheath, slender_sheath

SHEATHS = {"camp": camp_sheath, "slender": slender_sheath}


@cache
def tooling(name):
    layout = lay_out(SHEATHS[name](0.8), CAMP_BLANK)
    mould = make_mould(layout, MouldChoices())
    return layout, mould, make_fixture(layout, FixtureChoices(), catalog())


@pytest.mark.parametrize("name", SHEATHS)
def test_nothing_stops_its_programs(name):
    assert errors(check_tooling(*tooling(name))) == ()


@pytest.mark.parametrize("name", SHEATHS)
def test_every_raised_thing_lies_inside_the_border(name):
    layout, _, _ = tooling(name)
    x, y = layout.formed.grid.mesh()
    rim = np.minimum(np.minimum(x, 320 - x), np.minimum(y, 320 - y)) < 8 - 1e-6
    assert layout.formed.z[rim].max() < 0.05


@pytest.mark.parametrize("name", SHEATHS)
def test_screws_sit_on_level_flange(name):
    layout, _, fixture = tooling(name)
    flange = shapely.union_all([pattern.polygon() for pattern in layout.patterns])
    places = np.array([(fixture.inserts[k].x, fixture.inserts[k].y) for k in fixture.screws])
    assert len(places) == 16
    assert shapely.contains_xy(flange, places).all()
    assert fixture.seat.at(places) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", SHEATHS)
def test_its_dummy_lies_in_the_knife(name):
    knife = tooling(name)[0].sheaths[0].knife
    dummy = make_dummy(knife)
    assert (dummy.half.z <= knife.half.z).all()
    # Blade and handle are both there, but for the thin edge and the blade's tip.
    grid = dummy.half.grid
    length = np.flatnonzero(dummy.half.z.max(axis=0) > 0)
    assert grid.spacing * (length[-1] - length[0]) > 0.9 * knife.length
