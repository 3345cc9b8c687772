"""How long a program runs on a machine that must speed up and slow down.

Symbols: a acceleration, v speed, L length of a straight piece, d the corner's permitted deviation,
θ the included angle of a corner (π goes straight on), s = sin(θ/2), φ = π − θ the turn.

A corner is passed at the speed of an inscribed arc that leaves it by d: v² = a d s/(1 − s)
(the usual rule of look-ahead controllers; common practice, no source). On fine chords of a true
arc that alone would be far too fast, so that the turn is also spread over the pieces beside it:
v² ≤ a L/φ, with L the mean of both, which is v² = a r on a circle. One pass backwards and one
forwards bound every junction by what can be braked for and be reached: v'² ≤ v² + 2 a L. Each
piece then takes the time of its trapezoid or triangle.

Not modelled: limits per axis, jerk, how many lines a second the controller can read, and the time
of cutter changes and of stops.
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
    """

    total: float
    by_cutter: tuple[tuple[int, float], ...]


def run_time(program: ParsedProgram, segments: Segments, machine: Machine) -> RunTime:
    """Return how long a program runs.

    Args:
        program: as read.
        segments: the same program in straight pieces.
        machine: its rapid rate and acceleration.
    """
    feed = np.where(segments.rapid, machine.rapid, program.feed[segments.move]) / 60
    # A cutting move without a feed is an error of its own; it takes no part in the time.
    speed = np.where(np.isfinite(feed) & (feed > 0), feed, machine.rapid / 60)
    halts = np.zeros(len(segments.move) + 1, dtype=np.bool_)
    dwells: list[tuple[int, float]] = []
    for event in program.events:
        halts[np.searchsorted(segments.move, event.move)] = True
        if event.kind is EventKind.DWELL:
            dwells.append((event.move, event.value))
    seconds = piece_seconds(segments.ends, speed, halts, machine.acceleration)
    numbers = program.cutter
    spent = dict.fromkeys(sorted({int(n) for n in numbers}), 0.0)
    of = numbers[segments.move]
    for number in spent:
        spent[number] = float(seconds[of == number].sum())
    for move, wait in dwells:
        if len(numbers):
            spent[int(numbers[min(move, len(numbers) - 1)])] += wait
    return RunTime(sum(spent.values()), tuple(spent.items()))


def piece_seconds(
    ends: Floats, speed: Floats, halts: npt.NDArray[np.bool_], acceleration: float
) -> Floats:
    """Return (n,) seconds of each straight piece.

    Args:
        ends: (n, 6) start and end, mm.
        speed: (n,) programmed speed, mm/s.
        halts: (n + 1,) whether the machine stands still before each piece, and after the last.
        acceleration: mm/s².
    """
    step = ends[:, 3:] - ends[:, :3]
    length = np.sqrt((step * step).sum(axis=1))
    seconds: Floats = _trapezoids(step, length, speed, halts, acceleration)
    return seconds


@kernel
def _trapezoids(
    step: Floats,
    length: Floats,
    speed: Floats,
    halts: npt.NDArray[np.bool_],
    acceleration: float,
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
            fastest = min(speed[previous], speed[n]) ** 2
            across = 0.0
            for axis in range(3):
                across += step[previous, axis] * step[n, axis]
            cosine = min(1.0, max(-1.0, across / (length[previous] * length[n])))
            corner = _corner(cosine, (length[previous] + length[n]) / 2, acceleration)
            squared[n] = min(fastest, corner)
        previous = n
    for n in range(count - 1, -1, -1):
        if length[n] > 1e-12:
            squared[n] = min(squared[n], squared[n + 1] + 2 * acceleration * length[n])
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
        leave = min(squared[n + 1], entry + 2 * acceleration * length[n], speed[n] ** 2)
        seconds[n] = _piece(length[n], entry, leave, speed[n], acceleration)
        entry = leave
    return seconds


@kernel
def _corner(cosine: float, mean_length: float, acceleration: float) -> float:
    """Return the square of the speed a corner may be passed at, mm²/s²."""
    if cosine > 1 - 1e-12:
        return inf
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
