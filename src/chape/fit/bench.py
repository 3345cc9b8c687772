"""Sheaths for one knife that differ in their snap depth: designed, and pulled."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from chape.fit.pull import draw_curve, pull_model
from chape.fit.temperature import modulus_at
from chape.fit.vary import middle
from chape.sheath.cavity import near
from chape.sheath.design import design_sheath

if TYPE_CHECKING:
    from chape.catalog.read import Catalog
    from chape.fit.model import DrawCurve, FitChoices
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath, SheathChoices

#: Grid of the coarse designs, length of their elements, mm, and steps of the draw.
SEARCH_SPACING, SEARCH_MESH, SEARCH_STEPS = 0.5, 3.0, 20

#: A depth no knife has: the sheath follows the knife wherever it may.
LOCKED_DEPTH = 60.0


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
        usual = middle(self.fit, partial(modulus_at, sheath.sheet))
        curve = draw_curve(pull_model(sheath, self.mesh), usual, self.steps)
        return summed_up(snap_depth, curve)

    def undercut(self) -> float:
        """Return how deep a sheath could reach into the knife before its mouth, mm.

        That is how far the draw envelope stands over the cavity that follows the knife wherever it
        may, within the knife's outline: never at the edge, and without pads or flare.
        """
        mouth = self.choices.mouth.model_copy(update={"flare": 0.0})
        sheath = self.with_choices(tip_pads=None, mouth=mouth).sheath(LOCKED_DEPTH)
        grid = sheath.cavity.grid
        x, y = grid.mesh()
        end = np.interp(x, sheath.fold.x, sheath.fold.end)
        counts = near(self.knife.outline, grid, 0.0) & (x <= sheath.mouth_x) & (y <= end)
        return float(np.where(counts, sheath.envelope.z - sheath.cavity.z, 0.0).max(initial=0.0))


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
