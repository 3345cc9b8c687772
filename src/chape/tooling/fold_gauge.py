"""A gauge for the fold: a plate whose slots are pushed over the folded edge and over the flanges.

Each measure has a slot that must go on and, at the other edge of the plate, one that must not.
Notches beside a slot count the measures, from the tip to the mouth; the last is the flanges'.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.sheath.halves import is_relieved, reach_along

if TYPE_CHECKING:
    from collections.abc import Sequence

    from shapely import Polygon

    from chape.sheath.model import Sheath

#: A folded sheath may be thicker or thinner over its fold by this, mm. Common practice, no source.
FOLD_SLACK = 0.5

#: Two closed flanges may be thicker by this, mm: a film of air. Common practice, no source.
FLANGE_SLACK = 0.3

#: Stations nearer to each other in thickness than this share a slot, mm.
SAME = 0.4

#: Thickness of the plate, and sheet of it round each slot, mm.
THICKNESS, AROUND = 4.0, 8.0

#: A slot goes over the bend and so much further, mm.
DEEPER = 6.0

#: A notch's width and depth, and the pitch of several, mm.
NOTCH, NOTCH_PITCH = 1.6, 3.2


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of the folded sheath.

    Attributes:
        name: where it is taken.
        x: its station, mm; None for the flanges, which are the same all along.
        nominal: outside thickness, mm.
        go, no_go: widths of its two slots, mm.
        deep: depth of the slots, mm.
    """

    name: str
    x: float | None
    nominal: float
    go: float
    no_go: float
    deep: float


@dataclass(frozen=True, slots=True, eq=False)
class FoldGauge:
    """The plate with its slots: go slots open to +y, no-go slots to -y; and its measures."""

    shape: Polygon
    measures: tuple[Measure, ...]


def make_fold_gauge(sheath: Sheath) -> FoldGauge | None:
    """Make the gauge of a folded sheath; None where nothing is folded.

    It gauges the fold a quarter of the way from the tip, at the blade's end and at the mouth, where
    it is not cut away there.
    """
    fold = sheath.fold
    if fold is None:
        return None
    first, _ = reach_along(sheath)
    places = [
        ("near the tip", first + (sheath.knife.blade_length - first) / 4),
        ("at the blade's end", sheath.knife.blade_length),
        ("near the mouth", sheath.mouth_x - sheath.choices.mouth.flare_length),
    ]
    measures: list[Measure] = []
    for name, x in places:
        if is_relieved(fold, np.array(x)):
            continue
        radius = float(np.interp(x, fold.x, fold.height))
        nominal = 2 * (radius + fold.gauge)
        if any(abs(nominal - other.nominal) < SAME for other in measures):
            continue
        deep = radius + fold.gauge + DEEPER
        measures.append(Measure(name, x, nominal, nominal + FOLD_SLACK, nominal - FOLD_SLACK, deep))
    flanges = 2 * fold.gauge
    deep = max(measure.deep for measure in measures)
    measures.append(
        Measure("over the flanges", None, flanges, flanges + FLANGE_SLACK, 0.9 * flanges, deep)
    )
    return FoldGauge(_plate(measures), tuple(measures))


def _plate(measures: Sequence[Measure]) -> Polygon:
    """Return the plate's shape, its lower left corner at the origin."""
    deep = max(measure.deep for measure in measures)
    height = 2 * deep + 2 * AROUND
    slots, x = [], AROUND
    for number, measure in enumerate(measures, start=1):
        middle = x + measure.go / 2
        slots.append(_slot(middle, measure.go, height, -measure.deep))
        slots.append(_slot(middle, measure.no_go, 0.0, measure.deep))
        for n in range(number):
            at = x + measure.go + 2 + n * NOTCH_PITCH
            slots.append(shapely.box(at, height - NOTCH, at + NOTCH, height + 1))
        x += measure.go + max(AROUND, 4 + number * NOTCH_PITCH)
    body = shapely.box(0, 0, x, height).buffer(-2).buffer(2, quad_segs=16)
    shape = body.difference(shapely.union_all(slots))
    return max(shapely.get_parts(shape), key=lambda part: float(part.area))


def _slot(middle: float, width: float, edge: float, deep: float) -> Polygon:
    """Return a slot from the plate's edge inwards, its end round as the fold is."""
    radius = width / 2
    end = edge + deep
    toward = 1.0 if deep > 0 else -1.0
    straight = shapely.box(
        middle - radius, min(edge - toward, end - toward * radius),
        middle + radius, max(edge - toward, end - toward * radius),
    )  # fmt: skip
    return straight.union(shapely.Point(middle, end - toward * radius).buffer(radius, quad_segs=24))
