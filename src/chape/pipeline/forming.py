"""The stage that forms a blank, worked out beside the programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.forming.check import check_forming
from chape.forming.form import form
from chape.forming.model import Mounted
from chape.pipeline.stages import Task
from chape.pipeline.trial_book import TRIALS, read_trials

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.catalog.read import Catalog
    from chape.findings import Finding
    from chape.forming.model import Forming, FormingChoices
    from chape.forming.trials import Trial
    from chape.pipeline.file import Request
    from chape.pipeline.stages import Stages
    from chape.sheath.model import Sheath
    from chape.tooling.model import Mould


def forming_task(
    request: Request, stages: Stages, tooling_key: str, sheath: Sheath, mould: Mould
) -> Task[tuple[Forming, tuple[Finding, ...]]]:
    """Return the task that says what it takes to form a blank, and what is seen about it."""
    choices = request.file.forming
    book = request.inputs.get(TRIALS, b"")
    key = stages.key("forming", "forming", tooling_key, choices.model_dump_json(), book)
    mounted = Mounted(
        surface=mould.surface,
        border=mould.layout.blank.clamp_border,
        plate=-mould.z_bottom,
        material=request.catalog.material(request.file.mould.material),
        vents=len(mould.vents),
        vent=max((vent.diameter for vent in mould.vents), default=0.0),
        draft=sheath.choices.clearance.draft,
        copies=mould.layout.copies,
        scale=mould.scale,
    )
    trials = read_trials(book, request.path.with_name(TRIALS))
    arguments = (sheath, mounted, choices, request.catalog, trials)
    return Task(key, "Form the blank", form_blank, arguments)


def form_blank(
    sheath: Sheath,
    mounted: Mounted,
    choices: FormingChoices,
    catalog: Catalog,
    trials: Sequence[Trial],
) -> tuple[Forming, tuple[Finding, ...]]:
    """Return what it takes to form a blank, and what is seen about it.

    Raises:
        InputError: a name is not in the catalogue.
        CannotMakeError: the frame leaves no sheet free.
    """
    formed = form(sheath, mounted, choices, catalog, trials)
    return formed, check_forming(formed)
