"""The figures of the fit, for other programs to read: mm, N, kg, degrees; shares from 0 to 1."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from chape.sheath.closed import FAR

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.fit.fit import Fit
    from chape.fit.model import DrawCurve
    from chape.fit.play import Motion
    from chape.fit.share import Share
    from chape.fit.solve import Solved


def fit_figures(fit: Fit) -> dict[str, Any]:
    """Return the figures of a fit as plain numbers and words; None stands for what has no end."""
    weight, clearance = fit.weight, fit.clearance
    return {
        "asked": fit.choices.hold,
        "snap_depth": fit.snap_depth,
        "solved": None if fit.solved is None else _solved(fit.solved),
        "hold": _finite(fit.hold),
        "hold_least": _finite(fit.hold_least),
        "hold_most": _finite(fit.hold_most),
        "push": _finite(fit.curve.push_peak),
        "work": _finite(fit.curve.work),
        "cold_share": fit.cold,
        "hot_share": fit.hot,
        "friction": fit.choices.friction,
        "strain": fit.strain,
        "strain_limit": fit.strain_limit,
        "opening": float(fit.curve.opening.max()),
        "curve": _curve(fit.curve),
        "shake": {
            "mass": weight.mass,
            "mass_spread": weight.spread,
            "weighed": weight.weighed,
            "pull": weight.pull,
            "needed": weight.needed,
        },
        "edge": {
            "least": clearance.least,
            "least_closed": float(clearance.closed.min()),
            "least_spread": float(clearance.spread.min()),
            "at": clearance.places[clearance.worst].tolist(),
            "drawn_by": float(clearance.travel[clearance.worst]),
            "touches_behind": clearance.pads,
            "travel": clearance.travel.tolist(),
            "closed": _near(clearance.closed),
            "spread": _near(clearance.spread),
        },
        "play": {
            "rattle": fit.play.rattle,
            "edge_least": fit.play.edge_least,
            "motions": {str(way): _motion(each) for way, each in fit.play.motions.items()},
        },
        "bands": [
            {
                "name": band.name,
                "unit": band.unit,
                "ends": list(band.ends),
                "holds": [_finite(hold) for hold in band.holds],
            }
            for band in fit.bands
        ],
        "share": None if fit.share is None else _share(fit.share),
    }


def _solved(solved: Solved) -> dict[str, Any]:
    return {
        "wanted": solved.wanted,
        "snap_depth": solved.snap_depth,
        "hold": _finite(solved.hold),
        "undercut": solved.undercut,
        "evaluations": list(solved.evaluations),
    }


def _curve(curve: DrawCurve) -> dict[str, Any]:
    return {
        "travel": curve.travel.tolist(),
        "pull": [_finite(force) for force in curve.pull],
        "push": [_finite(force) for force in curve.push],
    }


def _motion(motion: Motion) -> dict[str, Any]:
    return {
        "amount": motion.amount,
        "edge": motion.edge,
        "free": motion.free,
        "touches": motion.touches.tolist(),
    }


def _share(share: Share) -> dict[str, Any]:
    return {
        "wanted": share.wanted,
        "least": share.least,
        "most": share.most,
        "knives": len(share.holds),
        "passing": share.passing,
        "low": share.low,
        "high": share.high,
        "holds": [_finite(hold) for hold in np.sort(share.holds)],
        "influences": [
            {"name": each.name, "first": each.first, "total": each.total}
            for each in share.influences
        ],
    }


def _near(distances: Floats) -> list[float | None]:
    return [float(each) if each < FAR else None for each in distances]


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
