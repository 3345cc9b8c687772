"""Run times that can be worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from chape.cutting.clock import piece_seconds, run_time
from chape.cutting.read import read_program
from chape.cutting.segments import segments_of
from cutting.proof_setups import RACK, ROUTER

ACCELERATION = 1000.0


def seconds(points: np.ndarray, speed: float) -> np.ndarray:
    ends = np.hstack([points[:-1], points[1:]])
    halts = np.zeros(len(ends) + 1, dtype=np.bool_)
    return piece_seconds(ends, np.full(len(ends), speed), halts, ACCELERATION)


def along_x(length: float, count: int) -> np.ndarray:
    x = np.linspace(0, length, count + 1)
    return np.column_stack([x, 0 * x, 0 * x])


@pytest.mark.parametrize("count", [1, 10, 1000])
def test_a_straight_way_takes_its_trapezoid(count: int) -> None:
    """100 mm at 100 mm/s and 1000 mm/s²: L/v + v/a = 1.1 s, in however many pieces."""
    assert seconds(along_x(100, count), 100).sum() == pytest.approx(1.1, abs=1e-9)


def test_a_short_way_never_reaches_its_speed() -> None:
    """4 mm: a triangle, 2 √(L/a) = 0.126491 s."""
    assert seconds(along_x(4, 1), 1000).sum() == pytest.approx(2 * np.sqrt(4 / 1000))


@pytest.mark.parametrize("chords", [360, 3600])
def test_a_circle_is_run_at_what_it_can_hold(chords: int) -> None:
    """Radius 5 mm: √(a r) = 70.71 mm/s, however fine its chords."""
    angle = np.arange(20 * chords + 1) * 2 * np.pi / chords
    points = np.column_stack([5 * np.cos(angle), 5 * np.sin(angle), 0 * angle])
    middle = len(angle) // 2
    length = float(np.hypot(*(points[middle + 1] - points[middle])[:2]))
    speed = length / seconds(points, 5000.0)[middle]
    assert speed == pytest.approx(np.sqrt(ACCELERATION * 5), rel=0.005)


def test_a_machine_stops_to_turn_back() -> None:
    there = along_x(50, 1)
    back = np.vstack([there, there[:1]])
    assert seconds(back, 100).sum() == pytest.approx(2 * seconds(there, 100).sum())


def test_a_halt_costs_a_stop_and_a_start() -> None:
    points = along_x(100, 2)
    ends = np.hstack([points[:-1], points[1:]])
    halts = np.array([False, True, False])
    halted = piece_seconds(ends, np.full(2, 100.0), halts, ACCELERATION).sum()
    assert halted == pytest.approx(1.2)


def test_no_speed_is_above_what_can_be_braked_from() -> None:
    generator = np.random.default_rng(3)
    points = np.cumsum(generator.normal(size=(400, 3)), axis=0)
    spent = seconds(points, 60)
    length = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=1))
    assert (spent >= length / 60 - 1e-12).all()


def test_dwells_and_cutters_are_counted() -> None:
    text = (
        "G21 G90 G54 T1 M6\nS9000 M3\nG4 P2\nG0 Z10\nG0 X0 Y0\n"
        "M5\nT2 M6\nS9000 M3\nG4 P3\nG1 X100 F6000\nM2\n"
    )
    program = read_program(text)
    machine = ROUTER.model_copy(update={"acceleration": ACCELERATION})
    index_of = {cutter.number: n for n, cutter in enumerate(RACK)}
    time = run_time(program, segments_of(program, index_of, ceiling=100), machine)
    assert dict(time.by_cutter) == pytest.approx({1: 2.0, 2: 3 + 1.1})
    assert time.total == pytest.approx(6.1)
