"""The example of a traced knife does what its files say, from either drawing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from chape.findings import errors
from chape.knife.check import check_knife
from chape.knife.read import read_knife
from chape.pipeline.file import read_request
from chape.sheath.check import check_sheath
from chape.sheath.design import design_sheath
from whole import whole

EXAMPLE = Path(__file__).parents[2] / "examples" / "drawn-knife"

COARSE = 0.8


@pytest.fixture(scope="module")
def traced():
    return read_knife(EXAMPLE / "knife.toml", COARSE)


def test_both_drawings_hold_the_same_knife(traced, tmp_path):
    for file in EXAMPLE.iterdir():
        (tmp_path / file.name).write_bytes(file.read_bytes())
    other = tmp_path / "knife.toml"
    other.write_text(other.read_text().replace('"plover.svg"', '"plover.dxf"'))
    from_dxf = read_knife(other, COARSE)
    # Each drawing's curves are followed to 0.01 mm; at an upright rim that moves heights by more.
    assert from_dxf.outline.hausdorff_distance(traced.outline) < 0.03
    assert np.abs(from_dxf.half.z - traced.half.z).mean() < 0.001


def test_the_sheath_reaches_over_the_handle_as_far_as_its_file_says(traced):
    request = read_request(EXAMPLE / "sheath.toml")
    choices = request.file.sheath.model_copy(update={"spacing": COARSE})
    sheath = design_sheath(traced, choices, request.catalog)
    assert not errors((*check_knife(traced), *check_sheath(sheath)))
    # The blade of 94.5 mm and the wrap of 28 mm.
    assert sheath.mouth_x == pytest.approx(122.5)
    assert whole(sheath).pattern.polygon().bounds[2] == pytest.approx(
        122.5 + sheath.choices.thumb_ramp.height, abs=0.01
    )
