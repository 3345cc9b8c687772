"""Slots keep their distance from wall, rivets and edge, on both halves and both hands."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.errors import CannotMakeError, InputError
from chape.sheath.check import check_sheath
from chape.sheath.check_openings import check_openings
from chape.sheath.design import design_sheath
from chape.sheath.model import Carry, HoleUse, Mouth, SheathChoices, Slot
from chape.sheath.slots import RIVET_MARGIN, edge_distance
from specimens import camp_knife
from whole import remade, whole

COARSE = 0.8
STRAP = {"along": 0.3, "length": 25.0, "width": 4.0}


def make(**more):
    choices = SheathChoices.model_validate(
        {"name": "a", "knife": "b", "spacing": COARSE, "mouth": Mouth(wrap=32.0), **more}
    )
    return design_sheath(camp_knife(COARSE), choices, catalog())


@pytest.fixture(scope="module")
def strapped():
    return make(slots=[STRAP, {"along": 1.0, "length": 9.0, "width": 4.0, "angle": 90.0}])


def test_a_slot_goes_through_both_halves_and_meets_when_folded(strapped):
    slots = whole(strapped).slots
    assert len(slots) == 4
    for front, back in zip(slots[:2], slots[2:], strict=True):
        mirrored = shapely.affinity.scale(back.area(), 1, -1, origin=(0, 0))
        assert front.area().symmetric_difference(mirrored).area < 1e-6


def test_a_slot_keeps_its_distances(strapped):
    piece = whole(strapped)
    rim = piece.pattern.polygon().exterior
    for slot in piece.slots:
        area = slot.area(0.005)
        assert rim.distance(area) >= edge_distance(2.0) - 0.03
        for hole in piece.holes:
            if hole.use is not HoleUse.DRAIN:
                room = area.distance(shapely.Point(hole.u, hole.v)) - hole.keep_clear
                assert room >= RIVET_MARGIN - 0.03
    assert not [f for f in check_sheath(strapped) if f.code.startswith("slot")]


def test_a_slot_is_as_long_and_wide_as_it_says():
    slot = Slot(10.0, -5.0, 25.0, 4.0, 0.3)
    assert slot.area(0.001).area == pytest.approx(21 * 4 + np.pi * 4, abs=0.02)
    assert np.hypot(*(slot.ends[1] - slot.ends[0])) == pytest.approx(21.0)


def test_further_out_means_further_out(strapped):
    near, far = whole(strapped).slots[0], whole(make(slots=[{**STRAP, "out": 6.0}])).slots[0]
    assert np.hypot(far.u - near.u, far.v - near.v) == pytest.approx(6.0, abs=0.3)


def test_a_slot_out_of_place_is_seen(strapped):
    piece = whole(strapped)
    first = piece.slots[0]

    def seen(**change):
        fields = {"u": first.u, "v": first.v, "length": 25.0, "width": 4.0, "angle": 0.0}
        moved = Slot(**{**fields, **change})
        return {f.code for f in check_openings(remade(strapped, slots=(moved,)))}

    assert "slot-edge-low" in seen(v=first.v - 3.0)
    assert "slot-near-rivet" in seen(v=first.v + 6.0)
    assert "slot-wall-low" in seen(v=first.v + 14.0)


def test_what_cannot_be_a_slot_is_refused():
    with pytest.raises(InputError, match="no longer than it is wide"):
        make(slots=[{"along": 0.3, "length": 4.0, "width": 4.0}])
    with pytest.raises(CannotMakeError, match="no place within"):
        make(slots=[{"along": 0.3, "length": 25.0, "width": 4.0, "out": 80.0}])


@pytest.mark.parametrize("carry", [Carry.TIP_UP, Carry.HORIZONTAL])
def test_water_runs_out_however_the_sheath_is_carried(carry):
    sheath = make(carry=carry)
    found = {finding.code for finding in check_openings(sheath)}
    assert not found & {"drain-high", "no-drain", "drain-under-rivet"}
    drains = [hole for hole in whole(sheath).holes if hole.use is HoleUse.DRAIN]
    assert bool(drains) != ("drains-by-itself" in found)
    assert bool(drains) == (carry is Carry.HORIZONTAL)


def test_without_drains_standing_water_is_told_with_its_depth(strapped):
    dry = tuple(hole for hole in whole(strapped).holes if hole.use is not HoleUse.DRAIN)
    seen = [finding.code for finding in check_openings(strapped)]
    assert "no-drain" not in seen
    (found,) = [f for f in check_openings(remade(strapped, holes=dry)) if f.code == "no-drain"]
    assert found.measured > 5.0
