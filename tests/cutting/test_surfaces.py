"""How plates are roughed and finished: levels, load, entries, and time against the least."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.cutting.bound import figures_of, least_time
from chape.cutting.check import check_texts
from chape.cutting.levels import deep_levels, hill_levels, level_hills
from chape.cutting.model import Motion, OperationKind, Program
from chape.cutting.plan import plan_program
from chape.cutting.rates import RAMP_SLOPE, rates_for
from chape.cutting.write import write_program
from chape.field.grid import Grid
from chape.field.heights import HeightField
from cut_boards import hill, mould

#: Measured 3.02 times the least, without the waits for the spindle.
MOST = 3.1


@pytest.fixture(scope="module")
def plate() -> Program:
    return plan_program(mould())


@pytest.mark.parametrize("depth", [2.0, 4.0, 6.0])
def test_no_level_is_deeper_than_the_material_bears(depth: float) -> None:
    surface, top = hill(), float(hill().z.max()) + 1.0
    deep = deep_levels(surface, top, depth)
    found = [*deep, *level_hills(surface, deep, top), *hill_levels(deep, top)]
    assert any(level.is_ground and level.height == 0.0 for level in found)
    heights = sorted((level.height for level in found), reverse=True)
    assert -np.diff([top, *heights]).min() <= depth + 1e-9
    assert np.diff([top, *heights]).min() >= -depth - 1e-9


def test_the_cutter_sinks_into_solid_by_ramps_alone(plate: Program) -> None:
    rough = plate.operations[0]
    way = np.diff(rough.moves.end, axis=0)
    cut = rough.moves.motion[1:] == Motion.LINE
    run, drop = np.hypot(way[:, 0], way[:, 1]), -way[:, 2]
    steep = cut & (drop > run * RAMP_SLOPE * 1.01 + 1e-6)
    assert run[steep].max(initial=0.0) < 1e-6
    # Straight down goes only the last millimetre through air, or back to where the tip has been.
    ends = [tuple(end) for end in rough.moves.end.round(6).tolist()]
    for n in np.flatnonzero(steep & (drop > 1.0 + 1e-6)).tolist():
        assert ends[n + 1] in ends[: n + 1]


def test_time_stays_near_the_least(plate: Program) -> None:
    setup = plate.setup
    bound = least_time(setup)
    assert bound is not None
    assert {operation.kind for operation in plate.operations} == {
        OperationKind.ROUGH,
        OperationKind.FINISH,
    }
    texts = write_program(plate, catalog().dialect(setup.machine.dialect))
    verdict = check_texts(texts, setup)
    spent = figures_of(plate).surface_seconds
    # The maker's figure is that of the checker's clock, which reads the text; that waits for the
    # spindle whenever it starts, too.
    starts = sum(text.count("\nG4 P") for text in texts)
    waits = starts * catalog().dialect(setup.machine.dialect).spin_up
    read = sum(time for _, time in verdict.cutter_seconds) - waits
    assert spent == pytest.approx(read, rel=0.02)
    # A board of one hill is all entries and turns; large ones come nearer to the least.
    assert spent < MOST * bound.seconds


def test_lines_that_start_and_stop_take_longer_by_the_time_that_speeding_up_takes() -> None:
    level = HeightField.flat(Grid.over(0, 0, 60, 40, 0.5), 0.0)
    x, y = level.grid.mesh()
    # A slope of 30 mm by 20 mm, between level ground.
    ramp = level.with_z(np.where((np.abs(x - 30) < 15) & (np.abs(y - 20) < 10), 0.1 * x, 0.0))
    stock = level.with_z(np.full(level.grid.shape, 6.0))
    setup = replace(mould(), stock=stock, target=ramp, width=60, depth=40)
    bound = least_time(setup)
    assert bound is not None
    material, machine = catalog().material("HDPE"), setup.machine
    flat, ball = (rates_for(setup.cutters[n], material, machine).feed / 60 for n in (0, 1))
    # Lines along x: 40 mm over the plate 2.7 mm apart, as deep as one level; 30 mm up the ramp.
    levels = bound.volume / (60 * 40 * 6.0)
    wanted = 40 / 2.7 * flat / 400 * levels + 20 / 0.69 * ball / 400
    assert bound.stops == pytest.approx(wanted, rel=0.06)
    assert bound.with_stops == bound.seconds + bound.stops


def test_the_least_time_is_volume_by_removal_and_area_by_covering() -> None:
    setup = mould()
    bound = least_time(setup)
    assert bound is not None
    flat = rates_for(setup.cutters[0], catalog().material("HDPE"), setup.machine)
    cell = setup.target.grid.spacing**2
    volume = (setup.stock.z - setup.target.z).sum() * cell
    assert bound.volume == pytest.approx(volume, rel=0.02)
    assert bound.rough == pytest.approx(60 * volume / (6.0 * 2.7 * flat.feed), rel=0.02)
    assert 60 * bound.area / bound.finish > 1000


@pytest.mark.parametrize("fillet", [3.0, 3.1])
def test_on_a_hundredth_of_sloping_ground_at_most_more_than_enough_is_left(fillet: float) -> None:
    surface = hill(fillet=fillet, spacing=0.2)
    stock = HeightField.flat(surface.grid, float(surface.z.max()) + 1.0)
    setup = replace(mould(), target=surface, stock=stock)
    texts = write_program(plan_program(setup), catalog().dialect(setup.machine.dialect))
    verdict = check_texts(texts, setup)
    slope = np.hypot(*np.gradient(surface.z, surface.grid.spacing))
    area = np.where(slope > 1e-3, np.hypot(1, slope), 0.0)
    assert area[verdict.leftover.z > 0.03].sum() < 0.01 * area.sum()
    assert verdict.gouge_most < 0.02


def test_a_higher_ridge_takes_less_time_and_leaves_no_more_than_that() -> None:
    coarse = replace(mould(), scallop=0.08)
    bound, fine = least_time(coarse), least_time(mould())
    assert bound is not None
    assert fine is not None
    # Lines lie nearly twice as far apart: s = 2 sqrt(2 R h - h^2).
    assert fine.finish / bound.finish == pytest.approx(np.sqrt(5.92 / 5.98) * 2, rel=0.01)
    program = plan_program(coarse)
    texts = write_program(program, catalog().dialect(coarse.machine.dialect))
    verdict = check_texts(texts, coarse)
    assert verdict.released
    assert verdict.leftover_most < 0.3
    assert figures_of(program).surface_seconds < 0.85 * MOST * fine.seconds
