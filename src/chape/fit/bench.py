"""Sheaths for one knife that differ in their snap depth: designed, and pulled."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from chape.fit.half import wall_of
from chape.fit.pull import draw_curve, pull_model, with_surface
from chape.fit.temperature import modulus_at
from chape.fit.vary import middle
from chape.sheath.cavity import near, surroundings_of
from chape.sheath.design import design_sheath, with_snap_depth
from chape.sheath.halves import strip_end_at

if TYPE_CHECKING:
    from chape.catalog.read import Catalog
    from chape.fit.model import Conditions, DrawCurve, FitChoices
    from chape.fit.pull import PullModel
    from chape.knife.model import Knife
    from chape.sheath.cavity import Surroundings
    from chape.sheath.model import Sheath, SheathChoices

#: Grid of the coarse designs, length of their elements, mm, and steps of the draw.
SEARCH_SPACING, SEARCH_MESH, SEARCH_STEPS = 0.4, 2.5, 20


@dataclass(frozen=True, slots=True)
class Trial:
    """What came of a sheath with one snap depth.

    Attributes:
        snap_depth: mm.
        hold: greatest pull, N; infinite where the knife locks.
        push: greatest push, N.
        strain: greatest strain of the sheet's surface during the draw.
        at_eyelets: it is at the eyelets, else in the fold.
        steepest: slope that carries load, degrees from the draw.
    """

    snap_depth: float
    hold: float
    push: float
    strain: float
    at_eyelets: bool
    steepest: float


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """Designs and pulls sheaths that differ in their snap depth.

    Attributes:
        knife: what goes in.
        choices: the maker's, but for the snap depth.
        fit: gives friction and temperature.
        catalog: where the sheet is looked up.
        mesh: length of elements, mm.
        steps: of the draw.
    """

    knife: Knife
    choices: SheathChoices
    fit: FitChoices
    catalog: Catalog
    mesh: float
    steps: int

    def with_choices(self, **changed: object) -> Bench:
        """Return the same with other choices."""
        return replace(self, choices=self.choices.model_copy(update=changed))

    def coarse(self) -> Bench:
        """Return the same on a coarse grid and mesh."""
        spacing = max(self.choices.spacing, SEARCH_SPACING)
        mesh = max(self.mesh, SEARCH_MESH)
        return replace(self.with_choices(spacing=spacing), mesh=mesh, steps=SEARCH_STEPS)

    def sheath(self, snap_depth: float) -> Sheath:
        """Return the sheath with a snap depth."""
        choices = self.with_choices(snap_depth=snap_depth).choices
        return design_sheath(self.knife, choices, self.catalog)

    def trial(self, snap_depth: float) -> Trial:
        """Return what comes of a snap depth."""
        sheath = self.sheath(snap_depth)
        model = pull_model(sheath, self.mesh, wall_of(sheath))
        return summed_up(snap_depth, draw_curve(model, self.usual(), self.steps))

    def usual(self) -> Conditions:
        """Return the knife of the file in the sheet of the catalogue, in the workshop."""
        sheet = self.catalog.sheet(self.choices.sheet)
        return middle(self.fit, partial(modulus_at, sheet))

    def quick(self) -> QuickBench:
        """Return a bench for many depths near that of the choices."""
        sheath = self.sheath(self.choices.snap_depth)
        around = surroundings_of(sheath.knife, sheath.choices, sheath.cavity.grid)
        model = pull_model(sheath, self.mesh, wall_of(sheath))
        return QuickBench(sheath, around, model, self.usual(), self.steps)


@dataclass(frozen=True, slots=True, eq=False)
class QuickBench:
    """One sheath designed on a coarse grid, of which only the cavity's depth changes.

    Fold, holes, outline and shell stay as they are; only the surface that meets the knife is the
    new one's, so that no stiffness is worked out again.

    Attributes:
        first: the sheath.
        around: what of its cavity does not depend on the depth.
        model: of it.
        usual: knife, sheet and workshop of the files.
        steps: of the draw.
    """

    first: Sheath
    around: Surroundings
    model: PullModel
    usual: Conditions
    steps: int

    def trial(self, snap_depth: float) -> Trial:
        """Return what comes of a snap depth, nearly."""
        sheath = with_snap_depth(self.first, self.around, snap_depth)
        curve = draw_curve(with_surface(self.model, sheath), self.usual, self.steps)
        return summed_up(snap_depth, curve)

    def undercut(self) -> float:
        """Return how deep a sheath could reach into the knife before its mouth, mm.

        That is how far the draw envelope stands over the cavity that follows the knife wherever it
        may, within the knife's outline and never at the edge.
        """
        grid = self.around.home.grid
        x, y = grid.mesh()
        end = strip_end_at(self.first.fold, x)
        counts = near(self.first.knife.outline, grid, 0.0) & (x <= self.first.mouth_x) & (y <= end)
        closest = np.maximum(self.around.home.z, self.around.edge_envelope.z)
        return float(np.where(counts, self.around.envelope.z - closest, 0.0).max(initial=0.0))


def summed_up(snap_depth: float, curve: DrawCurve) -> Trial:
    """Return what of a draw the search needs."""
    eyelets, fold = float(curve.strain_eyelets.max()), float(curve.strain_fold.max())
    return Trial(
        snap_depth=snap_depth,
        hold=curve.peak,
        push=curve.push_peak,
        strain=max(eyelets, fold),
        at_eyelets=eyelets >= fold,
        steepest=float(np.nanmax(curve.steepest, initial=0.0)),
    )
