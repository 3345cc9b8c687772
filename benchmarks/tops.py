"""Broad tops one by one: rings along their edge, or straight lines to and fro, by the clock.

    python benchmarks/tops.py [SHEATH.toml] [--spacing 0.4]

What a router loses on a top whatever way it is covered: at every corner of a ring, or at every end
of a line. Lines lie as far apart as the ridge permits across them, for nine tenths of each.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from machine_time import DEMO, setups

from chape.catalog.read import catalog
from chape.cutting.ball import Ball
from chape.cutting.bound import PLATE
from chape.cutting.choose import finishing_cutters
from chape.cutting.clock import Limits, along_limit, piece_seconds
from chape.cutting.finish import MAP_SHARE
from chape.cutting.gentle import MAP_SPACING
from chape.cutting.locate import stepped, tip_map
from chape.cutting.rates import rates_for
from chape.cutting.rings import SPARE, ring_runs
from chape.cutting.runs import apart_everywhere, line_runs, patches
from chape.cutting.zones import zones

if TYPE_CHECKING:
    from chape.cutting.model import Setup
    from chape.field.grid import Floats
    from chape.field.heights import HeightField

#: Tops narrower than twice this are left out, mm; low ground flatter than this is none.
BROAD = 5.0
FLATTEST = 0.02

#: Lines that begin so near to the end of the one before are one, mm.
JOINED = 1.5


def seconds(
    runs: list[Floats], reach: HeightField, feed: float, limits: Limits
) -> tuple[float, float]:
    """Return how long runs over a tip's map take, and how long at their feed alone."""
    took = fed = 0.0
    for run in runs:
        way = stepped(run, 0.5)
        points = np.column_stack([way, reach.at(way)])
        step = np.diff(points, axis=0)
        speed = np.full(len(step), feed / 60)
        halts = np.zeros(len(step) + 1, dtype=np.bool_)
        ends = np.hstack([points[:-1], points[1:]])
        took += float(piece_seconds(ends, speed, halts, limits).sum())
        fastest = np.minimum(speed, along_limit(step, limits.rates))
        fed += float((np.linalg.norm(step, axis=1) / fastest).sum())
    return took, fed


def lines(reach: HeightField, top: np.ndarray, step: float, *, along_y: bool) -> list[Floats]:
    """Return straight lines over a top, those beside each other as one."""
    by_y, by_x = np.gradient(reach.z, reach.grid.spacing)
    along = by_y if along_y else by_x
    apart = step * np.sqrt((1 + along**2) / (1 + by_x**2 + by_y**2))
    turned, inside = (apart.T, top.T) if along_y else (apart, top)
    wide = np.full(turned.shape, step)
    for n in np.flatnonzero(inside.any(axis=1)):
        wide[n] = np.quantile(turned[n, inside[n]], 0.1)
    runs = line_runs(reach, top, (wide.T if along_y else wide) * SPARE, along_y=along_y)
    chains = [[runs[0]]]
    for run in runs[1:]:
        near = np.hypot(*(run[0] - chains[-1][-1][-1])) < JOINED
        chains[-1].append(run) if near else chains.append([run])
    return [np.vstack(chain) for chain in chains]


def print_tops(setup: Setup) -> None:
    """Print a line for every broad top of a plate."""
    material = setup.material or catalog().material(PLATE)
    cutter = finishing_cutters(setup.cutters)[0]
    rates, limits = rates_for(cutter, material, setup.machine), Limits.of(setup.machine)
    ball = Ball(cutter.radius, rates, setup.scallop)
    spacing = max(MAP_SHARE * ball.radius, MAP_SPACING, setup.target.grid.spacing)
    reach = tip_map(setup.target, ball.body, spacing)
    slope = np.hypot(*np.gradient(reach.z, spacing))
    high = reach.z > float(reach.z.max()) / 2
    _, shallow = zones(reach, (slope > FLATTEST) | high)
    total = np.zeros(3)
    for part in patches(reach, shallow & high):
        top = np.zeros_like(shallow)
        top[part.place] = part.zone
        height, width = (spacing * np.ptp(side) for side in np.nonzero(top))
        if min(height, width) < 2 * BROAD:
            continue
        apart = apart_everywhere(reach, ball.step)
        rings, fed = seconds(ring_runs(reach, top, apart), reach, rates.feed, limits)
        tried = [lines(reach, top, ball.step, along_y=along_y) for along_y in (False, True)]
        straight = min(seconds(runs, reach, rates.feed, limits)[0] for runs in tried)
        total += rings, straight, fed
        print(
            f"{width:5.0f} x {height:3.0f} mm: rings {rings:5.1f} s, lines {straight:5.1f} s; "
            f"rings at their feed alone {fed:5.1f} s"
        )
    rings, straight, fed = total / 60
    print(
        f"in all rings {rings:.1f} min, lines {straight:.1f} min, at the feed alone {fed:.1f} min"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("file", nargs="?", type=Path, default=DEMO / "camp-sheath.toml")
    parser.add_argument("--spacing", type=float)
    asked = parser.parse_args()
    found, _ = setups(asked.file, asked.spacing)
    print_tops(next(setup for setup in found if setup.name == "mould-top"))
