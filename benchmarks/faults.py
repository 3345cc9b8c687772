"""How many faults the checker catches, kind by kind, in a larger run than the standing test.

Four small boards (mould, back, fixture, trim) are broken in each way of ``tests/program_faults``,
as often as asked; with ``--job`` also the four programs of the demo's small job, on a coarse grid,
once in each way. Every fault that passes is cut again by a careless machine that shares nothing
with the checker; a fault that then spoils the piece by more than 0.05 mm is a missed one, and ends
the run with an error. Twenty tries are some 2,400 faults and take two or three minutes of a
processor; the job takes about as long again.

Run: python benchmarks/faults.py [tries of each kind] [--job]
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from chape.catalog.read import catalog
from chape.cli.new import start_folder
from chape.cutting.plan import plan_program
from chape.cutting.write import write_program
from chape.pipeline.clamp import setups_of
from chape.pipeline.file import read_request
from chape.pipeline.keep import Keep
from chape.pipeline.run import dialect_of, make_program, run_knife, run_sheath, run_tooling
from chape.pipeline.stages import Stages
from fault_boards import BOARDS
from fault_run import Tally, run_faults

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.cutting.model import Setup

#: Grid of the demo's job here, mm.
COARSE = 0.8
OUTCOMES = ("caught", "same", "harmless", "missed")


def boards() -> Iterator[tuple[str, str, Setup]]:
    """Yield name, text and setup of the small boards."""
    for name, make in BOARDS.items():
        setup = make()
        (text,) = write_program(plan_program(setup), catalog().dialect("generic"))
        yield name, text, setup


def job() -> Iterator[tuple[str, str, Setup]]:
    """Yield the same of the programs of the demo's small job, on a coarse grid."""
    with tempfile.TemporaryDirectory() as folder:
        start_folder(Path(folder) / "job", double_edged=True)
        sheath = Path(folder) / "job" / "sheath.toml"
        text = re.sub(r"(?m)^(hold =|spacing =).*$", "", sheath.read_text("utf-8"))
        sheath.write_text(text.replace("[sheath]", f"[sheath]\nspacing = {COARSE}", 1), "utf-8")
        request, stages = read_request(sheath), Stages(Keep(None), print)
        knife_key, knife = run_knife(request, stages)
        sheath_key, (made, _) = run_sheath(request, stages, knife_key, knife, None)
        _, tooling = run_tooling(request, stages, sheath_key, made)
        setups = setups_of(request, tooling.mould, tooling.fixture)
        words = dialect_of(request)
    for setup in setups:
        (text,), verdict, _ = make_program(setup, words)
        if verdict.released:
            yield f"job {setup.name}", text, setup
        else:
            print(f"left out: {setup.name}, which is held back")


def said(name: str, tally: Tally, begun: float) -> None:
    """Say how far the run is, on the screen rather than in the table."""
    spent = time.process_time() - begun
    print(f"{name}: {tally.faults} faults so far, processor {spent:.0f} s", file=sys.stderr)


def main() -> None:
    """Print the table; end with an error where a fault was missed."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    tally, begun = Tally(), time.process_time()
    for name, text, setup in boards():
        run_faults(name, text, setup, numbers[0] if numbers else 20, tally, trust=1)
        said(name, tally, begun)
    if "--job" in sys.argv:
        for name, text, setup in job():
            run_faults(name, text, setup, 1, tally, trust=1)
            said(name, tally, begun)
    print(f"{'kind':24}" + "".join(f"{word:>10}" for word in OUTCOMES) + "   caught of those seen")
    for kind, counts in sorted(tally.kinds.items()):
        changed = counts.total() - counts["same"]
        share = f"{counts['caught'] / changed:.0%}" if changed else "-"
        print(f"{kind:24}" + "".join(f"{counts[word]:>10}" for word in OUTCOMES) + f"{share:>10}")
    whole = sum(tally.kinds.values(), Counter[str]())
    share = whole["caught"] / (tally.faults - whole["same"])
    print(f"{'all':24}" + "".join(f"{whole[word]:>10}" for word in OUTCOMES) + f"{share:>10.1%}")
    print(f"{tally.faults} faults, processor {time.process_time() - begun:.0f} s")
    for what, seed, depth in tally.missed:
        print(f"missed: {what}, seed {seed}: {depth:.3f} mm")
    sys.exit(1 if tally.missed else 0)


if __name__ == "__main__":
    main()
