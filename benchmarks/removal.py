"""How fast a program is read and cut, and how that grows: three spacings of one finishing pass.

The pass is a ball of 6 mm over a wavy top, in lines 0.45 mm apart and steps of 0.5 mm, on a plate
of 300 by 300 mm. A node visit is a node within the ball's radius of a move (area of the swept
strip over spacing²); tiles that are already low enough are passed over, so that not all of them
are really worked out. Processor seconds are given beside the clock's, since other work on the
machine slows the clock.

A second table is the finishing of a pre-roughed plate of 3000 by 3000 nodes in 120,000 moves, also
as a ratio to one pass of numpy over the same nodes (their minimum with another array).

Run: python benchmarks/removal.py [lines of program]
"""

from __future__ import annotations

import sys
import time
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import Cutter, CutterKind
from chape.cutting.read import read_program
from chape.cutting.remove import remove
from chape.cutting.segments import Segments, segments_of
from chape.field.grid import Grid
from chape.field.heights import HeightField

if TYPE_CHECKING:
    from chape.field.grid import Floats

SIZE = 300.0
BALL = Cutter(
    number=1,
    name="6 mm ball",
    kind=CutterKind.BALL,
    diameter=6,
    corner=3,
    flute_length=20,
    stick_out=30,
    shank_diameter=6,
    holder_diameter=20,
    flutes=2,
)


def wave(x: Floats, y: Floats) -> Floats:
    """Return the height of the wavy top."""
    return 5 + 2 * np.sin(x / 9) * np.cos(y / 7)


def program(lines: int, a_row: int = 600) -> str:
    """Return the text of the pass."""
    n = np.arange(lines)
    row, along = n // a_row, (n % a_row) * SIZE / a_row
    x = np.where(row % 2 == 0, along, SIZE * (1 - 1 / a_row) - along)
    y = row * 0.45
    z = wave(x, y)
    head = ["G21 G90 G17 G94 G54", "T1 M6", "S12000 M3", "G0 Z20", "G0 X0 Y0", "G1 Z10 F3000"]
    cuts = [f"X{a:.3f} Y{b:.3f} Z{c:.3f}" for a, b, c in zip(x, y, z, strict=True)]
    return "\n".join([*head, *cuts, "G0 Z20", "M5", "M30"])


def visits(segments: Segments, spacing: float) -> float:
    """Return the nodes that lie within the ball's radius of each segment, all together."""
    way = segments.ends[:, 3:5] - segments.ends[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    return float((np.pi * BALL.radius**2 + 2 * BALL.radius * length).sum()) / spacing**2


def finishing() -> None:
    """Print the second table."""
    segments = segments_of(read_program(program(120_000, 180)), {1: 0}, ceiling=100)
    x = 0.1 * np.arange(3000)
    grid = Grid(0.0, 0.0, 0.1, 3000, 3000)
    stock = HeightField(grid, wave(x[None, :], x[:, None]) + 0.5)
    z, other = stock.z.copy(), stock.z - 0.1
    begun, spent = time.perf_counter(), time.process_time()
    for _ in range(10):
        np.minimum(z, other, out=z)
    one_clock, one = (time.perf_counter() - begun) / 10, (time.process_time() - spent) / 10
    begun, spent = time.perf_counter(), time.process_time()
    taken = remove(stock, segments, [BALL])
    clock, processor = time.perf_counter() - begun, time.process_time() - spent
    print(
        f"\nfinishing, {len(segments.move)} moves, 3000 x 3000 nodes: {clock:.2f} s,"
        f" processor {processor:.2f} s; {visits(segments, 0.1) / processor / 1e6:.0f} M visits a"
        f" processor second; {taken.volume.sum() / 1000:.1f} cm³ taken away"
        f"\none pass of numpy: {one_clock * 1000:.1f} ms, processor {one * 1000:.1f} ms;"
        f" ratio {processor / one:.0f} by processor"
    )


def main() -> None:
    """Print the tables."""
    lines = int(sys.argv[1]) if len(sys.argv) > 1 else 400_000
    text = program(lines)
    begun, spent = time.perf_counter(), time.process_time()
    parsed = read_program(text)
    print(
        f"read {lines} lines: {time.perf_counter() - begun:.2f} s,"
        f" processor {time.process_time() - spent:.2f} s"
    )
    segments = segments_of(parsed, {1: 0}, ceiling=100)
    warm = HeightField.flat(Grid.over(0, 0, 10, 10, 1.0), 9.0)
    remove(warm, segments.chosen(slice(0, 100)), [BALL])
    print("spacing    nodes     s   processor s   s·spacing²   visits/processor s")
    for spacing in (0.4, 0.283, 0.2):
        stock = HeightField.flat(Grid.over(0, 0, SIZE, SIZE, spacing), 9.0)
        begun, spent = time.perf_counter(), time.process_time()
        remove(stock, segments, [BALL])
        clock, processor = time.perf_counter() - begun, time.process_time() - spent
        rate = visits(segments, spacing) / processor
        print(
            f"{spacing:7.3f} {stock.z.size:8d} {clock:6.2f} {processor:10.2f}"
            f" {processor * spacing**2:12.4f} {rate / 1e6:14.0f} M"
        )
    finishing()


if __name__ == "__main__":
    main()
