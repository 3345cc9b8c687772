"""The example of a scanned knife gives the measures that its script wrote into it."""

from __future__ import annotations

import pytest

from chape.findings import Severity, errors
from chape.knife.check import check_knife
from chape.knife.read import read_knife
from chape.pipeline.file import read_request
from chape.sheath.check import check_sheath
from chape.sheath.design import design_sheath
from scanned import BEVEL, BLADE, EXAMPLE, LENGTH, SCRIPT

COARSE = 0.8


def test_the_scan_is_what_its_script_writes():
    assert (EXAMPLE / "heron.ply").read_bytes() == SCRIPT["scan"]()


def test_the_scan_gives_the_knife_it_was_made_of():
    knife = read_knife(EXAMPLE / "knife.toml", COARSE)
    # Noise of 0.02 mm stands out of the silhouette by a few times as much.
    assert knife.length == pytest.approx(LENGTH, abs=0.1)
    assert knife.blade_length == pytest.approx(BLADE, abs=0.2)
    assert knife.thickness == pytest.approx(18.45, abs=0.1)
    lower = knife.edge_band.bounds
    assert lower[2] == pytest.approx(knife.blade_length)
    found = check_knife(knife)
    assert {finding.code for finding in found} == {"mesh-laid", "mesh-pieces-left-out"}
    assert {finding.severity for finding in found} == {Severity.NOTE}
    assert f"bevel {BEVEL - 0.02:.2f} mm" in found[0].message


def test_its_sheath_can_be_made():
    request = read_request(EXAMPLE / "sheath.toml")
    assert set(request.inputs) == {"sheath.toml", "knife.toml", "heron.ply"}
    # On a grid of 0.8 mm the guard's step leaves too little of the fold.
    knife = read_knife(request.knife, COARSE / 2)
    choices = request.file.sheath.model_copy(update={"spacing": COARSE / 2})
    sheath = design_sheath(knife, choices, request.catalog)
    assert not errors(check_sheath(sheath))
    assert sheath.mouth_x == pytest.approx(knife.blade_length + 32)
