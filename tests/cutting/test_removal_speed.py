"""Cutting the stock takes no longer than so many passes over its nodes, and no cutter much longer.

Each is processor time against processor time, measured side by side, so that a slow or a busy
machine slows both. A quarter of the plate of ``benchmarks/removal.py``: 1500 by 1500 nodes 0.1 mm
apart, 30,000 moves. Measured: a ball 450 to 580 passes, a flat 920 to 1300, a bull nose 3600 to
4200.
"""

from __future__ import annotations

from time import process_time

import numpy as np
import pytest

from chape.cutting.remove import remove
from chape.cutting.segments import Segments
from chape.field.grid import Grid
from chape.field.heights import HeightField
from cutting.proof_setups import BALL, BULL, FLAT

NODES, SPACING, MOVES, IN_A_ROW = 1500, 0.1, 30_000, 90


def wave(x, y):
    return 5 + 2 * np.sin(x / 9) * np.cos(y / 7)


def finishing() -> Segments:
    """Lines 0.45 mm apart, to and fro."""
    n = np.arange(MOVES + 1)
    row, along = n // IN_A_ROW, (n % IN_A_ROW) * NODES * SPACING / IN_A_ROW
    x = np.where(row % 2 == 0, along, NODES * SPACING * (1 - 1 / IN_A_ROW) - along)
    y = row * 0.45
    tip = np.column_stack([x, y, wave(x, y)])
    ends = np.hstack([tip[:-1], tip[1:]])
    none = np.zeros(MOVES, np.int32)
    return Segments(ends, none, none > 0, np.arange(MOVES, dtype=np.int32))


def stock() -> HeightField:
    x = SPACING * np.arange(NODES)
    return HeightField(Grid(0, 0, SPACING, NODES, NODES), wave(x[None, :], x[:, None]) + 0.5)


def seconds(work) -> float:
    begun = process_time()
    work()
    return process_time() - begun


@pytest.mark.parametrize(
    ("cutter", "share", "most"), [(BALL, 1, 690), (FLAT, 2, 1500), (BULL, 6, 5000)]
)
def test_a_finishing_pass_takes_so_many_passes_over_the_nodes(cutter, share, most) -> None:
    """Slower cutters cut a part of the way, and it counts as if they cut all of it."""
    before, path = stock(), finishing().chosen(slice(0, MOVES // share))
    remove(before, path.chosen(slice(0, 10)), [cutter])
    z, other = before.z.copy(), before.z - 0.1
    ratios = []
    for _ in range(4):
        carved = share * seconds(lambda: remove(before, path, [cutter]))
        one = min(seconds(lambda: np.minimum(z, other, out=z)) for _ in range(20))
        ratios.append(carved / one)
        if ratios[-1] < most:
            return
    pytest.fail(f"{[round(ratio) for ratio in ratios]} passes, at most {most} wanted")
