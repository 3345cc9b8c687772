"""How fast cutters are located, and how that grows with the grid.

Prints, one thread each: points per second for every kind of body on a 300 by 300 mm board; the
ratio to opencamlib's drop-cutter on the same points and triangles, and how far the tips are apart,
where that is installed (it lets the side of a cone sink in where that leans on an edge; a test in
``tests/references/test_cutter_location.py`` shows which is right); and the time of ``dilate`` on
three grids. That grows a little faster than area / spacing², for a finer grid also puts more cells
under each body. Compiling is not counted; the library builds its search tree before it is timed.

    python benchmarks/cutter_location.py
"""

from __future__ import annotations

import itertools
from math import radians
from time import process_time
from typing import TYPE_CHECKING, Any

import numba
import numpy as np

from chape.field.body import Body
from chape.field.envelope import dilate, locate
from chape.field.grid import Floats, Grid
from chape.field.heights import HeightField

if TYPE_CHECKING:
    from collections.abc import Callable

BODIES = {
    "ball 6": Body.ball(3.0),
    "flat 6": Body.flat(3.0),
    "bull nose 6, corner 1": Body.bull_nose(3.0, 1.0),
    "vee 6, 90 degrees": Body.cone(radians(45), 3.0),
    "tapered ball 2 to 6, 10 degrees": Body.tapered_ball(1.0, radians(10), 3.0),
    "clearance 1.2, draft 8 degrees": Body.clearance(0.5, 1.2, radians(8), 2.6),
}


def board(spacing: float, size: float = 300.0) -> HeightField:
    """Four pillows, 6 mm high with flanks of about 80 degrees, on a board that is never level."""

    def height(x: Floats, y: Floats) -> Floats:
        z = 0.2 * np.sin(x / 5) * np.cos(y / 7)
        for cx in (75.0, 225.0):
            for cy in (75.0, 225.0):
                z += 6 / (1 + np.exp((np.hypot((x - cx) / 2.5, y - cy) - 20) / 0.35))
        return z

    return HeightField.of(Grid.over(0, 0, size, size, spacing), height)


def timed(work: Callable[[], object]) -> float:
    """Return the better of two runs, s of processor time, which a busy machine blurs least."""
    times = []
    for _ in range(2):
        start = process_time()
        work()
        times.append(process_time() - start)
    return min(times)


def lattice(low: float, high: float, step: float) -> Floats:
    """Return points on a square lattice, row by row."""
    x, y = np.meshgrid(np.arange(low, high, step), np.arange(low, high, step))
    return np.column_stack([x.ravel(), y.ravel()])


def library_drops(surface: HeightField, points: Floats, cutter: Any) -> tuple[float, Floats]:  # noqa: ANN401 - the library has no types
    """Return how long the drop-cutter library takes for the same points, s, and its tips, mm."""
    import opencamlib  # noqa: PLC0415 - only where it is installed

    grid, z = surface.grid, surface.z
    corners = [
        [
            opencamlib.Point(float(grid.x[i]), float(grid.y[j]), float(z[j, i]))
            for i in range(grid.nx)
        ]
        for j in range(grid.ny)
    ]
    solid = opencamlib.STLSurf()
    for low, high in itertools.pairwise(corners):
        for i in range(grid.nx - 1):
            solid.addTriangle(opencamlib.Triangle(low[i], low[i + 1], high[i + 1]))
            solid.addTriangle(opencamlib.Triangle(low[i], high[i + 1], high[i]))
    drop = opencamlib.BatchDropCutter()
    drop.setSTL(solid)
    drop.setCutter(cutter)
    drop.setThreads(1)
    for x, y in points:
        drop.appendPoint(opencamlib.CLPoint(float(x), float(y), -50.0))
    start = process_time()
    drop.run()
    seconds = process_time() - start
    places = [(point.x, point.y, point.z) for point in drop.getCLPoints()]
    found = {(round(x, 6), round(y, 6)): z for x, y, z in places}
    return seconds, np.array([found[round(x, 6), round(y, 6)] for x, y in points.tolist()])


def show_rates() -> None:
    """Print points per second at 0.1 mm, every half millimetre of the whole board."""
    surface, points = board(0.1), lattice(0, 300, 0.5)
    print(f"0.1 mm grid, {len(points)} points, one thread:")
    for name, body in BODIES.items():
        rate = len(points) / timed(lambda body=body: locate(surface, points, body))
        print(f"  {name:34s} {rate / 1e3:7.0f} k points/s")


def show_ratio() -> None:
    """Print how many times faster than the library, on a patch over a flank."""
    try:
        import opencamlib  # noqa: PLC0415 - only where it is installed
    except ImportError:
        print("opencamlib is not installed: no ratio.")
        return
    whole = board(0.2)
    patch = HeightField(Grid(15.0, 65.0, 0.2, 101, 101), whole.z[325:426, 75:176])
    points = lattice(0, 14, 0.7) + np.array([18.0, 68.0])
    print(f"0.2 mm grid over a flank, {len(points)} points, one thread each:")
    for name, cutter in [
        ("ball 6", opencamlib.BallCutter(6.0, 30.0)),
        ("flat 6", opencamlib.CylCutter(6.0, 30.0)),
        ("bull nose 6, corner 1", opencamlib.BullCutter(6.0, 1.0, 30.0)),
        ("vee 6, 90 degrees", opencamlib.ConeCutter(6.0, radians(45), 30.0)),
        (
            "tapered ball 2 to 6, 10 degrees",
            opencamlib.BallConeCutter(2.0, 6.0, radians(10)),
        ),
    ]:
        theirs, tips = library_drops(patch, points, cutter)
        apart = locate(patch, points, BODIES[name]) - tips
        ours = timed(lambda name=name: locate(patch, points, BODIES[name]))
        print(
            f"  {name:32s} {theirs:6.2f} s against {1e3 * ours:6.2f} ms: {theirs / ours:.0f} times;"
            f" ours {-apart.min():.1e} mm lower to {apart.max():.1e} higher,"
            f" {np.mean(np.abs(apart) > 0.001):.0%} more than 0.001 apart"
        )


def show_growth() -> None:
    """Print the time of one dilation per node, on three grids of the same board."""
    print("dilate the whole board by a ball of 6 mm, one thread:")
    for spacing in (0.4, 0.2, 0.1):
        surface = board(spacing)
        seconds = timed(lambda surface=surface: dilate(surface, BODIES["ball 6"]))
        nodes = surface.z.size
        each = 1e6 * seconds / nodes
        print(f"  {spacing} mm, {nodes:8d} nodes {seconds:6.2f} s, {each:5.2f} µs/node")


def main() -> None:
    """Run everything on one thread."""
    numba.set_num_threads(1)
    locate(board(5.0), lattice(0, 1, 0.5), BODIES["ball 6"])
    show_rates()
    show_ratio()
    show_growth()


if __name__ == "__main__":
    main()
