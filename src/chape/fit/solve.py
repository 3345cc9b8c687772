"""Ask for a hold, get a snap depth.

A sheath is designed and pulled at a few depths on a coarse grid and mesh, until the wanted hold
lies near; then at the job's own spacing, where the depth is set right by what was learnt. What is
found is confirmed on the very sheath that will be made, or it is not found.

Limits: the depth is at most the knife's undercut there; the strain of the sheet stays below its
limit for a joint that is used often. Fillets and draft need no limit of their own, for what is
pulled is the surface as formed, with both.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.errors import InputError
from chape.fit.bench import Bench
from chape.fit.refuse import jumped, out_of_reach, too_strained
from chape.fit.search import DECIMALS, NEAR, SAME_DEPTH, Curve, nearest, search_depth, settle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.read import Catalog
    from chape.errors import CannotMakeError
    from chape.fit.bench import QuickBench, Trial
    from chape.fit.model import FitChoices
    from chape.knife.model import Knife
    from chape.sheath.model import SheathChoices

#: Length of the elements and steps of the draw that the hold found is confirmed with.
MESH, STEPS = 2.0, 40

#: A coarse sheath strained past its limit by this factor is past it in truth as well.
BEYOND = 1.3


@dataclass(frozen=True, slots=True)
class Solved:
    """The snap depth that gives the wanted hold.

    Attributes:
        snap_depth: mm.
        wanted: N.
        trial: what came of it, at the job's own spacing.
        undercut: deepest a sheath could reach into this knife, mm.
        strain_limit: of the sheet.
        evaluations: sheaths that were designed and pulled: coarse, and at the job's own spacing.
        reason: why this depth, in a sentence.
    """

    snap_depth: float
    wanted: float
    trial: Trial
    undercut: float
    strain_limit: float
    evaluations: tuple[int, int]
    reason: str

    @property
    def hold(self) -> float:
        """The hold at that depth, N."""
        return self.trial.hold


def solve_snap_depth(
    knife: Knife, choices: SheathChoices, fit: FitChoices, catalog: Catalog
) -> Solved:
    """Return the snap depth that gives the wanted hold, confirmed at the job's own spacing.

    Args:
        knife: its half field on a grid of about ``choices.spacing``.
        choices: the maker's; their snap depth is where the search starts.
        fit: gives the hold, friction and temperature.
        catalog: where the sheet is looked up.

    Raises:
        InputError: no hold is asked for.
        CannotMakeError: no depth gives that hold, and why; what would help.
    """
    if fit.hold is None:
        raise InputError("no hold is asked for", mend="Give one in N", field="fit.hold")
    return solve_on(Bench(knife, choices, fit, catalog, MESH, STEPS), fit.hold)


def solve_on(bench: Bench, wanted: float) -> Solved:
    """Return the snap depth that gives a hold, N; as ``solve_snap_depth``."""
    coarse = bench.coarse()
    limit = bench.catalog.sheet(bench.choices.sheet).strain_limit.value
    quick = coarse.quick()
    undercut = quick.undercut()
    most = max(undercut, SAME_DEPTH)
    start = bench.choices.snap_depth
    tried = search_depth(
        quick.trial, wanted, start, most, beyond=lambda trial: trial.strain > BEYOND * limit
    )
    best = nearest(tried, wanted)
    if best.strain > BEYOND * limit:
        raise too_strained(coarse, best, _bearable(quick, tried, limit), limit, wanted)
    confirmed = settle(tried, bench.trial, wanted, most)
    found = confirmed[-1]
    if abs(found.hold - wanted) > NEAR * wanted:
        raise _unreached(coarse, [*tried, *confirmed], undercut, wanted)
    if found.strain > limit:
        raise too_strained(coarse, found, _bearable(quick, tried, limit), limit, wanted)
    return Solved(
        snap_depth=found.snap_depth,
        wanted=wanted,
        trial=found,
        undercut=undercut,
        strain_limit=limit,
        evaluations=(len(tried), len(confirmed)),
        reason=(
            f"a snap depth of {found.snap_depth:.3f} mm, of the {undercut:.1f} mm this knife is "
            f"undercut by, holds it with {found.hold:.1f} N ({wanted:g} N were asked) and strains "
            f"the sheet by {found.strain:.2%} (limit {limit:.1%})"
        ),
    )


def _unreached(
    coarse: Bench, every: Sequence[Trial], undercut: float, wanted: float
) -> CannotMakeError:
    """Return why none of the trials holds as wanted."""
    above = [each for each in every if each.hold > wanted]
    first = min(above, key=lambda trial: trial.snap_depth, default=None)
    below = [
        each
        for each in every
        if each.hold <= wanted and (first is None or each.snap_depth < first.snap_depth)
    ]
    deepest = max(below, key=lambda trial: trial.snap_depth, default=None)
    if first is None and deepest is not None:
        return out_of_reach(coarse, deepest, undercut, wanted)
    if first is None:
        raise AssertionError("something was tried")
    return jumped(deepest, first, coarse.fit.friction, wanted)


def _bearable(quick: QuickBench, tried: Sequence[Trial], limit: float) -> Trial | None:
    """Return what comes of the depth that strains the sheet a little less than its limit."""
    depth = Curve.through(tried, lambda trial: trial.strain).depth_for(0.95 * limit)
    trial = quick.trial(round(depth, DECIMALS))
    return trial if trial.strain <= limit else None
