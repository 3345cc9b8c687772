"""What a careful person's plan of the same mould would take, run by the same clock.

    python benchmarks/careful_plan.py [SHEATH.toml] [--spacing 0.4]

The plan is made with ordinary means: the same cutters, feeds, depths, step-over, ridge and rules on
how deep a cut either cutter may meet. Levels are cleared in straight lines to and fro and once
along their edges, or in chape's own rings, whichever is quicker. All sloping ground is finished
with the ball, in straight lines to and fro where it is shallow and in contours where it is steep.
Lines are laid along x and along y, and the quicker way counts. It has chape's own rings, order of
lines and ways from one into the next, which flatters it. It has no lines of the flat cutter on
gentle ground, no creases and no close rings, so that more is left in fillets: that is printed too.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from machine_time import DEMO, left_over, setups, spent, surfaces
from shapely import LineString

from chape.catalog.read import catalog
from chape.cutting.ball import Ball
from chape.cutting.bound import LEVEL, PLATE, figures_of, least_time
from chape.cutting.check import check_texts
from chape.cutting.choose import finishing_cutters, roughing_cutter
from chape.cutting.contours import contour_runs
from chape.cutting.dialects import facts_of
from chape.cutting.finish import MAP_SHARE, Way, cut_runs
from chape.cutting.gentle import enter_down
from chape.cutting.ground import Ground
from chape.cutting.levels import deep_levels, hill_levels, level_hills
from chape.cutting.link import Track, safe_height
from chape.cutting.locate import lean_of, tip_map
from chape.cutting.model import Operation, OperationKind, Program, Setup
from chape.cutting.pace import Flat, feed_along
from chape.cutting.plan import plan_program
from chape.cutting.rates import rates_for
from chape.cutting.rough import Free, regions_of, rough
from chape.cutting.runs import apart_everywhere, line_runs
from chape.cutting.write import write_program
from chape.cutting.zones import zones

if TYPE_CHECKING:
    from chape.catalog.dialect import Dialect
    from chape.field.grid import Floats


def careful_program(setup: Setup, *, along_y: bool) -> Program:
    """Return the surfaces of a plate in straight lines along one axis."""
    material = setup.material or catalog().material(PLATE)
    flat, ball = roughing_cutter(setup.cutters), finishing_cutters(setup.cutters)[0]
    rates, finest = (rates_for(cutter, material, setup.machine) for cutter in (flat, ball))
    safe = safe_height(setup)
    tried = []
    for lines in (True, False):
        own = Ground(setup.stock)
        track = _levels(setup, own, Flat(flat.radius, rates), lines=lines, along_y=along_y)
        title = "Levels, in lines" if lines else "Levels, in rings"
        cut = Operation(OperationKind.ROUGH, title, flat, rates.spindle, track.moves())
        print("  tried: " + spent(cut, setup))
        tried.append((figures_of(Program(setup, (cut,))).surface_seconds, cut, own))
    _, cut, ground = min(tried, key=lambda each: each[0])
    operations = [cut]
    cutter, surface = Ball(ball.radius, finest, setup.scallop), setup.target
    spacing = max(MAP_SHARE * cutter.radius, surface.grid.spacing)
    reach = tip_map(surface, cutter.body, spacing)
    way = Way(surface, ground, lean_of(reach), cutter, safe)
    sloping = np.hypot(*np.gradient(reach.z, spacing)) > LEVEL
    steep, shallow = zones(reach, sloping)
    apart = apart_everywhere(reach, cutter.step)
    for title, runs in (
        ("Contours", contour_runs(surface, cutter.body, reach, steep, cutter.step)),
        ("Lines", line_runs(reach, shallow, apart, along_y=along_y)),
    ):
        moves = cut_runs(way, runs).moves()
        operations.append(Operation(OperationKind.FINISH, title, ball, finest.spindle, moves))
    return Program(setup, tuple(operations))


def _levels(setup: Setup, ground: Ground, cutter: Flat, *, lines: bool, along_y: bool) -> Track:
    """Return every level in rings, or in lines to and fro, then once along its edge."""
    track = Track(safe_height(setup))
    top, free = float(ground.z.max()), Free.over(setup.target, cutter.radius)
    deep = deep_levels(setup.target, top, cutter.rates.depth)
    others = [*level_hills(setup.target, deep, top), *hill_levels(deep, top)]
    if not lines:
        return rough(free, ground, cutter, safe_height(setup), [*deep, *others])
    for level in [*deep, *others]:
        region, allowed = regions_of(level, free, ground, cutter.radius)
        for line in (*_to_and_fro(region, cutter.step, allowed, along_y=along_y), *_edges(region)):
            path = np.column_stack([line, np.full(len(line), level.height)])
            track.leave(ground, cutter.radius, cutter.rates.feed)
            enter_down(track, ground, cutter, path)
            feed_along(track, ground, cutter, path)
    track.leave(ground, cutter.radius, cutter.rates.feed)
    track.lift()
    return track


def _edges(region: shapely.MultiPolygon) -> list[Floats]:
    rings = [ring for part in region.geoms for ring in (part.exterior, *part.interiors)]
    return [np.asarray(ring.coords) for ring in rings]


def _to_and_fro(
    region: shapely.MultiPolygon, step: float, allowed: shapely.Geometry, *, along_y: bool
) -> list[Floats]:
    """Return lines over a region, those that lie beside each other as one, walked to and fro."""
    x0, y0, x1, y1 = region.bounds if not region.is_empty else (0.0, 0.0, 0.0, 0.0)
    low, high = (x0, x1) if along_y else (y0, y1)
    rows: list[list[Floats]] = []
    for at in np.linspace(low, high, int(np.ceil((high - low) / step)) + 1)[1:-1]:
        line = LineString([(at, y0), (at, y1)] if along_y else [(x0, at), (x1, at)])
        parts = shapely.get_parts(region.intersection(line))
        rows.append([np.asarray(part.coords) for part in parts if part.length > step])
    shapely.prepare(allowed)
    walked: list[Floats] = []
    for n in range(len(rows)):
        while rows[n]:
            chain, row = [rows[n].pop(0)], n + 1
            while row < len(rows) and rows[row]:
                ends = [end for line in rows[row] for end in (line, line[::-1])]
                away = [float(np.hypot(*(end[0] - chain[-1][-1]))) for end in ends]
                nearest = int(np.argmin(away))
                across = LineString([chain[-1][-1], ends[nearest][0]])
                if across.length > 3 * step or not allowed.covers(across):
                    break
                chain.append(ends[nearest])
                del rows[row][nearest // 2]
                row += 1
            walked.append(np.vstack(chain))
    return walked


def _compared(setup: Setup, words: Dialect) -> None:
    """Print the careful person's plan beside chape's."""
    bound = least_time(setup)
    plans = [careful_program(setup, along_y=along_y) for along_y in (False, True)]
    careful = min(plans, key=lambda plan: figures_of(plan).surface_seconds)
    times = []
    for title, program in (("a careful person", careful), ("chape", plan_program(setup))):
        verdict = check_texts(write_program(program, words), setup, facts_of(words))
        print(f"\n{setup.title}: {title}")
        for cut in program.operations:
            if cut.kind in {OperationKind.ROUGH, OperationKind.FINISH}:
                print("  " + spent(cut, setup))
        if bound is not None:
            surfaces(program, bound)
        print(f"  {left_over(setup, verdict.leftover.z)}, gouge {verdict.gouge_most:.4f} mm")
        times.append(figures_of(program).surface_seconds)
    print(f"  chape takes {times[1] / times[0]:.2f} of the careful person's time")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("file", nargs="?", type=Path, default=DEMO / "camp-sheath.toml")
    parser.add_argument("--spacing", type=float)
    asked = parser.parse_args()
    found, dialect = setups(asked.file, asked.spacing)
    _compared(next(setup for setup in found if setup.name == "mould-top"), dialect)
