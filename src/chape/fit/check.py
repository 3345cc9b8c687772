"""What is wrong, doubtful or worth knowing about how a sheath holds its knife."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.findings import Finding, Severity
from chape.fit.words import scale_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.fit.fit import Fit

#: A hold asked for is met within this share.
HOLD_NEAR = 0.05

#: The tip of a knife that can be knocked to and fro across its flats by more than this rattles,
#: mm. Common practice, no source.
RATTLE_MOST = 1.0

#: An edge that free play brings this near to the sheet may touch it when the sheath is knocked, mm.
PLAY_EDGE_LEAST = 0.05

#: Below this share of knives that pass, a batch needs sorting by hand. Common practice, no source.
PASSING_LEAST = 0.7

#: So much softer on a hot day, a sheath may lose its knife.
HOLDS = "Ask for a higher hold, wear a strap, or shake it less."


def check_fit(fit: Fit) -> tuple[Finding, ...]:
    """Return everything the checks saw, errors first."""
    found = [
        *_check_edge(fit),
        *_check_pads(fit),
        *_check_hold(fit),
        *_check_shake(fit),
        *_check_strain(fit),
        *_check_heat(fit),
        *_check_play(fit),
        *_check_share(fit),
    ]
    order = list(Severity)
    return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))


def _check_edge(fit: Fit) -> Iterator[Finding]:
    seen = fit.clearance
    k = seen.worst
    x, y, _ = seen.places[k]
    how = "with the halves spread" if seen.spread[k] < seen.closed[k] else "closed"
    low = seen.least < fit.choices.edge_margin
    yield Finding(
        "edge-clearance-low" if low else "edge-clearance",
        Severity.ERROR if low else Severity.NOTE,
        f"edge at x = {x:.0f} mm, y = {y:.0f} mm, drawn by {seen.travel[k]:.0f} mm, {how}",
        "The edge comes this near to the sheet during the draw.",
        "Ask for more clearance at the blade or beside the edge." if low else "Nothing to mend.",
        seen.least,
        fit.choices.edge_margin,
    )


def _check_pads(fit: Fit) -> Iterator[Finding]:
    behind = fit.clearance.pads
    if behind is not None and behind <= 0.0:
        yield Finding(
            "pad-on-edge",
            Severity.ERROR,
            "blade, at home",
            "The sheath touches the blade within the edge band.",
            "Move the tip pads away from the edge, or ask for more clearance.",
            behind,
            0.0,
        )


def _check_hold(fit: Fit) -> Iterator[Finding]:
    curve, wanted = fit.curve, fit.choices.hold
    if not np.isfinite(curve.peak):
        yield Finding(
            "knife-locks",
            Severity.ERROR,
            "draw",
            "A steep slope carries load there: at this friction no pull draws the knife.",
            "Ask for a lesser snap depth, or round the guard's back.",
            float(np.nanmax(curve.steepest, initial=0.0)),
            float(np.degrees(np.arctan2(1.0, max(fit.choices.friction, 1e-9)))),
            "degrees",
        )
        return
    if wanted is not None and abs(curve.peak - wanted) > HOLD_NEAR * wanted:
        yield Finding(
            "hold-missed",
            Severity.ERROR,
            "draw",
            "The sheath does not hold the knife as asked.",
            "Make the job again, so that the snap depth is solved for; else ask for another hold.",
            curve.peak,
            wanted,
            "N",
        )
        return
    weak = curve.peak <= fit.weight.mass
    yield Finding(
        "hold-none" if weak else "hold",
        Severity.WARNING if weak else Severity.NOTE,
        f"snap depth {fit.snap_depth:.3f} mm",
        "Nothing holds the knife but its own friction: it falls out."
        if weak
        else f"The knife is held with {scale_words(curve.peak)}; with the friction and the "
        f"temperature of the file, between {fit.hold_least:.0f} and {fit.hold_most:.0f} N.",
        "Give a hold in the [fit] table, or a greater snap depth." if weak else "Nothing to mend.",
        curve.peak,
        wanted,
        "N",
    )


def _check_shake(fit: Fit) -> Iterator[Finding]:
    needed = fit.weight.needed
    short = fit.hold_least < needed
    yield Finding(
        "shake-not-held" if short else "shake-held",
        Severity.WARNING if short else Severity.NOTE,
        f"upside down, shaken with {fit.choices.shake:g} times the earth's pull",
        "On a hot day with little friction the hold is less than the shake asks for."
        if short
        else "Even on a hot day with little friction the knife stays in.",
        HOLDS if short else "Nothing to mend.",
        fit.hold_least,
        needed,
        "N",
    )


def _check_strain(fit: Fit) -> Iterator[Finding]:
    curve, limit = fit.curve, fit.strain_limit
    at_eyelets, in_fold = float(curve.strain_eyelets.max()), float(curve.strain_fold.max())
    most = max(at_eyelets, in_fold)
    if most <= limit:
        return
    where = at_eyelets >= in_fold
    strain = curve.strain_eyelets if where else curve.strain_fold
    yield Finding(
        "eyelet-strain-high" if where else "fold-draw-strain-high",
        Severity.WARNING,
        f"{'eyelets' if where else 'fold'}, drawn by {curve.travel[int(strain.argmax())]:.0f} mm",
        "The sheet is strained further than one that is used often should be; it may crack there "
        "in time.",
        "Ask for a lower hold, let the sheath wrap further, or use a thicker sheet.",
        100 * most,
        100 * limit,
        "%",
    )


def _check_heat(fit: Fit) -> Iterator[Finding]:
    if fit.choices.hot > fit.softens:
        yield Finding(
            "worn-too-hot",
            Severity.WARNING,
            f"hottest day, {fit.choices.hot:g} °C",
            "The sheet softens below that: a knife left in it spreads it for good.",
            "Keep it out of hot cars, or give fit.hot as it is.",
            fit.choices.hot,
            fit.softens,
            "°C",
        )


def _check_play(fit: Fit) -> Iterator[Finding]:
    play = fit.play
    loose = play.rattle > RATTLE_MOST
    yield Finding(
        "rattle" if loose else "play",
        Severity.WARNING if loose else Severity.NOTE,
        "tip, across the flats",
        "The tip can be knocked to and fro by this in the closed sheath, taken as rigid.",
        "Give it tip pads, or less clearance at blade and handle." if loose else "Nothing to mend.",
        play.rattle,
        RATTLE_MOST,
    )
    if play.edge_least < PLAY_EDGE_LEAST:
        worst = min(play.motions.values(), key=lambda motion: motion.edge)
        yield Finding(
            "edge-near-in-play",
            Severity.WARNING,
            str(worst.way),
            "Knocked as far as it goes this way, the edge all but touches the sheet.",
            "Ask for more clearance beside the edge, or less at the handle and the spine.",
            worst.edge,
            PLAY_EDGE_LEAST,
        )


def _check_share(fit: Fit) -> Iterator[Finding]:
    share = fit.share
    if share is None:
        return
    few = share.high < PASSING_LEAST
    first = share.influences[0]
    yield Finding(
        "few-knives-pass" if few else "knives-pass",
        Severity.WARNING if few else Severity.NOTE,
        f"{len(share.holds)} knives, {share.least:.0f} to {share.most:.0f} N",
        f"So many knives, sheets and days fall within the band ({100 * share.low:.0f} to "
        f"{100 * share.high:.0f} % for sure); what matters most is the {first.name}.",
        f"Hold the {first.name} closer, or widen fit.hold_band." if few else "Nothing to mend.",
        100 * share.passing,
        100 * PASSING_LEAST,
        "%",
    )
