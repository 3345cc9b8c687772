"""Why a hold cannot be had, and what would help: every sentence with a computed figure.

What would help is tried out on the coarse grid, so that its figures are said to be about right.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.errors import CannotMakeError, ChapeError
from chape.sheath.formed import RUNOUT

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.fit.bench import Bench, Trial

#: Longer wraps are tried by these, mm.
LONGER = (8.0, 16.0)

#: A knife that gives way by less than this holds by nothing, N.
NO_HOLD = 0.5


def out_of_reach(bench: Bench, deepest: Trial, undercut: float, wanted: float) -> CannotMakeError:
    """Return the error for a hold that even the deepest sheath does not reach.

    Args:
        bench: coarse; what would help is tried on it.
        deepest: what comes of the greatest depth.
        undercut: of the knife, mm.
        wanted: hold, N.
    """
    clearance = bench.choices.clearance.handle + bench.knife.uncertainty
    if deepest.hold < NO_HOLD:
        reason = (
            f"up to the mouth this knife is undercut by {undercut:.2f} mm at most, and a clearance "
            f"of {clearance:.2f} mm round it leaves nothing to hold by: the computed hold is "
            f"{deepest.hold:.1f} N, and {wanted:g} N are asked"
        )
    else:
        reason = (
            f"the sheath reaches as deep into the knife's undercut as it goes, "
            f"{deepest.snap_depth:.2f} mm, and holds it with {deepest.hold:.0f} N; {wanted:g} N "
            "are asked"
        )
    helps = [
        f"{change} it would hold about {trial.hold:.0f} N"
        for change, trial in _other_sheaths(bench, undercut)
        if trial.hold > max(1.1 * deepest.hold, NO_HOLD)
    ]
    short = wanted - deepest.hold
    helps.append(f"a strap would have to hold the other {short:.0f} N")
    return CannotMakeError(reason, mend=_listed(helps))


def too_strained(
    bench: Bench, found: Trial, bearable: Trial | None, limit: float, wanted: float
) -> CannotMakeError:
    """Return the error for a hold that strains the sheet past its limit.

    Args:
        bench: coarse; what would help is tried on it.
        found: what comes of a depth that gives the hold, or is past what the sheet bears.
        bearable: the trial with the greatest hold below the limit; None where there is none.
        limit: strain of the sheet.
        wanted: hold, N.
    """
    place = "at an eyelet" if found.at_eyelets else "in the fold"
    reason = (
        f"{wanted:g} N are asked, and a snap depth of {found.snap_depth:.2f} mm, which holds with "
        f"{found.hold:.0f} N, strains the sheet by {found.strain:.1%} {place}; its limit for a "
        f"joint used often is {limit:.1%}"
    )
    helps = []
    if bearable is not None and bearable.hold >= NO_HOLD:
        helps.append(
            f"{bearable.hold:.0f} N, at a snap depth of {bearable.snap_depth:.2f} mm, strain it by "
            f"{bearable.strain:.1%}"
        )
    for change, trial in _other_sheaths(bench, found.snap_depth):
        if not 0 < trial.hold < float("inf"):
            continue
        # In one sheath, strain goes with the hold.
        strain = trial.strain * wanted / trial.hold
        if strain < 0.9 * found.strain * wanted / found.hold:
            helps.append(f"{change} {wanted:g} N would strain it by about {strain:.1%}")
    bears = found.hold * limit / found.strain
    helps.append(f"a strap would have to hold about {wanted - bears:.0f} N of it")
    return CannotMakeError(reason, mend=_listed(helps))


def jumped(below: Trial | None, above: Trial, friction: float, wanted: float) -> CannotMakeError:
    """Return the error for a hold between two depths that no depth gives.

    Args:
        below: the deepest trial that holds less; None where even the shallowest holds more.
        above: the shallowest that holds more, or locks.
        friction: between knife and sheet.
        wanted: hold, N.
    """
    more = (
        f"locks it, on a slope of {above.steepest:.0f}° at a friction of {friction:g}"
        if above.hold == float("inf")
        else f"holds it with {above.hold:.0f} N"
    )
    depth, hold = (0.0, 0.0) if below is None else (below.snap_depth, below.hold)
    instead = f"{hold:.0f} N" if hold >= NO_HOLD else "another hold"
    return CannotMakeError(
        f"no snap depth gives {wanted:g} N: {depth:.3f} mm holds the knife with {hold:.1f} N, and "
        f"{above.snap_depth:.3f} mm {more}",
        mend=f"Ask for {instead}, or make its slopes gentler: a larger fillet or draft",
    )


def _other_sheaths(bench: Bench, depth: float) -> Iterator[tuple[str, Trial]]:
    """Yield what comes of a longer wrap and of thicker sheets, where they can be made."""
    knife, wrap = bench.knife, bench.choices.mouth.wrap
    for longer in LONGER:
        if knife.blade_length + wrap + longer + RUNOUT <= knife.length:
            mouth = bench.choices.mouth.model_copy(update={"wrap": wrap + longer})
            trial = _tried(bench.with_choices(mouth=mouth), depth)
            if trial is not None:
                yield f"with mouth.wrap = {wrap + longer:g} mm", trial
    gauge = bench.catalog.sheet(bench.choices.sheet).gauge.value
    for name in bench.catalog.names("sheets"):
        if bench.catalog.sheet(name).gauge.value > 1.05 * gauge:
            trial = _tried(bench.with_choices(sheet=name), depth)
            if trial is not None:
                yield f'with sheet = "{name}"', trial


def _tried(bench: Bench, depth: float) -> Trial | None:
    try:
        return bench.trial(depth)
    except ChapeError:
        return None


def _listed(helps: list[str]) -> str:
    text = "; ".join(helps)
    return text[0].upper() + text[1:]
