"""Where the machine's time goes: every cut of mould and fixture against the least-time yardstick.

    python benchmarks/machine_time.py [SHEATH.toml] [--spacing 0.4]

Without a file, the demo's sheath at the snap depth in its file. Each cut: its length, the time it
takes at its feeds, what speeding up and slowing down add, rapids; and the CPU time of planning.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.bound import LEVEL, Bound, figures_of, least_time, seconds_of
from chape.cutting.check import check_texts
from chape.cutting.clock import Limits, along_limit
from chape.cutting.dialects import facts_of
from chape.cutting.model import Motion, Moves, Operation, OperationKind, Program, Setup
from chape.cutting.plan import plan_program
from chape.cutting.write import write_program
from chape.pipeline.clamp import setups_of
from chape.pipeline.file import read_request
from chape.pipeline.keep import Keep
from chape.pipeline.run import dialect_of, run_knife, run_sheath, run_tooling
from chape.pipeline.stages import Stages

if TYPE_CHECKING:
    from chape.catalog.dialect import Dialect

#: What the surfaces would take if the axes sped up so many times as fast.
STIFFER = 2, 4, 6

DEMO = Path(__file__).parents[1] / "src/chape/demo"


def spent(operation: Operation, setup: Setup) -> str:
    """Return one line on a cut. Arcs count as their chords."""
    moves, limits = operation.moves, Limits.of(setup.machine)
    step = np.diff(moves.end, axis=0, prepend=moves.end[:1])
    length = np.linalg.norm(step, axis=1)
    rapid = moves.motion == Motion.RAPID
    seconds = seconds_of(moves, limits)
    feed = np.where(rapid, np.inf, moves.feed) / 60
    fed = length / np.minimum(feed, along_limit(step, limits.rates))
    return (
        f"{operation.title:52s} T{operation.cutter.number} {seconds.sum() / 60:6.1f} min: "
        f"{length[~rapid].sum() / 1000:5.1f} m in {fed[~rapid].sum() / 60:5.1f}, "
        f"speeding up {(seconds - fed)[~rapid].sum() / 60:4.1f}, "
        f"rapids {seconds[rapid].sum() / 60:4.1f}, "
        f"of which the order saves {operation.rapid_saved / 1000:.1f} m"
    )


def surfaces(program: Program, bound: Bound) -> None:
    """Print the time of the surfaces beside the yardstick, as if nothing had to speed up and so."""
    cuts = [n for n in program.operations if n.kind in {OperationKind.ROUGH, OperationKind.FINISH}]
    took = figures_of(program).surface_seconds
    limits = Limits.of(program.setup.machine)
    fed = sum(at_feeds(cut.moves, limits) for cut in cuts)
    print(
        f"  surfaces {took / 60:.1f} min, at the feeds alone {fed / 60:.1f}; the yardstick "
        f"{bound.seconds / 60:.1f} (rough {bound.rough / 60:.1f}, finish {bound.finish / 60:.1f}), "
        f"with stops {bound.with_stops / 60:.1f}:\n"
        f"  at the feeds {fed / bound.seconds:.2f} times the yardstick, "
        f"with speeding up {took / bound.with_stops:.2f} times the one with stops, "
        f"{took / bound.seconds:.2f} times the one without;"
    )
    for times in STIFFER:
        livelier = replace(limits, accelerations=tuple(times * a for a in limits.accelerations))
        seconds = sum(float(seconds_of(cut.moves, livelier).sum()) for cut in cuts)
        print(
            f"  the same cuts on axes of {livelier.accelerations[0]:.0f} mm/s²: "
            f"{seconds / 60:.1f} min, {seconds / bound.seconds:.2f} times"
        )


def at_feeds(moves: Moves, limits: Limits) -> float:
    """Return how long moves take, rapids too, on a machine that need not speed up, s."""
    step = np.diff(moves.end, axis=0, prepend=moves.end[:1])
    feed = np.where(moves.motion == Motion.RAPID, np.inf, moves.feed) / 60
    length = np.linalg.norm(step, axis=1)
    return float((length / np.minimum(feed, along_limit(step, limits.rates))).sum())


def left_over(setup: Setup, leftover: np.ndarray) -> str:
    """Say how much of the finished ground that is not level came out."""
    slope = np.hypot(*np.gradient(setup.target.z, setup.target.grid.spacing))
    cut = (slope > LEVEL) & (setup.stock.z > setup.target.z)
    area = np.hypot(1, slope[cut])
    share = area[leftover[cut] <= 0.03].sum() / area.sum()
    worst = np.percentile(leftover[cut], 99)
    return (
        f"at most 0.03 mm left on {share:.2%} of the sloping ground, 0.99 quantile {worst:.4f} mm"
    )


def setups(file: Path, spacing: float | None) -> tuple[tuple[Setup, ...], Dialect]:
    """Return the clampings of a sheath file, its hold not solved for, and the dialect."""
    with TemporaryDirectory() as place:
        folder = Path(place)
        for other in file.parent.glob("*.toml"):
            lines = other.read_text().splitlines()
            if spacing is not None:
                lines = [f"spacing = {spacing}" if n.startswith("spacing") else n for n in lines]
            lines = [line for line in lines if not line.startswith("hold =")]
            (folder / other.name).write_text("\n".join(lines))
        request = read_request(folder / file.name)
        stages = Stages(Keep(None), lambda _title: None)
        key, knife = run_knife(request, stages)
        key, (sheath, _) = run_sheath(request, stages, key, knife, None)
        _, tooling = run_tooling(request, stages, key, sheath)
        return setups_of(request, tooling.mould, tooling.fixture), dialect_of(request)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("file", nargs="?", type=Path, default=DEMO / "camp-sheath.toml")
    parser.add_argument("--spacing", type=float)
    asked = parser.parse_args()
    found, words = setups(asked.file, asked.spacing)
    for setup in found:
        if setup.name not in {"mould-top", "fixture"}:
            continue
        begun = time.process_time()
        program = plan_program(setup)
        planned = time.process_time() - begun
        verdict = check_texts(write_program(program, words), setup, facts_of(words))
        bound = least_time(setup)
        print(f"\n{setup.title}: {verdict.seconds / 60:.1f} min, planned in {planned:.1f} s of CPU")
        for operation in program.operations:
            print("  " + spent(operation, setup))
        if bound is not None:
            surfaces(program, bound)
        print(
            f"  {left_over(setup, verdict.leftover.z)}, deepest gouge {verdict.gouge_most:.4f} mm"
        )
        for finding in verdict.findings:
            print(f"  {finding.severity.value}: {finding.code}: {finding.message}")
