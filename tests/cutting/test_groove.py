"""Grooves: entered at either end, ramped, both ways, in an order that saves rapids."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.cutting.check import check_program
from chape.cutting.drill import Tool
from chape.cutting.groove import cut_grooves
from chape.cutting.ground import Ground
from chape.cutting.model import Motion
from chape.cutting.plan import plan_program
from chape.cutting.rates import RAMP_SLOPE, rates_for
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import Groove
from cutting.proof_setups import ROUTER, SMALL, block_setup
from written import text_of

if TYPE_CHECKING:
    from chape.cutting.link import Track

TOOL = Tool(SMALL, rates_for(SMALL, catalog().material("HDPE"), ROUTER))


def comb(count: int = 6, length: float = 30.0, width: float = 3.0) -> tuple[Groove, ...]:
    """Grooves side by side, all drawn from the same side."""
    return tuple(
        Groove(np.array([[5.0, y], [5.0 + length, y]]), width, -3.0)
        for y in np.linspace(5, 35, count)
    )


def cut(grooves: tuple[Groove, ...]) -> Track:
    ground = Ground(HeightField.flat(Grid.over(0, 0, 40, 40, 0.4), 0.0))
    return cut_grooves(grooves, TOOL, ground, 5.0)


@pytest.mark.parametrize("width", [3.0, 4.0, 9.0])
def test_grooves_are_ramped_into_and_no_walk_goes_too_deep(width: float) -> None:
    moves = cut(comb(3, width=width)).moves()
    for n in np.flatnonzero(moves.motion == Motion.LINE):
        fall = moves.end[n - 1, 2] - moves.end[n, 2]
        run = np.hypot(*(moves.end[n, :2] - moves.end[n - 1, :2]))
        if moves.end[n, 2] < -1e-9:
            assert fall <= run * RAMP_SLOPE + 1e-9
    lines = moves.motion == Motion.LINE
    for a, b in pairwise(np.flatnonzero(lines)):
        if b == a + 1:
            assert moves.end[a, 2] - moves.end[b, 2] <= TOOL.rates.depth + 1e-9


def test_grooves_are_entered_at_the_end_that_is_near() -> None:
    grooves = comb()
    backwards = tuple(
        replace(groove, points=groove.points[::-1]) if n % 2 else groove
        for n, groove in enumerate(grooves)
    )

    def travels(drawn: tuple[Groove, ...]) -> np.ndarray:
        moves = cut(drawn).moves()
        return np.hypot(*np.diff(moves.end, axis=0)[moves.motion[1:] == Motion.RAPID, :2].T)

    # Six millimetres on to the next, never back across the plate, however they were drawn.
    assert travels(grooves).max() < 6.5
    assert travels(backwards).sum() == pytest.approx(travels(grooves).sum())
    assert cut(grooves).saved >= 0


def test_a_mixed_plate_of_grooves_is_proved_and_the_order_saves() -> None:
    ring = np.array([[12, 10], [28, 10], [28, 30], [12, 30], [12, 10]], float)
    grooves = (
        Groove(np.array([[5.0, 36.0], [35.0, 36.0]]), 3.0, -3.0),
        Groove(np.array([[5.0, 4.0], [35.0, 4.0]]), 3.0, -3.0),
        Groove(ring, 4.5, -2.0),
        Groove(np.array([[36.0, 34.0], [36.0, 6.0]]), 3.0, -3.0),
    )
    setup = replace(block_setup(top=0.0), grooves=grooves)
    program = plan_program(setup)
    verdict = check_program(text_of(program), setup)
    assert verdict.released, verdict.findings
    assert program.rapid_saved > 0
    assert "plunge-full-width" not in {finding.code for finding in verdict.findings}
