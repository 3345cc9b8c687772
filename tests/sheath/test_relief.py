"""A fold that is cut away near the mouth."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError, InputError
from chape.findings import errors
from chape.sheath.check import check_sheath
from chape.sheath.closed import FAR, clearance, walls_of
from chape.sheath.design import design_sheath
from chape.sheath.folded import fold_back
from chape.sheath.model import FoldChoices, SheathChoices, Style
from chape.tolerances import FOLD_CLOSURE
from specimens import camp_knife, camp_sheath
from whole import whole

RELIEF = 28.0


def with_relief(length, knife=None):
    choices = camp_sheath(0.8).choices.model_copy(update={"fold": FoldChoices(relief=length)})
    return design_sheath(camp_knife(0.8) if knife is None else knife, choices, catalog())


@pytest.fixture(scope="module")
def sheath():
    return with_relief(RELIEF)


def test_the_pattern_has_a_notch_at_the_mouth(sheath):
    pattern = whole(sheath).pattern.polygon()
    start = sheath.mouth_x - RELIEF
    cut = pattern.intersection(shapely.LineString([(start + 5, 0.0), (sheath.mouth_x + 20, 0.0)]))
    assert cut.is_empty
    assert pattern.contains(shapely.Point(start - 3, 0.0))
    # Either half is there beside it, alike.
    depth = sheath.fold.line - sheath.fold.relief[1]
    for v in (-depth - 1, depth + 1):
        assert pattern.contains(shapely.Point(start + 10, v))
    assert errors(check_sheath(sheath)) == ()


def test_the_fold_closes_up_to_the_relief_and_lies_lower(sheath):
    stations = np.arange(whole(sheath).pattern.bounds[0], sheath.fold.relief[0], 2.0)
    closure = fold_back(sheath.fold, whole(sheath).formed, stations)
    assert np.hypot(closure.gap, closure.astray).max() < FOLD_CLOSURE
    assert sheath.fold.line < camp_sheath(0.8).fold.line
    assert sheath.fold.height.max() < camp_sheath(0.8).fold.height.max()


def test_nothing_is_near_where_the_fold_was(sheath):
    x, low = sheath.fold.relief
    there = np.array([[x + 8.0, low + 3.0, 1.0], [x - 8.0, sheath.fold.line - 4.0, 0.0]])
    gaps = clearance(walls_of(sheath), there)
    assert gaps[0] == FAR
    assert gaps[1] < FAR


def test_a_relief_keeps_off_the_blade():
    with pytest.raises(InputError, match="off the blade's spine"):
        with_relief(31.0)


def test_what_cannot_be_folded_says_what_would_do():
    knife = camp_knife(0.8)
    grid = knife.half.grid
    x, y = grid.mesh()
    bar = shapely.box(118.0, 8.0, 230.0, 18.0)
    blade = shapely.box(0.0, 0.0, 118.0, 30.0).intersection(knife.outline)
    half = np.where(shapely.contains_xy(bar, x, y), 40.0, np.where(x < 118, knife.half.z, 0.0))
    thick = replace(knife, half=knife.half.with_z(half), outline=bar.union(blade).buffer(0))
    with pytest.raises(CannotMakeError) as refused:
        design_sheath(thick, camp_sheath(0.8).choices, catalog())
    assert 'sheath.style = "paired"' in refused.value.mend
    assert "sheath.fold.relief" in refused.value.mend


def test_a_paired_sheath_has_no_fold_to_relieve():
    choices = SheathChoices(
        name="p", knife="p.toml", style=Style.PAIRED, fold=FoldChoices(relief=10.0)
    )
    with pytest.raises(InputError, match="no fold"):
        design_sheath(camp_knife(0.8), choices, catalog())
