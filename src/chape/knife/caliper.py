"""Caliper readings of a knife's thickness, alone or against a photograph from above its spine.

Where a reading is given it counts, and the photograph is bent to it: between two readings by what
lies between their differences, beyond them by the nearest one's.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    Rows = Sequence[tuple[float, float]]

#: Full thickness of a knife is read between these, mm.
THINNEST, THICKEST = 0.3, 80.0

#: A reading this far off its part, mm, is taken at the part's end.
NEAR_END = 4.0

#: A row of the photograph this near to a reading, mm, gives way to it.
NEAR_ROW = 1.0


@dataclass(frozen=True, slots=True)
class Disagreement:
    """A caliper reading against the photograph.

    Attributes:
        part: "blade" or "handle".
        x: where, mm from the tip.
        caliper: full thickness read, mm.
        photo: as the photograph shows it there, mm.
    """

    part: str
    x: float
    caliper: float
    photo: float

    @property
    def difference(self) -> float:
        """Photograph minus caliper, mm."""
        return self.photo - self.caliper


def read_rows(text: str, key: str, in_mm: float = 1.0) -> Rows:
    """Return the rows of "18.2" or "115:8, 140:17.2": x and full thickness, mm.

    A single number has no place: its x is NaN, and it holds for the thickest one.

    Raises:
        InputError: not such numbers.
    """
    rows = []
    for part in text.split(","):
        x, _, thickness = part.rpartition(":")
        try:
            row = (float(x) * in_mm if x.strip() else float("nan"), float(thickness) * in_mm)
        except ValueError:
            row = (float("nan"), float("nan"))
        if not (THINNEST <= row[1] <= THICKEST) or (x.strip() and not 0 <= row[0] <= 1000):
            raise InputError(
                f'found "{part.strip()}" where a full thickness of {THINNEST:g} to {THICKEST:g} mm '
                "was expected",
                mend='Write one number, such as 18.2, or places and thicknesses, "115:8, 140:17"',
                field=key,
            )
        rows.append(row)
    rows.sort(key=lambda row: row[0])
    places = [x for x, _ in rows]
    if len(rows) > 1 and (np.isnan(places).any() or len(set(places)) < len(places)):
        raise InputError(
            f'found "{text}", where each thickness needs a place of its own',
            mend='Write places and thicknesses, "115:8, 140:17"',
            field=key,
        )
    return rows


def caliper_rows(readings: Rows, start: float, end: float, part: str) -> Rows:
    """Return readings alone as the rows of a part from start to end, mm; empty without any."""
    if not readings:
        return ()
    rows = _within(readings, start, end, part)
    if np.isnan(rows[0][0]):
        rows = [(start, rows[0][1])]
    first, last = rows[0], rows[-1]
    rows = rows if first[0] <= start + 0.05 else [(start, first[1]), *rows]
    return rows if last[0] >= end - 0.05 else [*rows, (end, last[1])]


def corrected(
    photo: Rows, readings: Rows, start: float, end: float, part: str
) -> tuple[Rows, tuple[Disagreement, ...]]:
    """Return the photograph's rows bent to the caliper's readings, and where they differ.

    Raises:
        InputError: a reading lies outside the part.
    """
    if not readings:
        return photo, ()
    x, thickness = np.array(photo).T
    rows = _within(readings, start, end, part)
    if np.isnan(rows[0][0]):
        rows = [(float(x[np.argmax(thickness)]), rows[0][1])]
    places = np.array([row[0] for row in rows])
    read = np.array([row[1] for row in rows])
    seen = np.interp(places, x, thickness)
    bent = thickness - np.interp(x, places, seen - read)
    apart = np.abs(x[:, None] - places).min(axis=1) >= NEAR_ROW
    merged = {round(float(a), 1): float(b) for a, b in zip(x[apart], bent[apart], strict=True)}
    merged |= {round(float(a), 1): float(b) for a, b in rows}
    differ = tuple(
        Disagreement(part, float(a), float(b), float(c))
        for a, b, c in zip(places, read, seen, strict=True)
    )
    return sorted((a, max(b, THINNEST)) for a, b in merged.items()), differ


def _within(readings: Rows, start: float, end: float, part: str) -> list[tuple[float, float]]:
    """Return readings that lie on a part; one a little off it counts at its end."""
    for x, thickness in readings:
        if not np.isnan(x) and not start - NEAR_END <= x <= end + NEAR_END:
            raise InputError(
                f"the reading of {thickness:g} mm at x = {x:g} mm is not on the {part}, which "
                f"reaches from {start:.1f} to {end:.1f} mm",
                mend="Measure x from the tip; where the blade's end was found wrong, give "
                "--blade-length",
                field="spine-thickness" if part == "blade" else "handle-thickness",
            )
    return [(x if np.isnan(x) else float(np.clip(x, start, end)), t) for x, t in readings]
