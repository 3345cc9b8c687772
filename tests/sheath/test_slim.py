"""The slim outline: what must lie inside does, it takes less sheet, and the map says what binds."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.field.arcs import arc_of
from chape.field.contour import regions_above
from chape.sheath.design import design_sheath
from chape.sheath.margins import BINDS, Binding, margins_of
from chape.sheath.model import Edging, Hand, HoleUse, Line, Mouth, SheathChoices
from chape.tolerances import ARC_FIT
from specimens import camp_knife, camp_sheath, slender_knife
from whole import whole

COARSE = 0.8
SLOT = {"along": 0.3, "length": 25.0, "width": 4.0, "angle": 20.0}


def make(knife=camp_knife, **more):
    choices = SheathChoices.model_validate(
        {"name": "a", "knife": "b", "spacing": COARSE, "mouth": Mouth(wrap=32.0), **more}
    )
    return design_sheath(knife(COARSE), choices, catalog())


@cache
def even():
    """The demo's sheath with a flange of even width."""
    return _demo(line=Line.EVEN)


@cache
def wavy():
    """The demo's sheath with the least sheet."""
    return _demo(fair=25.0)


def _demo(**edging):
    choices = camp_sheath(COARSE).choices
    changed = choices.edging.model_copy(update=edging)
    asked = choices.model_copy(update={"edging": changed})
    return design_sheath(camp_knife(COARSE), asked, catalog())


@pytest.mark.parametrize(
    ("knife", "fair", "margin"), [(camp_knife, 20.0, 2.5), (slender_knife, 150.0, 1.0)]
)
def test_every_flange_lies_inside_by_its_margin_and_every_wall_by_its_own(knife, fair, margin):
    sheath = make(knife, edging=Edging(fair=fair, margin=margin))
    piece = whole(sheath)
    polygon = piece.pattern.polygon(0.005)
    for hole in piece.holes:
        if hole.use is not HoleUse.DRAIN:
            room = polygon.exterior.distance(shapely.Point(hole.u, hole.v)) - hole.keep_clear
            assert room >= margin - 2 * ARC_FIT
            assert polygon.contains(shapely.Point(hole.u, hole.v))
    # Away from the straight cuts at tip and mouth.
    first, _, _, _ = polygon.bounds
    window = shapely.box(first + 8.5, -1e3, sheath.mouth_x - 14.0, 1e3)
    walls = regions_above(piece.formed, 0.02).intersection(window)
    rim = polygon.exterior.intersection(window)
    assert walls.distance(rim) >= sheath.choices.edging.wall - 0.1


def test_a_slim_line_takes_less_sheet_the_less_fair_it_is():
    areas = [whole(sheath).pattern.area for sheath in (even(), camp_sheath(COARSE), wavy())]
    assert areas == sorted(areas, reverse=True)
    assert areas[-1] < 0.97 * areas[0]


def test_no_hollow_is_rounder_than_asked():
    pattern = whole(make(edging=Edging(fair=60.0), thumb_ramp={"height": 0.0})).pattern
    ends = np.roll(pattern.points, -1, axis=0)
    for start, end, bulge in zip(pattern.points, ends, pattern.bulges, strict=True):
        sagitta = abs(float(bulge)) * float(np.hypot(*(end - start))) / 2
        if bulge < 0 and sagitta > 5 * ARC_FIT:
            assert arc_of(start, end, float(bulge))[1] >= 55.0


def test_a_left_hand_outline_is_the_mirror_image_slots_and_all():
    right, left = (whole(make(hand=hand, slots=[SLOT])) for hand in (Hand.RIGHT, Hand.LEFT))
    mirrored = shapely.affinity.scale(left.pattern.polygon(0.005), 1, -1, origin=(0, 0))
    assert mirrored.symmetric_difference(right.pattern.polygon(0.005)).area < 0.5
    ours = shapely.union_all([slot.area() for slot in right.slots])
    other = shapely.affinity.scale(
        shapely.union_all([slot.area() for slot in left.slots]), 1, -1, origin=(0, 0)
    )
    assert ours.symmetric_difference(other).area < 1e-6


def test_the_map_says_what_binds_and_how_much_is_spare():
    sheath = make(slots=[SLOT])
    piece = whole(sheath)
    margins = margins_of(sheath, piece)
    assert sum(margins.shares.values()) == pytest.approx(1.0)
    assert margins.beyond.min() == 0.0
    kinds = np.array([kind.value for kind in margins.binding])
    assert ((margins.beyond > 0) == (kinds == Binding.FAIR.value)).all()
    edging = sheath.choices.edging
    rivets = [hole for hole in piece.holes if hole.use is HoleUse.EYELET]
    away = np.min(
        [np.hypot(*(margins.points - (h.u, h.v)).T) - h.keep_clear for h in rivets], axis=0
    )
    bound = kinds == Binding.RIVET.value
    assert bound.any()
    assert away[bound] == pytest.approx(edging.margin, abs=BINDS + 0.02)
    assert (kinds == Binding.SLOT.value).any()
    # Every rivet that is not at a corner of its own touches the line somewhere.
    assert margins.shares[Binding.FAIR] < 0.7


def test_an_even_line_is_bound_by_no_more_than_a_slim_one():
    shares = [margins_of(sheath, whole(sheath)).shares[Binding.FAIR] for sheath in (even(), wavy())]
    assert shares[1] < shares[0] + 0.05


def test_the_demo_is_slim():
    assert camp_sheath(COARSE).choices.edging.line is Line.SLIM
