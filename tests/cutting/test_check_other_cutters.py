"""Whole programs of bull-nose, tapered and vee cutters, which chape's own plans seldom use.

Each finishes a surface that it can make in full, along lines a quarter of a millimetre apart. The
tips come from cutter location, which the checker does not know.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from chape.catalog.model import CutterKind
from chape.cutting.check import Verdict, check_program
from chape.field.body import Body
from chape.field.envelope import closing, locate
from chape.field.grid import Grid
from chape.field.heights import HeightField
from cutting.proof_setups import BULL, RACK, block_setup, codes, cutter, start, text_of

TAPER = cutter(6, CutterKind.TAPERED_BALL, 6.0, corner=1.0, point_angle=30.0)
VEE = cutter(7, CutterKind.VEE, 6.0, point_angle=90.0)
WIDE, DEEP, STEP = 18.0, 12.0, 0.25
END = ["G0 Z10", "M5", "M30"]


def setup_of(surface: HeightField, top: float):
    stock = HeightField.flat(Grid.over(0, 0, WIDE, DEEP, STEP), top)
    whole = block_setup()
    return replace(
        whole, stock=stock, target=surface, cutters=(*RACK, TAPER, VEE), width=WIDE, depth=DEEP
    )


@cache
def waves(number: int) -> HeightField:
    # It goes on past the stock, so that the tip does not fall off its edge.
    grid = Grid.over(-7, -5, WIDE + 7, DEEP + 5, STEP)
    wave = HeightField.of(grid, lambda x, y: np.sin(x / 2) * np.cos(y / 3) - 1.2)
    return closing(wave, Body.of_cutter({3: BULL, 6: TAPER}[number]))


def finished(number: int, lower: float = 0.0) -> Verdict:
    surface, tool = waves(number), {3: BULL, 6: TAPER}[number]
    lines = []
    x = np.arange(-4.0, WIDE + 4.0, STEP)
    for row, y in enumerate(np.arange(0, DEEP + STEP / 2, STEP)):
        ahead = x if row % 2 == 0 else x[::-1]
        tips = locate(surface, np.column_stack([ahead, np.full(len(x), y)]), Body.of_cutter(tool))
        lines += [f"X{a:.3f} Y{y:.3f} Z{z - lower:.4f}" for a, z in zip(ahead, tips, strict=True)]
    first = [f"G0 {lines[0].rsplit(' ', 1)[0]}", "G0 Z2", f"G1 {lines[0]} F600"]
    text = text_of(start(number), [*first, *lines[1:]], END)
    return check_program(text, setup_of(surface, 1.0))


@pytest.mark.parametrize("number", [3, 6], ids=["bull nose", "tapered ball"])
def test_a_surface_finished_by_another_cutter_is_proved(number: int) -> None:
    verdict = finished(number)
    assert verdict.gouge_most < 0.01
    assert verdict.leftover_p99 < 0.03
    assert codes(verdict) <= {"engagement-high"}
    assert verdict.released


@pytest.mark.parametrize("number", [3, 6], ids=["bull nose", "tapered ball"])
def test_set_a_tenth_lower_it_gouges_by_as_much(number: int) -> None:
    verdict = finished(number, lower=0.1)
    assert not verdict.released
    assert "gouge" in codes(verdict)
    assert verdict.gouge_most == pytest.approx(0.1, abs=0.01)


def engraved(z: float) -> Verdict:
    """A V of 90 degrees, a millimetre deep where z is -1."""
    grid = Grid.over(0, 0, WIDE, DEEP, STEP)
    surface = HeightField.of(grid, lambda x, y: np.minimum(0.0, np.abs(y - 6.0) - 1.0) + 0 * x)
    cut = ["G0 X-5 Y6", "G0 Z2", f"G1 Z{z:.3f} F300", f"G1 X{WIDE + 5:g} F600"]
    return check_program(text_of(start(7), cut, END), setup_of(surface, 0.0))


def test_a_line_is_engraved_with_a_vee() -> None:
    verdict = engraved(-1.0)
    assert verdict.released, verdict.findings
    assert verdict.gouge_most < 1e-6
    middle = verdict.stock_after.z[:, 30]
    y = verdict.stock_after.grid.y
    assert middle == pytest.approx(np.minimum(0.0, np.abs(y - 6.0) - 1.0), abs=1e-9)


def test_a_vee_a_tenth_lower_gouges_by_a_tenth_at_the_bottom() -> None:
    verdict = engraved(-1.1)
    assert "gouge" in codes(verdict)
    assert verdict.gouge_most == pytest.approx(0.1)
    # On its flanks the normal counts.
    flank = verdict.leftover.z[26, 30]
    assert flank == pytest.approx(-0.1 / 2**0.5, abs=1e-6)
