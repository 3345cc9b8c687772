"""What it takes to draw the knife, and to push it home.

The half sheath is a thin shell on its supports (``fit/held.py``), the knife rigid. At every
travel the contact is worked out afresh, unilateral and with Coulomb friction (``fit/step.py``).
Forces are in proportion to the modulus, exactly.

Left out: creep and relaxation (a sheath that sits on its knife for a week holds less), wear,
moisture, heat set free by rubbing, large rotations (a trial before this code, on another shape, was
4-6 % stiffer with them at 0.5-0.8 mm of opening), rocking of the knife, spring-back of the formed
sheet, the clip, the thumb ramp, bending by friction half a thickness off the middle.

What these and other guesses move the demo's hold by, measured: counting the thumb ramp on its
half 1.7 %; a layer under the contact four times as soft as ``held.LAYER``, or a tenth, -4 and
+5 %; Poisson's number 0.33 or 0.42 for 0.38, -2.4 and +2.3 %; flanges kept from passing the
mid-plane 0.4 %, and 0.8 % where two rows of eyelets hold the halves; the mesh 5 %
(``benchmarks/pull_convergence.py``). Friction moves it by a third for a change of 0.1, the
handle's thickness by a sixth for 0.05 mm a side: both more than any error of the numbers.

A made sheath is tried by hand over a soft surface, the edge covered, before it is worn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import CannotMakeError
from chape.fit.half import half_sheath
from chape.fit.held import Grip, Spots, grip_of, held_shell, spots_of
from chape.fit.model import ContactMap, DrawCurve
from chape.fit.near import Near, near
from chape.fit.shell_mesh import HalfMesh, mesh_half, rows_wanted, stations
from chape.fit.step import step, untouched
from chape.sheath.halves import strip_end_at
from chape.solve.shell import HeldShell, surface_strain

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.fit.half import Half
    from chape.fit.model import Conditions
    from chape.fit.step import Step
    from chape.sheath.model import Sheath

    Booleans = npt.NDArray[np.bool_]

#: Length of an element where the knife is held, mm, for the number shown; and while dragging.
MESH, DRAG_MESH = 2.0, 3.0

#: Points nearer to the passing knife than this are looked at for contact, mm: it covers how much
#: thicker or further aside a knife may be, and how the sheath bends in beside where it gives way.
REACH = 0.5

#: The draw is looked through in steps of this, mm, to see where it begins and ends to hold.
LOOK = 1.0

#: A handle thicker by 1 mm per side presses for this many mm longer, at most.
LINGERS = 8.0

#: Strain is looked at this far around an eyelet's flange, mm.
AROUND = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class PullModel:
    """A sheath ready to be pulled from.

    Attributes:
        half: the half sheath's surface.
        mesh: its mesh.
        shell: the same on its supports.
        near: distances from the knife.
        spots: what of the sheath may touch the knife, numbered by the mesh.
        grip: the same on its own nodes, with the compliance between them.
        length: of an element, mm.
        flange: diameter of an eyelet's flange, mm.
        free: travel after which the knife of the file no longer presses anywhere, mm.
        by_eyelets, in_fold: (m,) triangles whose strain is looked at.
    """

    half: Half
    mesh: HalfMesh
    shell: HeldShell
    near: Near
    spots: Spots
    grip: Grip
    length: float
    flange: float
    free: float
    by_eyelets: Booleans
    in_fold: Booleans


def pull_model(
    sheath: Sheath, mesh: float = MESH, thickness: HeightField | None = None
) -> PullModel:
    """Return the model of a sheath.

    Args:
        sheath: a designed sheath.
        mesh: length of an element where the knife is held, mm.
        thickness: of the formed sheet over the flat frame, mm; None takes the gauge everywhere.

    Raises:
        CannotMakeError: no eyelets hold the sheath together, or the sheet is nowhere thick.
    """
    if not mesh > 0:
        raise ValueError(f"elements are longer than 0 mm, not {mesh}")
    half = half_sheath(sheath, thickness)
    if len(half.eyelets) < 2:
        raise CannotMakeError(
            f"{len(half.eyelets)} eyelets hold the two halves together, and it takes 2",
            mend="Choose a shorter eyelets.pitch_most, so that more of them fit",
        )
    thinnest = float(half.thickness.z.min())
    if not thinnest > 0:
        raise CannotMakeError(
            f"the formed sheet is {thinnest:.2f} mm thick at its thinnest, which holds nothing",
            mend="Look at how the sheet is drawn, and choose a thicker one",
        )
    table = near(sheath.knife, half.mouth_x)
    x = stations(half, mesh, _held_from(sheath, half))
    meshed = mesh_half(half, x, rows_wanted(half, x, mesh))
    flange = sheath.eyelet.flange.value
    shell = held_shell(half, meshed, flange)
    spots, free = _passing(table, spots_of(half, meshed, mesh), half.mouth_x)
    middles = meshed.shell.nodes[meshed.shell.triangles].mean(axis=1)
    v = meshed.v.ravel()[meshed.shell.triangles].mean(axis=1)
    flat = np.column_stack([middles[:, 0], v])
    apart = np.linalg.norm(flat[:, None, :] - half.eyelets[None, :, :], axis=2).min(axis=1)
    end = strip_end_at(half.fold, middles[:, 0]) - half.axis
    by_eyelets = (apart > flange / 2) & (apart < flange / 2 + AROUND)
    grip = grip_of(shell, spots)
    in_fold = v > end
    return PullModel(
        half, meshed, shell, table, spots, grip, mesh, flange, free, by_eyelets, in_fold
    )


def with_surface(model: PullModel, sheath: Sheath) -> PullModel:
    """Return the model of a sheath that differs in its snap depth alone.

    The shell of the first is kept, and only the surface that meets the knife is the new one's: a
    point keeps its station and its share of the way across.
    """
    half = half_sheath(sheath)
    meshed = mesh_half(half, model.mesh.x, model.mesh.v.shape[1] - 1)
    spots, free = _passing(model.near, spots_of(half, meshed, model.length), half.mouth_x)
    grip = grip_of(model.shell, spots)
    return replace(model, half=half, spots=spots, grip=grip, free=free)


def with_gauge(model: PullModel, factor: float) -> PullModel:
    """Return the model with the sheet everywhere thicker by a factor, its middle kept."""
    shell = replace(model.mesh.shell, thickness=factor * model.mesh.shell.thickness)
    meshed = replace(model.mesh, shell=shell)
    held = held_shell(model.half, meshed, model.flange)
    spots = replace(model.spots, thickness=factor * model.spots.thickness)
    grip = grip_of(held, spots)
    return replace(model, mesh=meshed, shell=held, spots=spots, grip=grip)


def draw_curve(model: PullModel, conditions: Conditions, steps: int = 40) -> DrawCurve:
    """Return force over travel, from home until the knife is free.

    Args:
        model: of the sheath.
        conditions: friction, modulus, and how this knife differs from the file's.
        steps: travels looked at after home.

    Returns:
        The curve. A force is infinite where a slope at or past the angle of friction carries load:
        there the knife locks (``step.locking_slope``).
    """
    if conditions.gauge_factor != 1.0:
        model = with_gauge(model, conditions.gauge_factor)
    # A thicker handle presses a little longer.
    travel = np.linspace(0.0, model.free + LINGERS * max(0.0, conditions.swell), steps + 1)
    out = back = untouched(model.grip)
    forces, rows = [], []
    for s in travel:
        out = step(model.grip, model.near, conditions, float(s), out)
        back = step(model.grip, model.near, conditions, float(s), back, homewards=True)
        forces.append(out.force)
        rows.append((out.along, back.along, *_seen(model, conditions.modulus, out)))
    pull, push, spread, low, high, opening, eyelets, fold, steepest, energy = np.array(rows).T
    pressure = np.array(forces) / model.grip.spots.area
    at_peak = pressure[int(np.argmax(pull))]
    contact = ContactMap(model.grip.spots.points, pressure.max(axis=0), at_peak)
    return DrawCurve(
        travel, pull, push, spread, low, high, opening, eyelets, fold, steepest, energy, contact
    )


def _seen(model: PullModel, modulus: float, out: Step) -> tuple[float, ...]:
    """Return what a curve keeps of a step but for its forces, in a curve's order."""
    touching = out.force > 0
    if not touching.any():
        return 0.0, np.nan, np.nan, 0.0, 0.0, 0.0, out.slope, 0.0
    x = model.grip.spots.points[touching, 0]
    load = load_of(model, out)
    moved = model.shell.displacement(load / modulus)
    strain = surface_strain(model.mesh.shell, moved, model.by_eyelets | model.in_fold)
    return (
        2 * float(out.force.sum()),
        float(x.min()),
        float(x.max()),
        float(np.linalg.norm(moved.reshape(-1, 6)[:, :3], axis=1).max()),
        float(strain[model.by_eyelets].max(initial=0.0)),
        float(strain[model.in_fold].max(initial=0.0)),
        out.slope,
        # Half of force times way, twice for both halves; the layer under each point as well.
        float(load @ moved + out.force**2 @ model.grip.points.layer / modulus),
    )


def load_of(model: PullModel, out: Step) -> Floats:
    """Return (6 n,) forces on the mesh's nodes, N."""
    grip = model.grip
    load = np.zeros((len(model.mesh.shell.nodes), 6))
    shares = (grip.spots.weights * out.force[:, None])[:, :, None] * out.direction[:, None, :]
    at = grip.nodes[grip.spots.nodes]
    np.add.at(load[:, :3], at.ravel(), shares.reshape(-1, 3))
    return load.ravel()


def _passing(table: Near, spots: Spots, mouth_x: float) -> tuple[Spots, float]:
    """Return the spots the knife comes near while it is drawn, and the travel that frees it, mm."""
    least, free = np.full(len(spots.points), np.inf), 0.0
    for s in np.arange(0.0, mouth_x, LOOK):
        gaps, _ = table.at(spots.points, (float(s), 0.0), 0.0)
        least = np.minimum(least, gaps)
        if gaps.min() < 0:
            free = float(s) + LOOK
    return spots.only(least < REACH), free


def _held_from(sheath: Sheath, half: Half) -> tuple[float, float]:
    """Return x from and to where the knife's draw is narrower than what must pass."""
    knife = sheath.knife
    passing = np.maximum.accumulate(knife.half.z, axis=1)
    x, y = knife.half.grid.mesh()
    end = strip_end_at(half.fold, x)
    undercut = (passing > knife.half.z + 0.05) & (knife.half.z > 0) & (y < end)
    tight = half.formed.at(np.column_stack([x.ravel(), y.ravel()])).reshape(x.shape) < passing
    held = x[undercut & tight & (x < half.mouth_x)]
    if not held.size:
        return half.mouth_x - 20.0, half.mouth_x
    return float(held.min()), float(held.max())
