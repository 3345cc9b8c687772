"""Break a good program in many ways, and sort what became of each.

A fault is *caught* when the checker holds the program back. One that passes either leaves the very
same stock (*same*), or other stock within what is allowed (*harmless*), or it is *missed*: the
careless machine of ``naive_machine`` cuts more than ``MOST`` below what was wanted.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from random import Random
from typing import TYPE_CHECKING

import numpy as np

import naive_machine
from chape.cutting.check import check_program
from program_faults import FAULTS

if TYPE_CHECKING:
    from chape.cutting.model import Setup

#: No fault that cuts deeper than this may pass, mm.
MOST = 0.05
#: Stock that differs by less is the same, mm.
SAME = 1e-6


@dataclass
class Tally:
    """What became of the faults of each kind, and the texts of those that were missed."""

    kinds: dict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    missed: list[tuple[str, int, float]] = field(default_factory=list)

    @property
    def faults(self) -> int:
        return sum(counts.total() for counts in self.kinds.values())


def run_faults(name: str, text: str, setup: Setup, seeds: int, tally: Tally, trust: int) -> None:
    """Break one program ``seeds`` times in every way.

    Args:
        name: of the program; with kind and seed it fixes what chance does.
        text: the good program.
        setup: its clamping.
        seeds: tries of every kind.
        tally: is added to.
        trust: one in so many faults that the checker calls the same is carved by the careless
            machine too.
    """
    good = check_program(text, setup)
    assert good.released, good.findings
    lines = text.splitlines()
    same = 0
    for kind, fault in FAULTS.items():
        for seed in range(seeds):
            broken = fault(list(lines), Random(f"{name} {kind} {seed}"))  # noqa: S311
            if broken is None or broken == lines:
                continue
            changed = "\n".join(broken) + "\n"
            verdict = check_program(changed, setup)
            outcome = "caught"
            if verdict.released:
                outcome = "harmless"
                if np.abs(verdict.stock_after.z - good.stock_after.z).max() <= SAME:
                    outcome = "same"
                    same += 1
            if outcome == "harmless" or (outcome == "same" and same % trust == 0):
                depth = naive_machine.gouge(naive_machine.carve(changed, setup), setup)
                if depth > MOST:
                    outcome = "missed"
                    tally.missed.append((f"{name} {kind}", seed, depth))
            tally.kinds[kind][outcome] += 1
