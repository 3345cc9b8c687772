"""What is written is what is read: any program, in any dialect, in mm or in inches."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chape.catalog.read import catalog
from chape.cutting.dialects import facts_of
from chape.cutting.model import Motion, Moves, Operation, OperationKind, Program, Setup
from chape.cutting.read import read_texts
from chape.cutting.write import write_program
from cut_boards import mould

SAFE = 20.0
lengths = st.floats(-300, 300)
heights = st.floats(-30, 10)
feeds = st.floats(30, 5000)


@cache
def board() -> Setup:
    return mould()


@st.composite
def cuts(draw) -> list[tuple[int, tuple[float, ...], tuple[float, float], float]]:
    """A cut that begins at a place, as (motion, end, centre, feed) rows."""
    x, y, z = draw(lengths), draw(lengths), draw(heights)
    none = (np.nan, np.nan)
    rows = [
        (Motion.RAPID, (x, y, SAFE), none, np.nan),
        (Motion.RAPID, (x, y, z), none, np.nan),
    ]
    for kind in draw(st.lists(st.sampled_from(["line", "arc", "plunge"]), min_size=1, max_size=6)):
        feed = draw(feeds)
        if kind == "plunge":
            z = draw(heights)
            rows.append((Motion.LINE, (x, y, z), none, feed))
        elif kind == "line":
            x, y, z = draw(lengths), draw(lengths), draw(heights)
            rows.append((Motion.LINE, (x, y, z), none, feed))
        else:
            radius, toward = draw(st.floats(1, 80)), draw(st.floats(0, 2 * np.pi))
            turn = draw(st.floats(0.2, 6.0))
            clockwise, z = draw(st.booleans()), draw(heights)
            centre = (x + radius * np.cos(toward), y + radius * np.sin(toward))
            angle = toward + np.pi + (-turn if clockwise else turn)
            x, y = centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)
            motion = Motion.CLOCKWISE if clockwise else Motion.COUNTER_CLOCKWISE
            rows.append((motion, (x, y, z), centre, feed))
    return [*rows, (Motion.RAPID, (x, y, SAFE), none, np.nan)]


@st.composite
def runs(draw) -> tuple[int, float, Moves]:
    """What one cutter does: its place in the list of cutters, its spindle speed, its moves."""
    number, spindle = draw(st.integers(0, 3)), float(draw(st.integers(6000, 24000)))
    rows = [row for cut in draw(st.lists(cuts(), min_size=1, max_size=3)) for row in cut]
    motion, end, centre, feed = zip(*rows, strict=True)
    return (
        number,
        spindle,
        Moves(
            np.array(motion, np.int8), np.array(end, float), np.array(centre, float), np.array(feed)
        ),
    )


def program_of(cutters: list[tuple[int, float, Moves]]) -> Program:
    # Apart from the drawing: making the board calls libraries that use a global random state.
    operations = tuple(
        Operation(OperationKind.ROUGH, "Any cut", board().cutters[number], spindle, moves)
        for number, spindle, moves in cutters
    )
    return Program(replace(board(), offset="G54"), operations)


@pytest.mark.parametrize("name", catalog().names("dialects"))
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(cutters=st.lists(runs(), min_size=1, max_size=4))
def test_what_is_read_is_what_was_planned(
    name: str, cutters: list[tuple[int, float, Moves]]
) -> None:
    program = program_of(cutters)
    dialect = catalog().dialect(name)
    step = dialect.unit.in_mm / 10**dialect.decimals
    texts = write_program(program, dialect)
    found = read_texts(texts, facts_of(dialect))
    at, place = 0, None
    for operation in program.operations:
        run = operation.moves
        # First up, then across: two moves where the plan says one.
        assert found.end[at, 2] == pytest.approx(SAFE, abs=step)
        at, place = at + 1, None
        for motion, end, centre, feed in zip(
            run.motion, run.end, run.centre, run.feed, strict=True
        ):
            steps = np.rint(end / step).tolist()
            if steps == place:
                continue  # too short to be told from its start
            place = steps
            assert np.abs(found.end[at] - end).max() <= step / 2 + 1e-9
            assert found.motion[at] == motion
            assert found.cutter[at] == operation.cutter.number
            assert found.spindle[at] == operation.spindle
            if motion != Motion.RAPID:
                assert found.feed[at] == pytest.approx(feed, abs=0.051 * dialect.unit.in_mm)
            if motion >= Motion.CLOCKWISE:
                assert np.abs(found.centre[at] - centre).max() <= step + 1e-9
                assert (found.sweep[at] < 0) == (motion == Motion.CLOCKWISE)
            at += 1
    assert at == len(found)
