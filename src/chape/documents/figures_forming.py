"""What forming comes to, as plain numbers for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable

    from chape.forming.model import Curve, Forming, Place
    from chape.solve.spread import Estimate


def forming_figures(forming: Forming) -> dict[str, Any]:
    """Return times s, temperatures °C, pressures kPa, lengths mm, shares as fractions."""
    heating, fold, cooling = forming.heating, forming.fold, forming.cooling
    vacuum, cycle, drape = forming.vacuum, forming.cycle, forming.drape
    return {
        "heating": {
            "heater": forming.heater.name,
            "setting": heating.setting,
            "ready": _estimate(heating.ready),
            "limit": _estimate(heating.limit),
            "wanted": heating.wanted,
            "highest": heating.highest,
            "curves": _curves(heating.curves),
            "face_when_ready": heating.face,
            "dropped_on_the_way": heating.dropped,
        },
        "fold": None
        if fold is None
        else {
            "heater": forming.strip.name,
            "ready": _estimate(fold.ready),
            "limit": _estimate(fold.limit),
            "wanted": forming.sheet.folding_temperature.value,
            "highest": forming.sheet.fume_temperature.value,
            "curves": _curves(fold.curves),
            "flat_length": fold.flat_length,
            "band": fold.band,
        },
        "cooling": {
            "first": _estimate(cooling.first),
            "last": cooling.last,
            "shots": forming.choices.shots,
            "stiff": cooling.stiff,
            "curves": _curves(cooling.curves),
            "mould_after_run": float(cooling.mould[-1]) if len(cooling.mould) else None,
            "mould_face": cooling.mould_face,
            "scale": cooling.scale,
        },
        "vacuum": {
            "outside": vacuum.outside,
            "wanted": vacuum.wanted,
            "reached": vacuum.reached,
            "seconds": _estimate(vacuum.seconds),
            "trapped_litres": vacuum.trapped,
            "load_newtons": vacuum.load,
            "vents": forming.vents,
            "vent_dip": forming.dip,
        },
        "cycle": {
            "alone": cycle.alone,
            "period": cycle.period,
            "held_by": cycle.held_by,
            "sheaths_per_hour": forming.copies * cycle.per_hour,
        },
        "drape": {
            "thinnest": drape.thinnest,
            "least": drape.least,
            "draw_ratio": drape.draw_ratio,
            "preview_difference": forming.preview_difference,
            "webs": [_place(place) for place in drape.webs],
            "bridges": [_place(place) for place in drape.bridges],
            "closest_shapes": forming.closest,
            "narrowest_channel": forming.narrowest,
        },
        "practice": dict(forming.practice),
        "taught": {
            place: {
                "trials": advice.trials,
                "seconds": advice.seconds,
                "chance_of_good": advice.good,
                "ready": [advice.ready_low, advice.ready_high],
                "most_telling": advice.telling,
            }
            for place, advice in forming.taught.items()
        },
    }


#: Decimals of a curve's seconds and °C: it is there to be drawn.
DRAWN = 1


def _curves(curves: Iterable[Curve]) -> list[dict[str, Any]]:
    return [
        {
            "title": curve.title,
            "seconds": [round(float(at), DRAWN) for at in curve.seconds],
            "celsius": [round(float(at), DRAWN) for at in curve.temperature],
        }
        for curve in curves
    ]


def _estimate(found: Estimate | None) -> dict[str, float] | None:
    return None if found is None else {"value": found.value, "spread": found.spread}


def _place(place: Place) -> dict[str, float]:
    return {"x": place.x, "y": place.y, "area": place.area, "worst": place.worst}
