"""Whether spindle and hold bear what the program asks of them.

Worked out from the text's own feeds and speeds and from how deep each move cut in simulation. A
tooth is taken to cut its whole load at the move's whole depth, and the power to be that of a cut at
the cutter's full width: both are upper bounds.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi, tan
from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.cutting.force import HELIX, bending, cutting_power, tooth_force, torque
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.catalog.model import CutMaterial, Cutter
    from chape.cutting.evidence import Evidence, Mask
    from chape.field.grid import Floats

#: The hold bears this many times the greatest force (common practice, no source).
SAFETY = 2.0

#: A tooth is pushed away from its cut with this share of the force along it (common practice, no
#: source).
ASIDE_SHARE = 0.5

#: A move that takes less than this share of the cutter's width only grazes what stands between the
#: nodes of the grid; it is no cut.
GRAZE = 0.02

#: A cut wider than this share of the cutter's diameter loads its teeth in full; a tooth is
#: overloaded from so many times the most that its material usually takes (common practice, no
#: source).
BROAD, TOO_MUCH = 0.3, 2.0

#: A face within a clamp's reach is cut where the stock stands above the target by this, mm.
CUT_THERE = 0.05

#: A clamp needs this much of the edge, mm.
CLAMP_ROOM = 30.0


@dataclass(frozen=True, slots=True)
class CutterLoad:
    """The hardest work of one cutter.

    Attributes:
        number: its T word.
        spindle: rev/min.
        feed: highest while cutting, mm/min.
        tooth_load: mm per tooth at that feed.
        surface_speed: at its full diameter, m/min.
        depth: deepest cut of one move, mm.
        power: at full width, W.
        torque: at full width, N m.
        force: sideways, along and away from the cut together, N; 0 for a drill.
        lift: upwards, N; 0 for a drill, which presses down.
        bending: of its tip under that force, mm.
    """

    number: int
    spindle: float
    feed: float
    tooth_load: float
    surface_speed: float
    depth: float
    power: float
    torque: float
    force: float
    lift: float
    bending: float


def loads_of(evidence: Evidence) -> tuple[CutterLoad, ...]:
    """Return the hardest work of every cutter, by number; none where the material is not known."""
    material = evidence.setup.material
    if material is None:
        return ()
    numbers = evidence.program.cutter
    width = _mean_width(evidence)
    loads = []
    for cutter in sorted(evidence.setup.cutters, key=lambda cutter: cutter.number):
        working = (
            (numbers == cutter.number)
            & evidence.cutting
            & (evidence.depth > 0)
            & (width > GRAZE * cutter.diameter)
            & (evidence.program.feed > 0)
            & (evidence.program.spindle > 0)
        )
        if working.any():
            loads.append(_load(evidence, working, cutter, material))
    return tuple(loads)


def _mean_width(evidence: Evidence) -> Floats:
    """Return (moves,) how wide each move cuts on average, mm: volume over length and depth."""
    program = evidence.program
    volume = np.bincount(
        evidence.segments.move, evidence.removal.volume.astype(np.float64), minlength=len(program)
    )
    section = program.length * evidence.depth
    width: Floats = np.divide(volume, section, out=np.zeros(len(program)), where=section > 0)
    return width


def _load(evidence: Evidence, working: Mask, cutter: Cutter, material: CutMaterial) -> CutterLoad:
    program = evidence.program
    feed, spindle = program.feed[working], program.spindle[working]
    deep = np.minimum(evidence.depth[working], cutter.flute_length)
    per_tooth = feed / (spindle * cutter.flutes)
    energy = material.cutting_energy.value
    drill = cutter.kind is CutterKind.DRILL
    if drill:
        # A drill's section is its own, however deep the hole.
        powers = cutting_power(energy, cutter.diameter, pi * cutter.diameter / 4, 1.0) * feed
        forces = np.zeros(len(feed))
    else:
        powers = cutting_power(energy, cutter.diameter, 1.0, 1.0) * deep * feed
        forces = np.array([tooth_force(energy, *cut) for cut in zip(per_tooth, deep, strict=True)])
    worst, strongest = int(np.argmax(powers)), int(np.argmax(forces))
    fastest = float(feed.max())
    along = float(forces[strongest])
    sideways = hypot(1.0, ASIDE_SHARE) * along
    turning = float(spindle.max())
    return CutterLoad(
        number=cutter.number,
        spindle=turning,
        feed=fastest,
        tooth_load=float(per_tooth.max()),
        surface_speed=pi * cutter.diameter * turning / 1000,
        depth=float(deep.max()),
        power=float(powers[worst]),
        torque=torque(float(powers[worst]), float(spindle[worst])),
        force=sideways,
        lift=along * tan(HELIX),
        bending=bending(sideways, cutter.stick_out, cutter.diameter),
    )


def check_load(evidence: Evidence, loads: tuple[CutterLoad, ...]) -> tuple[Finding, ...]:
    """Return what is seen about the teeth, the spindle's power and the hold."""
    return (
        *_teeth(evidence),
        *_power(evidence, loads),
        *_hold(evidence, loads),
        *_clamps(evidence),
    )


def _teeth(evidence: Evidence) -> list[Finding]:
    """See that no tooth takes far more than its material's load where it cuts broadly."""
    material, program = evidence.setup.material, evidence.program
    if material is None:
        return []
    width = _mean_width(evidence)
    share = material.tooth_load_per_diameter
    findings = []
    for cutter in evidence.setup.cutters:
        limit = TOO_MUCH * (share.value + share.spread) * cutter.diameter
        broad = (
            (program.cutter == cutter.number)
            & evidence.cutting
            & (width > BROAD * cutter.diameter)
            & (program.spindle > 0)
        )
        if cutter.kind is CutterKind.DRILL or not broad.any():
            continue
        turns = np.where(broad, program.spindle, 1.0) * cutter.flutes
        taken = np.where(broad, program.feed, 0.0) / turns
        worst = int(np.argmax(taken))
        if taken[worst] > limit:
            findings.append(
                Finding(
                    "tooth-load-high",
                    Severity.WARNING,
                    f"{evidence.setup.name}, line {program.line[worst]}",
                    f"A tooth of T{cutter.number} takes {taken[worst]:.2f} mm in a broad cut "
                    f"{evidence.depth[worst]:.1f} mm deep",
                    "Lower the feed of this move: it may have been meant for air.",
                    float(taken[worst]),
                    limit,
                )
            )
    return findings


def _power(evidence: Evidence, loads: tuple[CutterLoad, ...]) -> list[Finding]:
    limit = evidence.setup.machine.spindle_power
    if limit is None:
        return []
    return [
        Finding(
            "power-high",
            Severity.WARNING,
            f"{evidence.setup.name}, T{load.number}",
            f"T{load.number} may ask for {load.power:.0f} W at full width, {load.depth:.1f} mm "
            f"deep, and the spindle has {limit:.0f} W",
            "Cut shallower levels or a softer material, or slow the feed and the spindle alike.",
            load.power,
            limit,
            "W",
        )
        for load in loads
        if load.power > limit
    ]


def _hold(evidence: Evidence, loads: tuple[CutterLoad, ...]) -> list[Finding]:
    grip = evidence.setup.grip
    if grip is None or not loads:
        return []
    worst = min(loads, key=lambda load: grip.sideways(SAFETY * load.lift) - SAFETY * load.force)
    held = grip.sideways(SAFETY * worst.lift)
    if held >= SAFETY * worst.force:
        return []
    loose = grip.sideways(worst.lift) < worst.force
    return [
        Finding(
            "hold-down-weak",
            Severity.ERROR if loose else Severity.WARNING,
            f"{evidence.setup.name}, T{worst.number}",
            f"T{worst.number} may push with {worst.force:.0f} N sideways and {worst.lift:.0f} N "
            f"upwards; held by {grip.words}, the piece bears {held:.0f} N of the "
            f"{SAFETY * worst.force:.0f} N wanted",
            "Hold it another way, with more or larger screws or clamps or a larger sealed area, "
            "or cut shallower levels.",
            held,
            SAFETY * worst.force,
            "N",
        )
    ]


def _clamps(evidence: Evidence) -> list[Finding]:
    """See that no more of the edges is cut than leaves room for a clamp."""
    setup = evidence.setup
    if setup.grip is None or setup.grip.reach <= 0:
        return []
    grid, reach = setup.stock.grid, setup.grip.reach
    x, y = grid.mesh()
    left, front, right, back = setup.box
    cut = setup.stock.z - evidence.removal.stock.z > CUT_THERE
    edges = (
        (x < left + reach, y),
        (x > right - reach, y),
        (y < front + reach, x),
        (y > back - reach, x),
    )
    free = max(_longest_free(band, along, cut, grid.spacing) for band, along in edges)
    if free >= CLAMP_ROOM:
        return []
    return [
        Finding(
            "clamps-in-the-way",
            Severity.ERROR,
            setup.name,
            f"Clamps reach {reach:g} mm over the edges, and the program cuts there all round",
            "Hold it by screws from below or by vacuum.",
            free,
            CLAMP_ROOM,
        )
    ]


def _longest_free(band: Mask, along: np.ndarray, cut: Mask, spacing: float) -> float:
    """Return the longest stretch (mm) of a band in which nothing is cut."""
    places = np.rint(along[band] / spacing).astype(np.int64)
    places -= places.min(initial=0)
    taken = np.bincount(places[cut[band]], minlength=int(places.max(initial=0)) + 1) > 0
    ends = np.flatnonzero(np.concatenate([[True], taken, [True]]))
    return float((np.diff(ends).max() - 1) * spacing)
