from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.model import CutterKind
from chape.catalog.read import catalog
from chape.cutting.check import check_program
from chape.cutting.check_flip import check_flip
from chape.cutting.plan import plan_program
from chape.cutting.setups import mould_back, mould_top
from chape.cutting.vents import MEET, point_height, vents_from_back, vents_from_top
from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import Groove, Mould, RoundHole
from cutting.proof_setups import cutter
from synthetic_job import parts
from written import text_of

MACHINE = catalog().machine("router-600")
RACK = catalog().rack("rack-6").cutters
WIDTH, DEPTH = 40.0, 30.0


def plate(thick: float) -> Mould:
    """A level plate with two vents that open into one back groove."""
    level = HeightField.flat(Grid.over(0, 0, WIDTH, DEPTH, 0.25), 0.0)
    floor = 3.0 - thick
    vents = tuple(RoundHole(x, 12.0, 1.0, 0.0, floor, "vent") for x in (11.0, 24.0))
    groove = Groove(np.array([[5.0, 12.0], [30.0, 12.0]]), 3.0, floor)
    return replace(
        parts()[2], surface=level, width=WIDTH, depth=DEPTH, z_bottom=-thick, z_stock=0.0,
        vents=vents, grooves=(groove,), dowels=(),
    )  # fmt: skip


def test_a_vent_within_reach_is_drilled_at_once() -> None:
    mould = plate(25.0)
    assert vents_from_back(mould, RACK) == ()
    (vent, _) = vents_from_top(mould, RACK)
    assert vent.z_bottom == pytest.approx(-22.0 - point_height(RACK, 1.0) - 0.3)


def test_a_deeper_one_is_drilled_from_both_sides_and_the_halves_overlap() -> None:
    mould = plate(40.0)
    tops, backs = vents_from_top(mould, RACK), vents_from_back(mould, RACK)
    assert len(tops) == len(backs) == 2
    flutes, point = 26.0, point_height(RACK, 1.0)
    for top, back in zip(tops, backs, strict=True):
        assert top.z_top - top.z_bottom <= flutes
        assert back.z_top - back.z_bottom <= flutes
        assert back.x == pytest.approx(WIDTH - top.x)
        # Of full width from the back up to here, blank frame.
        wide_up_to = mould.z_bottom - back.z_bottom - point
        assert wide_up_to - (top.z_bottom + point) == pytest.approx(MEET)
        assert back.z_top == -3.0


def test_both_programs_are_proved_and_their_holes_meet() -> None:
    mould = plate(40.0)
    top, back = mould_top(mould, MACHINE, RACK), mould_back(mould, MACHINE, RACK)
    for setup in (top, back):
        verdict = check_program(text_of(plan_program(setup)), setup)
        assert verdict.released, verdict.findings
    assert check_flip(top, back) == ()
    (lost,) = check_flip(top, replace(back, holes=()))
    assert lost.code == "vent-not-through"
    assert lost.measured == pytest.approx(37.0 - 25.0)


def test_a_vent_no_drill_reaches_from_either_side_is_refused() -> None:
    mould = plate(60.0)
    with pytest.raises(CannotMakeError, match=r"mm deep, and the longest cutter"):
        plan_program(mould_back(mould, MACHINE, RACK))


@pytest.mark.parametrize(("diameter", "drilled"), [(2.0, True), (6.0, False)])
def test_a_drill_goes_through_where_its_point_may_come_out_below(
    *, diameter: float, drilled: bool
) -> None:
    drill = cutter(9, CutterKind.DRILL, diameter, point_angle=118.0, flute_length=40, stick_out=50)
    dowel = RoundHole(20.0, 22.0, diameter, 0.0, -25.0, "dowel")
    setup = mould_top(replace(plate(25.0), dowels=(dowel,)), MACHINE, (*RACK, drill))
    point = diameter / 2 / np.tan(np.radians(59)) if drilled else 0.0
    assert setup.holes[-1].z_bottom == pytest.approx(-25.3 - point)
    program = plan_program(setup)
    assert (9 in {operation.cutter.number for operation in program.operations}) is drilled
    verdict = check_program(text_of(program), setup)
    assert verdict.released, verdict.findings
