"""What a person should know of how a scanned knife was read: unit, landmarks, faults."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError
from chape.findings import Finding, Severity
from chape.knife.file_mesh import MeshUnit
from chape.knife.model import LONGEST_KNIFE, SHORTEST_KNIFE

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.mesh_half import Halves
    from chape.knife.mesh_pose import Laid

#: A guessed unit must make a knife so long and so thick, mm; common practice, no source.
USUAL_LENGTH, USUAL_THICKNESS = (80.0, 500.0), (6.0, 45.0)

#: A knife is longer than wide by this at least, or the table was scanned with it.
SLENDER = 1.5

#: Left out by this share and more, what was left out may have been part of the knife.
MUCH_LEFT_OUT = 0.05

#: More of the surface missing than this, and the filled holes should be looked at.
MUCH_MISSING = 0.02

#: Halves further apart than this, mm, do not make one mid-plane.
FAR_APART = 0.4


def unit_of(
    triangles: Floats, in_mm: float | None, unit: MeshUnit | None
) -> tuple[float, Finding | None]:
    """Return millimetres in a mesh's unit, with a remark where it had to be guessed.

    Args:
        triangles: (n, 3, 3) corners of the knife, in the unit of their file.
        in_mm: what the file itself states.
        unit: what the person says; it goes before the file's own word.

    Raises:
        InputError: no unit makes it a knife, or more than one does.
    """
    long, wide, thick = map(float, size_of(triangles))
    factor = unit.in_mm if unit is not None else in_mm
    if factor is not None:
        _check_size(long * factor, wide * factor)
        return factor, None
    fitting = [
        unit
        for unit in MeshUnit
        if USUAL_LENGTH[0] <= long * unit.in_mm <= USUAL_LENGTH[1]
        and USUAL_THICKNESS[0] <= thick * unit.in_mm <= USUAL_THICKNESS[1]
    ]
    if len(fitting) != 1:
        why = f"could be {' or '.join(fitting)}" if fitting else "is no knife in any unit"
        raise InputError(
            f"the mesh states no unit, and {long:.4g} x {wide:.4g} x {thick:.4g} of it {why}",
            mend='Write unit = "mm", "cm", "inch" or "m" in [mesh]',
            field="mesh.unit",
        )
    factor = fitting[0].in_mm
    _check_size(long * factor, wide * factor)
    return factor, Finding(
        "mesh-unit-guessed",
        Severity.NOTE,
        "scan",
        f"The mesh states no unit; it is taken in {fitting[0]}, {long * factor:.1f} mm long.",
        f'Write unit = "{fitting[0]}" in [mesh] once you have measured the knife.',
        float(long * factor),
    )


def size_of(triangles: Floats) -> Floats:
    """Return length, width and thickness along the principal axes of the corners, (3,)."""
    points = triangles.reshape(-1, 3)
    _, axes = np.linalg.eigh(np.cov(points[:: max(len(points) // 100_000, 1)].T))
    size: Floats = np.sort(np.ptp(axes.T @ points.T, axis=1))[::-1]
    return size


def _check_size(long: float, wide: float) -> None:
    if not SHORTEST_KNIFE <= long <= LONGEST_KNIFE:
        guess = "inch" if long < SHORTEST_KNIFE else "mm"
        raise InputError(
            f"the mesh is {long:,.1f} mm long, and a knife is {SHORTEST_KNIFE:.0f} to "
            f"{LONGEST_KNIFE:.0f} mm",
            mend=f'Correct unit in [mesh], perhaps to "{guess}", or cut away what is not the knife',
            field="mesh.unit",
        )
    if long < SLENDER * wide:
        raise InputError(
            f"the mesh is {long:.0f} mm long and {wide:.0f} mm wide, which is no knife alone",
            mend="Cut the table and whatever else was scanned away, and save the knife alone",
            field="mesh.file",
        )


def remarks_of(
    laid: Laid,
    halves: Halves,
    bevel: float,
    left_out: tuple[int, float],
    guessed: Finding | None,
    *,
    bevel_shows: bool,
) -> tuple[Finding, ...]:
    """Return what was found and what was mended, as findings."""
    found = [_read(laid, bevel, bevel_shows=bevel_shows)]
    if guessed is not None:
        found.append(guessed)
    if left_out[0]:
        found.append(_left_out(*left_out))
    if halves.missing > MUCH_MISSING:
        found.append(_holes(halves.missing))
    if halves.apart > FAR_APART:
        found.append(_lopsided(halves))
    return tuple(found)


def _read(laid: Laid, bevel: float, *, bevel_shows: bool) -> Finding:
    how = {"edge": "its edge", "spine": "its spine", "axis": "the middle of its blade"}[laid.along]
    bevel_words = "as the scan shows it" if bevel_shows else "as is usual, for the scan shows none"
    return Finding(
        "mesh-laid",
        Severity.NOTE,
        "scan",
        f"In the file the tip points to {laid.tip} and the edge to {laid.edge}; x runs along "
        f"{how}; the blade is {laid.blade_length:.1f} mm long, the bevel {bevel:.2f} mm wide "
        f"{bevel_words}.",
        f'Write tip = "{laid.tip}" and edge = "{laid.edge}" in [mesh] to keep them, or what is '
        "true.",
        laid.blade_length,
    )


def _left_out(count: int, share: float) -> Finding:
    much = share > MUCH_LEFT_OUT
    return Finding(
        "mesh-pieces-left-out",
        Severity.WARNING if much else Severity.NOTE,
        "scan",
        f"{count} loose piece{'s' if count > 1 else ''} of the scan "
        f"{'were' if count > 1 else 'was'} left out, {100 * share:.1f} % of its surface.",
        'If they belong to the knife, write keep = "all" in [mesh]; else cut them away.',
        100 * share,
        100 * MUCH_LEFT_OUT,
        "%",
    )


def _holes(missing: float) -> Finding:
    return Finding(
        "mesh-holes",
        Severity.WARNING,
        "scan",
        f"{100 * missing:.1f} % of the knife is missing from the scan and was spanned from its "
        "rim.",
        "Scan the holes again, or measure there with a caliper: a round handle is thicker than "
        "what spans a hole in it.",
        100 * missing,
        100 * MUCH_MISSING,
        "%",
    )


def _lopsided(halves: Halves) -> Finding:
    x, y = halves.apart_at
    return Finding(
        "knife-lopsided",
        Severity.WARNING,
        f"knife, x = {x:.0f}, y = {y:.0f} mm",
        f"The knife's two sides stand {halves.apart:.2f} mm apart in thickness; the sheath is "
        "made for the thicker one on both, so that the knife lies loose on its thin side.",
        "Where the blade was laid aslant, correct roll, pitch or shift in [mesh]; else make a "
        "trial sheath.",
        halves.apart,
        FAR_APART,
    )
