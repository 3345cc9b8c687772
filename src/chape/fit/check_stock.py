"""Whether a knife fits a sheath that was made for another, as findings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.fit.stock import StockFit

#: A knife that stands this far into the sheet, mm, its measuring error added, forces the halves
#: apart at home. Common practice, no source: the sheet gives by so much without being felt.
PRESS_MOST = 0.2

#: A handle that lifts the halves by this share more or less than the sheath's own is held
#: noticeably harder or looser, for the pull grows with the lift. Common practice, no source.
LIFT_LEAST, LIFT_MOST = 0.7, 1.4

#: What settles a doubt that comes of the measuring alone.
MEASURE = (
    "Measure it there with a caliper and give a smaller uncertainty, or try it by hand over "
    "something soft, the edge covered."
)


def check_stock(fit: StockFit, edge_margin: float) -> tuple[Finding, ...]:
    """Return where a knife does not fit, errors first.

    Args:
        fit: the knife as it lies in the sheath.
        edge_margin: the edge stays this far from the sheet all along the draw, mm.
    """
    found = (*_edge(fit, edge_margin), *_press(fit), *_lift(fit))
    return found or (_fits(fit),)


def _edge(fit: StockFit, margin: float) -> Iterator[Finding]:
    seen, error = fit.edge, fit.sheath.knife.uncertainty
    room = seen.least - error
    if room >= margin:
        return
    k = seen.worst
    x, y, _ = seen.places[k]
    unsure = seen.least >= margin
    yield Finding(
        "stock-unsure" if unsure else "stock-edge-near",
        Severity.ERROR,
        f"edge at x = {x:.0f} mm, y = {y:.0f} mm, drawn by {seen.travel[k]:.0f} mm",
        f"Measured to {error:.2f} mm, the edge "
        f"{'may come' if unsure else 'comes'} this near to the sheet; less than 0 is in it.",
        MEASURE if unsure else "Make a sheath for this knife.",
        room,
        margin,
    )


def _press(fit: StockFit) -> Iterator[Finding]:
    error = fit.sheath.knife.uncertainty
    for k in fit.pressed(PRESS_MOST):
        x, y, _ = fit.points[k]
        part = "blade" if x < fit.sheath.knife.blade_length else "handle"
        place = f"{part}, x = {x:.0f} mm, y = {y:.0f} mm"
        press = float(fit.press[k])
        if -fit.room[k] > PRESS_MOST:
            yield Finding(
                "stock-too-tight",
                Severity.ERROR,
                place,
                "The knife stands so far into the sheet at home, its measuring error added.",
                "Make a sheath for this knife, or measure it again there with a caliper.",
                press,
                PRESS_MOST,
            )
        else:
            yield Finding(
                "stock-unsure",
                Severity.ERROR,
                place,
                f"As measured the knife goes in; measured to {error:.2f} mm, it may stand so far "
                "into the sheet at home.",
                MEASURE,
                press,
                PRESS_MOST,
            )


def _lift(fit: StockFit) -> Iterator[Finding]:
    lift, own = fit.lift, fit.lift_own
    if own <= 0 or LIFT_LEAST <= lift / own <= LIFT_MOST:
        return
    looser = lift < own
    yield Finding(
        "stock-loose" if looser else "stock-stiff",
        Severity.WARNING,
        "handle",
        f"On its way out the handle lifts the halves by {lift:.2f} mm, where the sheath's own "
        f"knife lifts them by {own:.2f} mm: it is held {'looser' if looser else 'harder'}.",
        "Try it by hand over something soft; where it does not hold as it should, make a sheath "
        "for this knife.",
        lift,
        (LIFT_LEAST if looser else LIFT_MOST) * own,
    )


def _fits(fit: StockFit) -> Finding:
    return Finding(
        "stock-fits",
        Severity.NOTE,
        "sheath",
        "The knife lies in this sheath much as the one it was made for; its edge keeps this far "
        "from the sheet.",
        "Try it by hand over something soft, the edge covered.",
        fit.edge.least,
    )
