"""How thick a knife is along x, from a second photograph: from above its spine.

The knife stands on its edge on the same reference sheet, propped from below, its length level. What
is seen is its greatest thickness at each x: the blade's at the spine, high above the paper, the
handle's about half way up. The first picture tells how high; a straight line through those heights
stands for them, and what it misses by a few millimetres changes a thickness by a hundredth.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError
from chape.findings import Finding, Severity
from chape.knife.from_photo import measure_picture
from chape.knife.landmarks import columns_of
from chape.knife.laying import Said
from chape.knife.model import Edges
from chape.knife.profile import Profile, blade_end

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.caliper import Rows
    from chape.knife.from_photo import Setting
    from chape.knife.measured import Measured
    from chape.knife.picture import Picture

#: Rows are taken this far apart, mm, each from the middle of what is seen this far to both sides.
BLADE_ROWS, HANDLE_ROWS, AROUND = 10.0, 6.0, 1.5

#: The blade is read no nearer to its end than this, mm: a guard overhangs there.
GUARD_NEAR = 4.0

#: The two pictures' lengths may differ by this, mm, before it is told; by this share, they are not
#: of one knife.
LENGTHS_APART, NOT_THE_SAME = 1.0, 0.05

#: A blade that seems thicker than this, mm, is seen from its side.
THICKEST_BLADE = 12.0


@dataclass(frozen=True, slots=True, eq=False)
class SpineThickness:
    """What the photograph tells.

    Attributes:
        x: (n,) rising, mm in the knife frame of the side's picture, butt on butt.
        thickness: (n,) full, mm.
        length: of the knife, as this picture shows it, mm.
        uncertainty: of a thickness, mm.
        blade_end: x where the knife gets thicker: guard or handle; None where it nowhere does.
        remarks: what was seen on the way.
    """

    x: Floats
    thickness: Floats
    length: float
    uncertainty: float
    blade_end: float | None
    remarks: tuple[Finding, ...]

    def spine_rows(self, blade_length: float, also: Rows = ()) -> Rows:
        """Return rows of x and full thickness of the blade; rows at the places of ``also`` too."""
        places = _even(0.0, blade_length, BLADE_ROWS)
        return self._rows(places, also, blade_length - GUARD_NEAR)

    def handle_rows(self, blade_length: float, butt: float, also: Rows = ()) -> Rows:
        """Return rows from the blade's end to the butt, closer where the handle rounds off."""
        ends = [blade_length + 2, blade_length + 4, butt - 4, butt - 2]
        places = np.concatenate([_even(blade_length, butt, HANDLE_ROWS), ends])
        return self._rows(places, also, butt - 0.7)

    def _rows(self, places: Floats, also: Rows, last: float) -> Rows:
        start, end = float(places[0]), float(places.max())
        more = [x for x, _ in also if start <= x <= end]
        rows = {}
        for place in np.concatenate([places, more]):
            at = float(np.clip(place, max(start, float(self.x[0])) + AROUND / 2, last))
            away = np.abs(self.x - at)
            around = self.thickness[away <= max(AROUND, float(away.min()))]
            rows[round(float(place), 1)] = round(float(np.nanmedian(around)), 2)
        return sorted(rows.items())


def _even(start: float, end: float, apart: float) -> Floats:
    return np.linspace(start, end, max(2, round((end - start) / apart) + 1))


def spine_of_picture(picture: Picture, setting: Setting, side: Measured) -> SpineThickness:
    """Measure thickness along x.

    Args:
        picture: of the knife from above its spine.
        setting: paper and bar of the sheet; heights are taken from the side's picture.
        side: the knife as measured from its side.

    Raises:
        InputError: no knife can be measured in it, or another one.
    """
    at_tip, at_butt = _heights(side)
    level = replace(setting, thickness=2 * at_butt, tip_height=at_tip)
    seen = measure_picture(picture, level, Said(edges=Edges.DOUBLE))
    apart = seen.length - side.length
    if abs(apart) > NOT_THE_SAME * side.length:
        raise InputError(
            f"the knife is {seen.length:.1f} mm long from above its spine and {side.length:.1f} mm "
            "from its side",
            mend="Stand the knife with its length level, all of it in the field, and let the thin "
            "tip stand out from the paper",
        )
    columns = columns_of(seen.outline)
    # The butt is seen well in both; the tip may be too thin to be seen from above.
    x, thickness = columns.x - apart, columns.high - columns.low
    on_blade = (x > 0) & (x < side.landmarks.blade_length)
    if float(np.nanmedian(thickness[on_blade])) > THICKEST_BLADE:
        raise InputError(
            "this is no picture from above the spine: the blade is "
            f"{float(np.nanmedian(thickness[on_blade])):.0f} mm wide in it",
            mend="Stand the knife on its edge, and take the picture from straight above",
        )
    sure = 2 * seen.residual + seen.scale_error * float(np.nanmax(thickness))
    remarks = [remark for remark in seen.remarks if remark.code == "photo-edge-faint"]
    return SpineThickness(
        x, thickness, seen.length, sure, _blade_end(x, thickness), (*remarks, _lengths(seen, side))
    )


def _blade_end(x: Floats, thickness: Floats) -> float | None:
    """Return where guard or handle begins, as on a scanned knife."""
    profile = Profile(x, -thickness / 2, thickness / 2, np.zeros(1), thickness[None])
    try:
        return float(blade_end(profile) + x[0])
    except InputError:
        return None


def _heights(side: Measured) -> tuple[float, float]:
    """Return how high the line through the widest places stands at tip and butt, mm."""
    columns = columns_of(side.outline)
    x, blade = columns.x, side.landmarks.blade_length
    widest = np.where(x < blade, columns.high, (columns.low + columns.high) / 2)
    on = (x > 0.15 * blade) & np.isfinite(widest)
    slope, level = (float(each) for each in np.polyfit(x[on], widest[on], 1))
    at_tip, at_butt = level, level + slope * side.length
    return max(at_tip, 0.0), min(max(at_butt, 1.0), 40.0)


def _lengths(seen: Measured, side: Measured) -> Finding:
    apart = seen.length - side.length
    far = abs(apart) > LENGTHS_APART
    return Finding(
        "spine-length",
        Severity.WARNING if far else Severity.NOTE,
        "spine photograph",
        f"From above its spine the knife is {seen.length:.2f} mm long, {abs(apart):.2f} mm "
        f"{'more' if apart > 0 else 'less'} than from its side.",
        "Stand it level, and measure its length with a caliper; a tip too thin to be seen from "
        "above does no harm.",
        abs(apart),
        LENGTHS_APART,
    )
