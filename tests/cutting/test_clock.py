"""Run times that can be worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from chape.cutting.clock import Limits, piece_seconds, run_time
from chape.cutting.read import read_program
from chape.cutting.segments import segments_of
from cutting.proof_setups import RACK, ROUTER

ACCELERATION = 1000.0
FREE = Limits((1e6, 1e6, 1e6), (ACCELERATION, ACCELERATION, ACCELERATION))


def seconds(points: np.ndarray, speed: float) -> np.ndarray:
    ends = np.hstack([points[:-1], points[1:]])
    halts = np.zeros(len(ends) + 1, dtype=np.bool_)
    return piece_seconds(ends, np.full(len(ends), speed), halts, FREE)


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
    halted = piece_seconds(ends, np.full(2, 100.0), halts, FREE).sum()
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
    assert time.changes == 2
    # No machine is quicker than the way at full speed, and both dwells.
    assert 5.0 < time.at_full_speed < time.total


def test_each_axis_keeps_its_own_limits() -> None:
    """Straight down at 40 mm/s and 250 mm/s²; a slope by what its steepest axis permits."""
    limits = Limits((100, 100, 40), (1000, 1000, 250))
    still = np.zeros(2, dtype=np.bool_)
    down = np.array([[0, 0, 0, 0, 0, -80.0]])
    assert piece_seconds(down, np.array([np.inf]), still, limits)[0] == pytest.approx(
        80 / 40 + 40 / 250
    )
    # 3-4-5: z holds the way to 40 / 0.8 = 50 mm/s and 250 / 0.8 = 312.5 mm/s².
    slope = np.array([[0, 0, 0, 60, 0, -80.0]])
    assert piece_seconds(slope, np.array([np.inf]), still, limits)[0] == pytest.approx(
        100 / 50 + 50 / 312.5
    )


def test_a_controller_that_reads_slowly_slows_the_machine() -> None:
    points = "".join(f"X{n * 0.1:.1f}\n" for n in range(1, 1001))
    text = f"G21 G90 G54 T1 M6\nS9000 M3\nG0 X0 Y0 Z0\nG1 F6000\n{points}M2\n"
    program = read_program(text)
    segments = segments_of(program, {1: 0}, ceiling=0)
    slow = ROUTER.model_copy(update={"lines_per_second": 200.0})
    # 200 lines of 0.1 mm a second are 20 mm/s, and 5 s for 1000 lines; full speed is 83 mm/s.
    assert run_time(program, segments, slow).total == pytest.approx(5.0, rel=0.02)
    assert run_time(program, segments, ROUTER).total < 2


def stepped_seconds(points: np.ndarray, speed: float, limits: Limits, tick: float = 2e-4) -> float:
    """Run a way tick by tick: go faster if every corner ahead can still be braked for.

    Another method than the clock's: no passes, no trapezoids; corner speeds from the arc that is
    tangent to both pieces and passes the corner at the permitted deviation.
    """
    step = np.diff(points, axis=0)
    length = np.linalg.norm(step, axis=1)
    way = step / length[:, None]
    place = np.concatenate([[0], np.cumsum(length)])
    can = np.array(
        [min(a / abs(u) for a, u in zip(limits.accelerations, d, strict=True) if u) for d in way]
    )
    rate = np.array(
        [min(v / abs(u) for v, u in zip(limits.rates, d, strict=True) if u) for d in way]
    )
    top = np.minimum(speed, rate)
    corner = [0.0]
    for n in range(1, len(way)):
        change = way[n] - way[n - 1]
        turn = 2 * np.arcsin(min(1.0, np.linalg.norm(change) / 2))
        if turn < 1e-9:
            corner.append(min(top[n - 1], top[n]))
            continue
        unit = change / np.linalg.norm(change)
        most = min(
            a / abs(u) for a, u in zip(limits.accelerations, unit, strict=True) if abs(u) > 1e-12
        )
        half = turn / 2
        radius = 0.01 * np.cos(half) / max(1e-15, 1 - np.cos(half))
        radius = min(radius, (length[n - 1] + length[n]) / 2 / turn)
        corner.append(min(top[n - 1], top[n], np.sqrt(most * radius)))
    corner.append(0.0)
    corner = np.array(corner)
    at, v, n, spent = 0.0, 0.0, 0, 0.0
    while at < place[-1] - 1e-4:
        while n + 1 < len(way) and at >= place[n + 1]:
            n += 1
        faster = min(v + can[n] * tick, top[n])
        ahead, energy = n + 1, 0.0
        fits = True
        from_here = at + faster * tick
        while ahead <= len(way):
            piece = max(0.0, place[ahead] - max(from_here, place[ahead - 1]))
            energy += 2 * can[ahead - 1] * piece
            if faster**2 > corner[ahead] ** 2 + energy:
                fits = False
                break
            if energy > faster**2:
                break
            ahead += 1
        v = faster if fits else max(v - can[n] * tick, 0.5)
        at += v * tick
        spent += tick
        assert spent < 1000
    return spent


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_clock_agrees_with_a_step_by_step_run(seed: int) -> None:
    """Zigzags, arcs in chords and wandering ways, each axis with its own limits: within 10 %."""
    generator = np.random.default_rng(seed)
    limits = Limits((120, 100, 50), (600, 400, 250))
    angle = np.linspace(0, 2 * np.pi, 91)
    arcs = np.column_stack([12 * np.cos(angle), 12 * np.sin(angle), 0 * angle])
    rows = np.array([[20.0 * (n // 2 % 2), (n + 1) // 2 * 0.8, 0] for n in range(1, 16)])
    wander = np.cumsum(generator.normal(scale=[3, 3, 0.7], size=(60, 3)), axis=0)
    points = np.vstack([arcs, rows + arcs[-1], wander + (rows + arcs[-1])[-1]])
    ends = np.hstack([points[:-1], points[1:]])
    halts = np.zeros(len(ends) + 1, dtype=np.bool_)
    clock = piece_seconds(ends, np.full(len(ends), 80.0), halts, limits).sum()
    assert clock == pytest.approx(stepped_seconds(points, 80.0, limits), rel=0.1)
    assert clock > np.linalg.norm(np.diff(points, axis=0), axis=1).sum() / 80
