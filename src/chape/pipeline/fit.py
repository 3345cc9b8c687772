"""The stages of the fit: the snap depth that gives the wanted hold, and how the sheath holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.fit.check import check_fit
from chape.fit.fit import fit_alone
from chape.fit.solve import solve_snap_depth
from chape.pipeline.stages import Task

if TYPE_CHECKING:
    from chape.findings import Finding
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
        *("fit", "solve", knife_key, choices.model_dump_json(), asked, request.catalog.as_json())
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
