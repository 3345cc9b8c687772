"""What holds a piece while it is cut, as a force.

    F     N     clamp force of a screw     T / (K d), T torque, K nut factor, d thread
    Fp    N     its thread's pull-out      pi d l tau, l engaged, tau shear strength of the plate
    dp    kPa   under a vacuum plate       p0 - (pu + p0 q / S), p0 the air (ISO 2533:1975)
    N     N     on a vacuum plate          dp x sealed area

The torque estimate is common practice (K about 0.2, from memory); a screw is never tightened past
half its thread's pull-out. Not counted: pins and walls that also stand in the way, the screws' own
shanks, and springs in the plate.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.forming.vacuum import pressure_at

if TYPE_CHECKING:
    from chape.catalog.holds import Hold, ScrewHold, VacuumHold
    from chape.catalog.model import CutMaterial, Screw

#: Of its pull-out, a thread is asked for this share (common practice, no source).
PULL_OUT_SHARE = 0.5

#: Torque a hold-down screw is turned to by hand, N m by mm of thread, its nut factor, and the
#: friction of sheet on its seat (common practice, no source).
HAND_TORQUE, NUT_FACTOR, SHEET_FRICTION = 0.25, 0.2, 0.25


@dataclass(frozen=True, slots=True)
class Grip:
    """How hard a piece is held.

    Attributes:
        words: by what, for the setup page.
        clamp: force that presses it down, N.
        friction: between it and what it lies on.
        reach: clamps stand over its edges by this, mm; 0 for none.
    """

    words: str
    clamp: float
    friction: float
    reach: float = 0.0

    def sideways(self, lift: float) -> float:
        """Return the force (N) it bears sideways while it is pulled up with ``lift`` N."""
        return self.friction * max(0.0, self.clamp - lift)


def screw_force(torque: float, nut_factor: float, thread: float) -> float:
    """Return the clamp force (N) of a torque (N m) on a thread (mm).

    >>> round(screw_force(2.0, 0.2, 6.0))
    1667
    """
    return torque * 1000 / (nut_factor * thread)


def pull_out(diameter: float, engaged: float, shear_strength: float) -> float:
    """Return the force (N) that tears a thread or an insert out: it shears a cylinder.

    >>> round(pull_out(6.0, 12.0, 20.0))
    4524
    """
    return pi * diameter * engaged * shear_strength


def vacuum_difference(vacuum: VacuumHold, altitude: float) -> float:
    """Return the pressure difference (kPa) under a piece at an altitude (m).

    Raises:
        CannotMakeError: more is wanted than the air there has.
    """
    outside = pressure_at(altitude)
    if vacuum.difference.value > outside:
        raise CannotMakeError(
            f"a difference of {vacuum.difference.value:g} kPa is wanted, and the air at "
            f"{altitude:g} m has {outside:.1f} kPa in all",
            mend="Ask for a smaller difference, or hold the plate another way",
        )
    # Holding, the pump carries away what leaks in: S p = q p0.
    lowest = vacuum.ultimate.value + vacuum.leak.value / vacuum.pump.value * outside
    return min(vacuum.difference.value, max(0.0, outside - lowest))


def grip_of(
    hold: Hold, material: CutMaterial, area: float, altitude: float, *, level: bool = True
) -> Grip:
    """Return how hard a hold grips a plate.

    Args:
        hold: the way.
        material: of the plate.
        area: of its underside, mm².
        altitude: of the workshop, m.
        level: the face that lies down is level; a shaped one seals on no vacuum plate.

    Raises:
        CannotMakeError: a vacuum is wanted that the air does not give.
    """
    friction = hold.friction.value
    if hold.vacuum is not None:
        difference = vacuum_difference(hold.vacuum, altitude)
        sealed = area * hold.vacuum.sealed_share if level else 0.0
        words = f"{hold.title}, {difference:.0f} kPa"
        return Grip(words, difference * 1e-3 * sealed, friction)
    if hold.screws is not None:
        each = _each_screw(hold.screws, material)
        words = f"{hold.title}, each turned to {hold.screws.torque.value:g} N m"
        return Grip(words, hold.screws.count * each, friction)
    if hold.clamps is not None:
        clamps = hold.clamps
        return Grip(hold.title, clamps.count * clamps.force.value, friction, clamps.reach)
    raise TypeError(f"{hold.name} holds by nothing")


def _each_screw(screws: ScrewHold, material: CutMaterial) -> float:
    thread = screws.thread.value
    torn = pull_out(thread, screws.engaged.value, material.shear_strength.value)
    force = screw_force(screws.torque.value, screws.nut_factor.value, thread)
    return min(force, PULL_OUT_SHARE * torn)


def sheet_grip(screw: Screw, plate: CutMaterial, corners: int, per_sheath: int) -> Grip:
    """Return how hard screws in inserts hold a formed sheet on its fixture.

    Until the stop the corners hold the whole blank; then each sheath hangs on its own screws. The
    weaker of both counts.

    Args:
        screw: with the hole of its insert.
        plate: what the fixture is made of, which the inserts sit in.
        corners: screws at the blank's corners.
        per_sheath: fewest screws on any sheath.
    """
    thread = screw.thread.value
    torque = HAND_TORQUE * thread
    torn = pull_out(screw.insert_hole.value, screw.insert_depth.value, plate.shear_strength.value)
    each = min(screw_force(torque, NUT_FACTOR, thread), PULL_OUT_SHARE * torn)
    held = min((count for count in (corners, per_sheath) if count), default=0)
    words = f"{corners} and then {per_sheath} × {screw.title} a sheath, turned to {torque:g} N m"
    return Grip(words, held * each, SHEET_FRICTION)
