"""Which eyelet clinches what lies on one another."""

from __future__ import annotations

from dataclasses import replace

import pytest

from chape.catalog.hardware import Fixing
from chape.catalog.read import catalog, with_workshop
from chape.sheath.check_clips import check_clips
from chape.sheath.stacks import fitting, nearest, stacks_of
from specimens import camp_sheath

COARSE = 0.8


def with_clip(name):
    sheath = camp_sheath(COARSE)
    clip = catalog().clip(name)
    return replace(sheath, clips=(replace(sheath.clips[0], clip=clip),))


def test_a_screwed_clip_adds_nothing_to_its_eyelets():
    flanges, under = stacks_of(with_clip("belt-loop-2"))
    assert flanges.grip == pytest.approx(4.0)
    assert flanges.eyelet.name == "eyelet-6.4"
    assert under.fixing is Fixing.SCREW
    assert under.eyelet is None
    # Two sheets and the loop's foot: what the screw grips.
    assert under.grip == pytest.approx(2.0 + 2.0 + 2.4)


def test_a_riveted_clip_asks_for_a_longer_eyelet():
    sheath = with_clip("riveted-loop-2")
    _, under = stacks_of(sheath)
    assert dict(under.layers) == {"sheet": 2.0, "washers": 1.0, "clip": 2.5}
    assert under.grip == pytest.approx(7.5)
    assert under.count == 2
    assert under.eyelet.name in {"eyelet-6.4-x9.5", "eyelet-6.4-x10.5"}
    codes = {finding.code: finding for finding in check_clips(sheath)}
    assert codes["eyelet-other-length"].measured == pytest.approx(7.5)
    assert under.eyelet.name in codes["eyelet-other-length"].message


def test_every_length_of_a_family_clinches_its_own_stacks_and_one_hole_serves_all():
    shelf = catalog()
    first = shelf.eyelet("eyelet-6.4")
    family = (first, *shelf.other_lengths(first))
    assert len(family) >= 5
    assert len({one.hole.value for one in family}) == 1
    for tenth in range(25, 86):
        grip = tenth / 10
        found = fitting(family, grip)
        assert found is not None
        assert found.grip_least.value <= grip <= found.grip_most.value
    assert fitting(family, 2.4) is None
    assert fitting(family, 9.0) is None
    assert nearest(family, 9.0).name == "eyelet-6.4-x10.5"
    assert nearest(family, 1.0).name == "eyelet-6.4-x5.5"


def test_a_stack_that_nothing_clinches_is_an_error_with_the_reason():
    thick = {"value": 9.0, "unit": "mm", "source": "test", "status": "measured"}
    own = {"clips": {"thick": {"like": "riveted-loop-2", "thickness": thick}}}
    clip = with_workshop(catalog(), own, "workshop.toml").clip("thick")
    sheath = with_clip("riveted-loop-2")
    sheath = replace(sheath, clips=(replace(sheath.clips[0], clip=clip),))
    (finding,) = [one for one in check_clips(sheath) if one.code == "rivet-grip"]
    assert finding.severity == "error"
    assert finding.measured == pytest.approx(14.0)
    assert finding.limit == pytest.approx(8.5)
    assert "too thick" in finding.message
    assert "clip 9 mm" in finding.message
