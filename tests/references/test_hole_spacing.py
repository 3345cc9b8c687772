"""Distances of holes, and holes for screws, against what is published for metal.

FAA AC 43.13-1B, chapter 4 (riveted joints): from a rivet's middle to the edge at least twice its
diameter, from rivet to rivet at least three times. Plastics have no such rule that we know of; ours
follow it where they can and say where they do not. For a barrel of 1/4 in (6.35 mm): 12.70 mm and
19.05 mm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.sheath.check_pattern import EDGE_WANTED, check_pattern
from chape.sheath.clip_places import ASTRAY_MOST, PLACE_STEP, Ground
from chape.sheath.hole_plan import plan
from chape.sheath.hole_rules import rules_of
from chape.sheath.locus import locus_of
from chape.sheath.model import Eyelets
from specimens import camp_sheath

QUARTER_INCH = 6.35


def ground():
    return Ground((locus_of(shapely.LineString([(120, 0), (0, 0)]), side=1),), 0, 120, 5.0)


def test_a_quarter_inch_eyelet_keeps_the_published_distances():
    rules = rules_of((), ground(), 38.0, Eyelets().spacing_least, QUARTER_INCH)
    assert rules.least == pytest.approx(19.05)
    assert pytest.approx(12.70) == EDGE_WANTED * QUARTER_INCH


def test_eyelets_stand_between_the_least_and_the_longest_pitch():
    made = plan(ground(), (), 38.0, 3.0, QUARTER_INCH)
    steps = np.diff([hole.along for hole in made.holes])
    assert steps == pytest.approx([30.0] * 4)


def test_what_comes_nearer_than_three_diameters_is_told():
    sheath = camp_sheath(0.8)
    (piece,) = sheath.pieces
    first = piece.holes[0]
    crowding = replace(first, u=first.u - 3 * first.diameter + 0.5)
    crowded = replace(sheath, pieces=(replace(piece, holes=(*piece.holes, crowding)),))
    found = [one for one in check_pattern(crowded) if one.code == "rivets-close"]
    assert found
    assert found[0].limit == pytest.approx(3 * first.diameter)
    assert not [one for one in check_pattern(sheath) if one.code == "rivets-close"]


def test_a_screw_finds_its_hole_within_the_play_of_a_clearance_hole():
    # ISO 273, holes for M6: fine 6.4, medium 6.6, coarse 7.0 mm (from memory).
    assert pytest.approx((6.6 - 6.0) / 2) == ASTRAY_MOST
    # Half a step off its place, and half a step on the other side: still within the play.
    assert PLACE_STEP / 2 < ASTRAY_MOST


def test_holes_of_the_catalogue_pass_the_screws_they_are_for():
    # M6 passes 6.4 to 7.0 mm (ISO 273), 1/4 in has a major diameter of 0.2500 in (ASME B1.1).
    for name in catalog().names("clips"):
        hole = catalog().clip(name).hole.value
        assert 6.4 <= hole <= 7.0
        assert hole > 0.25 * 25.4
    for name in catalog().names("eyelets"):
        eyelet = catalog().eyelet(name)
        assert eyelet.hole.value < eyelet.flange.value
        assert eyelet.grip_least.value < eyelet.grip_most.value
