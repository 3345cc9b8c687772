"""The stages of the fit: the snap depth that gives the wanted hold, and how the sheath holds."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError
from chape.fit.calibrate import calibrate, scale_uncertainty
from chape.fit.check import check_fit
from chape.fit.fit import fit_alone, fit_sheath
from chape.fit.solve import solve_snap_depth
from chape.fit.temperature import modulus_at
from chape.pipeline.stages import Task
from chape.workers import workers

if TYPE_CHECKING:
    from chape.findings import Finding
    from chape.fit.calibrate import Calibrated
    from chape.fit.fit import Fit
    from chape.fit.model import FitChoices
    from chape.fit.solve import Solved
    from chape.knife.model import Knife
    from chape.pipeline.file import Request
    from chape.pipeline.stages import Stages
    from chape.sheath.model import Sheath, SheathChoices

#: A job counts so many knives at most, so that it does not wait for them; ``chape fit`` counts
#: as many as the file asks for.
JOB_SAMPLES = 128


def said_by(choices: SheathChoices) -> str:
    """Return what a design depends on beside the knife: all but where the knife's file lies."""
    return choices.model_dump_json(exclude={"knife"})


def run_solve(request: Request, stages: Stages, knife_key: str, knife: Knife) -> Solved | None:
    """Return the snap depth that gives the hold asked for; None where none is.

    Raises:
        CannotMakeError: no depth gives that hold.
    """
    fit, choices = request.file.fit, request.file.sheath
    if fit.hold is None:
        return None
    # Only what moves the hold of the knife of the file counts.
    asked = fit.model_dump_json(include={"hold", "friction", "temperature"})
    key = stages.key(
        *("fit", "solve", knife_key, said_by(choices), asked, request.catalog.as_json())
    )
    return stages.run(
        key,
        f"Find the snap depth that holds with {fit.hold:g} N",
        lambda: solve_snap_depth(knife, choices, fit, request.catalog),
    )


def with_depth(choices: SheathChoices, solved: Solved | None) -> SheathChoices:
    """Return the maker's choices, with the snap depth that was found in place of theirs."""
    if solved is None:
        return choices
    return choices.model_copy(update={"snap_depth": solved.snap_depth})


def fit_task(
    request: Request, stages: Stages, sheath_key: str, sheath: Sheath, solved: Solved | None
) -> Task[tuple[Fit, tuple[Finding, ...]]]:
    """Return the task that says how the sheath holds its knife, and what is seen about it."""
    asked = request.file.fit
    choices = asked.model_copy(update={"samples": min(asked.samples, JOB_SAMPLES)})
    key = stages.key("fit", "fit", sheath_key, choices.model_dump_json(), repr(solved))
    return Task(key, "Try the fit", tried, (sheath, choices, solved))


def tried(
    sheath: Sheath, choices: FitChoices, solved: Solved | None
) -> tuple[Fit, tuple[Finding, ...]]:
    """Return how the sheath holds its knife, and what is seen about it.

    Raises:
        CannotMakeError: no eyelets hold the sheath together.
    """
    fit = fit_alone(sheath, choices, solved)
    return fit, check_fit(fit)


def run_fit(
    request: Request,
    stages: Stages,
    sheath_key: str,
    sheath: Sheath,
    solved: Solved | None,
    address: str | None,
) -> Fit:
    """Return how the sheath holds its knife, over as many knives as the file asks for.

    Args:
        request: the sheath file.
        stages: that keep what they made.
        sheath_key: of the sheath's result.
        sheath: as designed.
        solved: how its snap depth was found, where it was searched for.
        address: of a cluster that works on the knives; None takes this machine's cores.

    Raises:
        CannotMakeError: no eyelets hold the sheath together.
        InputError: no cluster answers there.
    """
    choices = request.file.fit
    key = stages.key("fit", "whole fit", sheath_key, choices.model_dump_json(), repr(solved))

    def make() -> Fit:
        with workers(address) as executor:
            return fit_sheath(sheath, choices, solved, executor)

    return stages.run(key, f"Try the fit of {choices.samples} knives", make)


def calibrated(fit: Fit, sheath: Sheath, reading: float, address: str | None) -> Calibrated:
    """Return what a spring scale's reading on a made sheath says of friction.

    Raises:
        InputError: a reading that is none, or no cluster answers.
        CannotMakeError: the sheath holds nothing, or no friction explains the reading.
    """
    if fit.share is None:
        raise CannotMakeError(
            "this sheath holds its knife with no force that friction could be read from",
            mend="Ask for a hold, or give a greater snap depth",
        )
    readings = [(reading, scale_uncertainty(reading))]
    stiffness = partial(modulus_at, sheath.sheet)
    with workers(address) as executor:
        return calibrate(readings, fit.share, fit.condensed, fit.choices, stiffness, executor)
