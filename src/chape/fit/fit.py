"""The fit of one sheath: everything that is known about how it holds its knife, in one record."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from chape.fit.bands import hold_bands
from chape.fit.clearance import clearance_along_draw
from chape.fit.condensed import condensed
from chape.fit.half import wall_of
from chape.fit.play import free_play
from chape.fit.pull import draw_curve, pull_model
from chape.fit.share import share_that_passes
from chape.fit.temperature import modulus_at, softens_at
from chape.fit.vary import middle
from chape.fit.words import weight_of

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from chape.fit.bands import Band
    from chape.fit.clearance import DrawClearance
    from chape.fit.condensed import CondensedPull
    from chape.fit.model import DrawCurve, FitChoices
    from chape.fit.play import Play
    from chape.fit.share import Share
    from chape.fit.solve import Solved
    from chape.fit.words import Weight
    from chape.sheath.model import Sheath

#: Steps of the draw.
STEPS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """How a sheath holds its knife.

    Attributes:
        choices: what was asked.
        snap_depth: of the sheath, mm.
        solved: how the snap depth was found; None where it stands in the file.
        curve: force over travel, the knife of the file in the workshop.
        slick, rough: the same with the friction one spread lower and higher.
        cold, hot: forces of a cold and a hot day, as a share of the workshop's.
        clearance: of the edge, along the draw.
        play: of the knife in the closed sheath.
        weight: of the knife, and what a shake asks for.
        bands: what each input alone does to the hold.
        share: of knives that pass; None where there is no hold to speak of a band around.
        strain_limit: of the sheet, for a joint used often.
        softens: from here on the sheet gives way for good, degrees Celsius.
        condensed: for more knives of the same sheath.
    """

    choices: FitChoices
    snap_depth: float
    solved: Solved | None
    curve: DrawCurve
    slick: DrawCurve
    rough: DrawCurve
    cold: float
    hot: float
    clearance: DrawClearance
    play: Play
    weight: Weight
    bands: tuple[Band, ...]
    share: Share | None
    strain_limit: float
    softens: float
    condensed: CondensedPull

    @property
    def hold(self) -> float:
        """Greatest pull of the knife of the file in the workshop, N."""
        return self.curve.peak

    @property
    def wanted(self) -> float:
        """Middle of the band a knife passes in, N: the hold asked for, else the one that is."""
        return self.choices.hold if self.choices.hold is not None else self.hold

    @property
    def hold_least(self) -> float:
        """Hold on a hot day with little friction, N."""
        return self.slick.peak * min(self.hot, self.cold)

    @property
    def hold_most(self) -> float:
        """Hold on a cold day with much friction, N."""
        return self.rough.peak * max(self.hot, self.cold)

    @property
    def strain(self) -> float:
        """Greatest strain of the sheet's surface during the draw, at eyelets or fold."""
        return float(max(self.curve.strain_eyelets.max(), self.curve.strain_fold.max()))


def fit_sheath(
    sheath: Sheath, choices: FitChoices, solved: Solved | None, executor: Executor
) -> Fit:
    """Work out how a sheath holds its knife.

    Args:
        sheath: as designed.
        choices: what was asked.
        solved: how its snap depth was found, where it was searched for.
        executor: who works on the many knives; the answer is the same whoever does.

    Raises:
        CannotMakeError: no eyelets hold the sheath together.
    """
    stiffness = partial(modulus_at, sheath.sheet)
    usual = middle(choices, stiffness)
    model = pull_model(sheath, thickness=wall_of(sheath))
    curve = draw_curve(model, usual, STEPS)
    off = choices.friction_spread
    slick, rough = (
        draw_curve(model, replace(usual, friction=friction), STEPS)
        for friction in (max(0.0, usual.friction - off), usual.friction + off)
    )
    small = condensed(model)
    wanted = choices.hold if choices.hold is not None else curve.peak
    counted = 0 < wanted < np.inf and 0 < curve.peak < np.inf
    room = sheath.choices.clearance.handle + sheath.knife.uncertainty
    return Fit(
        choices=choices,
        snap_depth=sheath.choices.snap_depth,
        solved=solved,
        curve=curve,
        slick=slick,
        rough=rough,
        cold=stiffness(choices.cold) / usual.modulus,
        hot=stiffness(choices.hot) / usual.modulus,
        clearance=clearance_along_draw(sheath),
        play=free_play(sheath),
        weight=weight_of(sheath.knife, choices),
        bands=hold_bands(small, choices, room, stiffness, executor) if counted else (),
        share=share_that_passes(small, choices, stiffness, wanted, executor) if counted else None,
        strain_limit=sheath.sheet.strain_limit.value,
        softens=softens_at(sheath.sheet),
        condensed=small,
    )


def fit_alone(sheath: Sheath, choices: FitChoices, solved: Solved | None) -> Fit:
    """Work out the fit in this process alone, as one of several things that share the cores."""
    with ThreadPoolExecutor(1) as executor:
        return fit_sheath(sheath, choices, solved, executor)
