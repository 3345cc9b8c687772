from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from chape.catalog.read import catalog
from chape.cutting.check import check_program
from chape.cutting.drill import Tool
from chape.cutting.ground import Ground
from chape.cutting.model import Motion, Operation, OperationKind, Program, Setup
from chape.cutting.plan import plan_program
from chape.cutting.rates import rates_for
from chape.cutting.slot import cut_slots, wall_offsets
from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import Groove
from cut_boards import trim
from cutting.proof_setups import FLAT, ROUTER, SMALL, codes
from naive_carving import carve
from written import text_of


def slot(*points: tuple[float, float], width: float = 4.0, floor: float = -0.5) -> Groove:
    return Groove(np.array(points), width, floor)


def slotted(*slots: Groove) -> Setup:
    """Sheet over level fixture, with slots and one part."""
    setup = trim()
    return replace(setup, grooves=slots)


STRAPS = (
    slot((13.0, 14.0), (23.0, 14.0)),
    slot((45.0, 26.0), (55.0, 26.0), width=3.0),
    slot((23.0, 26.0), (13.0, 25.0), width=5.5),
)


def test_slots_in_sheet_are_proved_from_their_text() -> None:
    setup = slotted(*STRAPS)
    program = plan_program(setup)
    kinds = [operation.kind for operation in program.operations]
    assert kinds.index(OperationKind.SLOT) < kinds.index(OperationKind.OUTLINE)
    text = text_of(program)
    verdict = check_program(text, setup)
    assert verdict.released, verdict.findings
    assert "plunge-full-width" not in codes(verdict)
    broken = check_program(text.replace("X23.", "X24."), setup)
    assert not broken.released


@pytest.mark.parametrize("width", [3.0, 3.3, 4.0, 9.0, 14.0])
def test_a_slot_is_as_wide_as_drawn_and_no_wider(width: float) -> None:
    grid = Grid.over(0, 0, 60, 40, 0.2)
    sheet = HeightField.flat(grid, 2.0)
    setup = replace(
        trim(), stock=sheet, target=HeightField.flat(grid, 0.0), outlines=(), holes=(),
        keep_outs=(), grooves=(slot((16.0, 15.0), (42.0, 24.0), width=width),), width=60.0,
        depth=40.0,
    )  # fmt: skip
    tool = Tool(SMALL, rates_for(SMALL, catalog().material("acrylic-PVC"), ROUTER))
    track = cut_slots(setup.grooves, tool, Ground(sheet), 10.0)
    operation = Operation(OperationKind.SLOT, "Slot", SMALL, 12000, track.moves())
    carved = carve(Program(setup, (operation,)))
    x, y = grid.mesh()
    line = shapely.LineString(setup.grooves[0].points)
    inside = shapely.contains_xy(line.buffer(width / 2 - 0.05, quad_segs=64), x, y)
    outside = ~shapely.contains_xy(line.buffer(width / 2 + 0.02, quad_segs=64), x, y)
    assert carved.z[inside].max() == pytest.approx(-0.5, abs=1e-9)
    assert carved.z[outside].min() == 2.0
    assert carved.rapid_into < 0.01


def test_it_ramps_in_climbs_round_and_takes_no_more_than_its_share() -> None:
    tool = Tool(SMALL, rates_for(SMALL, catalog().material("acrylic-PVC"), ROUTER))
    ground = Ground(HeightField.flat(Grid.over(0, 0, 60, 40, 0.4), 6.0))
    track = cut_slots((slot((10.0, 10.0), (30.0, 10.0), width=9.0),), tool, ground, 12.0)
    moves = track.moves()
    z = np.concatenate([[moves.end[0, 2]], moves.end[:, 2]])
    run = np.hypot(*np.diff(moves.end[:, :2], axis=0, prepend=moves.end[:1, :2]).T)
    line = moves.motion == Motion.LINE
    sinking = line & (np.diff(z) < -1e-9) & (moves.end[:, 2] < 5.99) & (run > 0)
    slope = -np.diff(z)[sinking] / run[sinking]
    assert slope.max() <= np.tan(np.radians(8)) + 1e-9
    assert (-np.diff(z)[sinking]).max() <= tool.rates.depth + 1e-9
    assert not (moves.motion == Motion.CLOCKWISE).any()
    offsets = wall_offsets(9.0, SMALL.diameter)
    assert offsets[-1] == 3.0
    assert np.diff([0.0, *offsets]).max() <= 0.45 * SMALL.diameter + 1e-9


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (slot((10.0, 10.0), (30.0, 10.0), width=2.0), "narrower than T"),
        (slot((10.0, 10.0), (10.0, 10.0)), "has no length"),
        (slot((10.0, 10.0), (20.0, 10.0), (20.0, 20.0)), "not straight"),
        (slot((10.0, 10.0), (10.05, 10.0)), "too short to ramp"),
        (slot((10.0, 10.0), (np.nan, 10.0)), "no number"),
        (slot((10.0, 10.0), (20.0, 10.0), floor=np.nan), "no number"),
    ],
)
def test_a_slot_that_cannot_be_cut_is_refused_in_words(wrong: Groove, words: str) -> None:
    tool = Tool(SMALL, rates_for(SMALL, catalog().material("acrylic-PVC"), ROUTER))
    ground = Ground(HeightField.flat(Grid.over(0, 0, 60, 40, 0.4), 2.0))
    with pytest.raises(CannotMakeError, match=words):
        cut_slots((wrong,), tool, ground, 12.0)


def test_a_cutter_as_wide_as_the_slot_goes_along_it_level_at_last() -> None:
    tool = Tool(FLAT, rates_for(FLAT, catalog().material("acrylic-PVC"), ROUTER))
    ground = Ground(HeightField.flat(Grid.over(0, 0, 60, 40, 0.4), 2.0))
    track = cut_slots((slot((10.0, 10.0), (40.0, 10.0), width=6.0),), tool, ground, 12.0)
    cuts = track.moves().end[track.moves().motion == Motion.LINE]
    assert np.ptp(cuts[-2:, 0]) == 30.0
    assert cuts[-2:, 2].tolist() == [-0.5, -0.5]


def test_a_slot_over_a_relief_in_the_fixture_is_cut_through_the_sheet_alone() -> None:
    setup = slotted(STRAPS[0])
    x, y = setup.target.grid.mesh()
    under = (np.abs(y - 14.0) < 2.5) & (np.abs(x - 18.0) < 7.5)
    relieved = replace(setup, target=setup.target.with_z(np.where(under, -2.0, setup.target.z)))
    verdict = check_program(text_of(plan_program(relieved)), relieved)
    assert verdict.released, verdict.findings
    shallow = text_of(
        plan_program(replace(relieved, grooves=(slot((13, 14), (23, 14), floor=1.0),)))
    )
    assert "groove-not-cut" in codes(check_program(shallow, relieved))
