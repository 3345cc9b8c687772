"""Room for the holder over pins: exact at a step of known height, and a mend that has room."""

import re

import numpy as np
import pytest

from chape.catalog.model import Board
from chape.catalog.read import catalog
from chape.cutting.model import Setup
from chape.cutting.pin_room import lacking, require_pin_room
from chape.errors import CannotMakeError
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.tooling.model import RoundHole

CATALOG = catalog()
SIZE, PLATE, STEP_AT = 100.0, 25.0, 60.0


def fixture_with_step(height, pins):
    """A plate with a step of some height over all x past ``STEP_AT`` but the last 24 mm."""
    grid = Grid.over(0.0, 0.0, SIZE, SIZE, 0.5)
    x, _ = grid.mesh()
    field = HeightField(grid, np.where((x >= STEP_AT) & (x <= SIZE - 24), height, 0.0))
    return Setup(
        name="fixture", title="", offset="G55", machine=CATALOG.machine("router-600"),
        cutters=CATALOG.rack("rack-6").cutters, stock=field, target=field, z_bottom=-PLATE,
        holes=tuple(RoundHole(x, y, 6.0, 0.0, -PLATE, "pin") for x, y in pins),
        grooves=(), outlines=(), sheet_gauge=0.0, keep_outs=(), flipped=False,
        width=SIZE, depth=SIZE,
    )  # fmt: skip


def board(pins):
    return Board(name="mine", title="", offset="G55", pins=pins, pin_diameter=6.0)


def test_the_holder_meets_a_step_by_what_arithmetic_says():
    """T6, 4 mm, sticks out 32 mm: 7 mm over the plate, less 0.5 mm of air; it sweeps 11 mm."""
    setup = fixture_with_step(8.0, [(50, 50)])
    near, far = np.array([[STEP_AT - 10, 50.0]]), np.array([[STEP_AT - 11.6, 50.0]])
    assert lacking(setup, setup.holes[0], near)[0] == pytest.approx(8.0 + 0.5 - 7.0, abs=1e-9)
    assert lacking(setup, setup.holes[0], far)[0] == pytest.approx(-6.5, abs=1e-9)


def test_a_pin_near_a_seat_is_refused_and_the_pins_offered_have_room():
    pins = ((50.0, 50.0), (94.0, 50.0))
    with pytest.raises(CannotMakeError, match=r'pin \(50, 50\) of board "mine".*1.5 mm') as error:
        require_pin_room(fixture_with_step(8.0, pins), board(pins))
    left, right = re.findall(r"\[(\d+), (\d+)\]", error.value.mend)
    offered = (tuple(map(float, left)), tuple(map(float, right)))
    assert offered == ((6.0, 50.0), (94.0, 50.0))
    require_pin_room(fixture_with_step(8.0, offered), board(offered))


def test_a_low_seat_is_no_trouble():
    pins = ((50.0, 50.0), (94.0, 50.0))
    require_pin_room(fixture_with_step(6.0, pins), board(pins))
