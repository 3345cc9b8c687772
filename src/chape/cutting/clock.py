"""How long a program runs on a machine that must speed up and slow down.

Symbols: a acceleration, v speed, L length of a straight piece, d the corner's permitted deviation,
θ the included angle of a corner (π goes straight on), s = sin(θ/2), φ = π − θ the turn, u the
direction of a piece.

Each axis has its own greatest rate and acceleration: along u they permit v = min vᵢ/|uᵢ| and
a = min aᵢ/|uᵢ|. A corner is passed at the speed of an inscribed arc that leaves it by d:
v² = a d s/(1 − s) (the usual rule of look-ahead controllers; common practice, no source), with a
along the change of direction. On fine chords of a true arc that alone would be far too fast, so
that the turn is also spread over the pieces beside it: v² ≤ a L/φ, with L the mean of both, which
is v² = a r on a circle. One pass backwards and one forwards bound every junction by what can be
braked for and be reached: v'² ≤ v² + 2 a L. Each piece then takes the time of its trapezoid or
triangle. A controller that reads so many lines a second passes no move faster than its length
times that many.

Not modelled: jerk, a look-ahead that ends before the program does, and a person's stops.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.cutting.parsed import EventKind
from chape.kernels import kernel

if TYPE_CHECKING:
    from chape.catalog.model import Machine
    from chape.cutting.parsed import ParsedProgram
    from chape.cutting.segments import Segments
    from chape.field.grid import Floats

#: The controller may leave a corner by this, mm (common practice, no source).
CORNER_DEVIATION = 0.01


@dataclass(frozen=True, slots=True)
class RunTime:
    """Seconds of a program.

    Attributes:
        total: moves and dwells, s.
        by_cutter: (cutter number, seconds), in order of number.
        at_full_speed: the same way were nothing ever to speed up or slow down, and the dwells: no
            machine is quicker, s.
        changes: how often a cutter is changed.
        change_seconds: of all the changes, s.
    """

    total: float
    by_cutter: tuple[tuple[int, float], ...]
    at_full_speed: float
    changes: int
    change_seconds: float


@dataclass(frozen=True, slots=True)
class Limits:
    """What the axes can do.

    Attributes:
        rates: highest speed of x, y and z, mm/s.
        accelerations: of x, y and z, mm/s².
    """

    rates: tuple[float, float, float]
    accelerations: tuple[float, float, float]

    @classmethod
    def of(cls, machine: Machine) -> Limits:
        """Return the limits of a machine."""
        x, y, z = machine.axis_rates
        return cls((x / 60, y / 60, z / 60), machine.axis_accelerations)


def run_time(program: ParsedProgram, segments: Segments, machine: Machine) -> RunTime:
    """Return how long a program runs.

    Args:
        program: as read.
        segments: the same program in straight pieces.
        machine: its rates and accelerations.
    """
    limits = Limits.of(machine)
    feed = np.where(segments.rapid, inf, program.feed[segments.move]) / 60
    # A cutting move without a feed is an error of its own; here it runs as a rapid.
    speed = np.where(feed > 0, feed, inf)
    step = segments.ends[:, 3:] - segments.ends[:, :3]
    length = np.sqrt((step * step).sum(axis=1))
    if machine.lines_per_second is not None:
        whole = np.bincount(segments.move, length, minlength=len(program))
        starved = whole[segments.move] * machine.lines_per_second
        speed = np.where(length > 0, np.minimum(speed, starved), speed)
    halts = np.zeros(len(segments.move) + 1, dtype=np.bool_)
    dwells: list[tuple[int, float]] = []
    for event in program.events:
        halts[np.searchsorted(segments.move, event.move)] = True
        if event.kind is EventKind.DWELL:
            dwells.append((event.move, event.value))
    seconds = piece_seconds(segments.ends, speed, halts, limits)
    numbers = program.cutter
    spent = dict.fromkeys(sorted({int(n) for n in numbers}), 0.0)
    of = numbers[segments.move]
    for number in spent:
        spent[number] = float(seconds[of == number].sum())
    waiting = 0.0
    for move, wait in dwells:
        if len(numbers):
            spent[int(numbers[min(move, len(numbers) - 1)])] += wait
            waiting += wait
    fastest = np.minimum(speed, along_limit(step, limits.rates))
    changes = _changes(numbers)
    return RunTime(
        sum(spent.values()),
        tuple(spent.items()),
        float((length / fastest).sum()) + waiting,
        changes,
        changes * machine.change_seconds,
    )


def _changes(numbers: npt.NDArray[np.integer]) -> int:
    """Return how often another cutter is put in, the first one counted."""
    return int(len(numbers) > 0) + int(np.count_nonzero(np.diff(numbers)))


def along_limit(step: Floats, limits: tuple[float, float, float]) -> Floats:
    """Return (n,) what a limit of every axis permits along each step (n, 3)."""
    length = np.sqrt((step * step).sum(axis=1))
    share = np.abs(step) / np.where(length > 0, length, 1.0)[:, None]
    with np.errstate(divide="ignore"):
        permitted: Floats = np.where(share > 0, np.array(limits) / share, inf).min(axis=1)
    return np.where(length > 0, permitted, np.float64(max(limits)))


def piece_seconds(
    ends: Floats, speed: Floats, halts: npt.NDArray[np.bool_], limits: Limits
) -> Floats:
    """Return (n,) seconds of each straight piece.

    Args:
        ends: (n, 6) start and end, mm.
        speed: (n,) programmed speed, mm/s; infinite for as fast as the axes go.
        halts: (n + 1,) whether the machine stands still before each piece, and after the last.
        limits: what the axes can do.
    """
    step = ends[:, 3:] - ends[:, :3]
    length = np.sqrt((step * step).sum(axis=1))
    seconds: Floats = _trapezoids(
        step,
        length,
        np.minimum(speed, along_limit(step, limits.rates)),
        halts,
        along_limit(step, limits.accelerations),
        np.array(limits.accelerations, dtype=np.float64),
    )
    return seconds


@kernel
def _trapezoids(
    step: Floats,
    length: Floats,
    speed: Floats,
    halts: npt.NDArray[np.bool_],
    acceleration: Floats,
    by_axis: Floats,
) -> Floats:
    """Return the seconds of each piece after both passes."""
    count = len(length)
    squared = np.zeros(count + 1)
    previous = -1
    for n in range(count):
        if length[n] <= 1e-12:
            if halts[n]:
                previous = -1
            continue
        if previous >= 0 and not halts[n]:
            before, after = step[previous] / length[previous], step[n] / length[n]
            mean = (length[previous] + length[n]) / 2
            fastest = min(speed[previous], speed[n]) ** 2
            squared[n] = min(fastest, _corner(before, after, mean, by_axis))
        previous = n
    for n in range(count - 1, -1, -1):
        if length[n] > 1e-12:
            squared[n] = min(squared[n], squared[n + 1] + 2 * acceleration[n] * length[n])
        else:
            # A piece without length hands on the speed of its neighbour.
            squared[n] = 0.0 if halts[n] else squared[n + 1]
    seconds = np.zeros(count)
    entry = 0.0
    for n in range(count):
        if length[n] <= 1e-12:
            entry = 0.0 if halts[n] else entry
            continue
        entry = min(entry, squared[n])
        gained = entry + 2 * acceleration[n] * length[n]
        leave = min(squared[n + 1], gained, speed[n] ** 2)
        seconds[n] = _piece(length[n], entry, leave, speed[n], acceleration[n])
        entry = leave
    return seconds


@kernel
def _corner(before: Floats, after: Floats, mean_length: float, by_axis: Floats) -> float:
    """Return the square of the speed a corner may be passed at, mm²/s².

    Args:
        before: (3,) direction of length 1.
        after: the same, of the next piece.
        mean_length: of the pieces beside it, mm.
        by_axis: (3,) accelerations, mm/s².
    """
    cosine = min(1.0, max(-1.0, (before * after).sum()))
    if cosine > 1 - 1e-12:
        return inf
    change = after - before
    size = np.sqrt((change * change).sum())
    acceleration = inf
    for axis in range(3):
        share = abs(change[axis]) / size
        if share > 1e-12:
            acceleration = min(acceleration, by_axis[axis] / share)
    # The included angle is pi less the turn, so that sin(angle / 2) = cos(turn / 2).
    s = np.sqrt(max(0.0, (1 + cosine) / 2))
    turn = np.arccos(cosine)
    junction = acceleration * CORNER_DEVIATION * s / max(1e-15, 1 - s)
    return float(min(junction, acceleration * mean_length / turn))


@kernel
def _piece(length: float, entry: float, leave: float, speed: float, acceleration: float) -> float:
    """Return the seconds of one piece; entry and leave are squares of speeds."""
    peak = min(speed * speed, (entry + leave) / 2 + acceleration * length)
    peak = max(peak, entry, leave)
    v, v_in, v_out = np.sqrt(peak), np.sqrt(entry), np.sqrt(leave)
    ramps = (2 * peak - entry - leave) / (2 * acceleration)
    return float((2 * v - v_in - v_out) / acceleration + max(0.0, length - ramps) / v)
