"""The exact figures of a sheath: designed on the grid its file asks for, its hold searched for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.bench.finding import finding_answers
from chape.bench.job_folder import key_of_inputs
from chape.documents.figures_fit import fit_figures
from chape.knife.check import check_knife
from chape.pipeline.fit import fit_task, run_solve
from chape.pipeline.glance import figures_of
from chape.pipeline.run import run_knife, run_sheath

if TYPE_CHECKING:
    from chape.pipeline.file import Request
    from chape.pipeline.stages import Stages

#: Forces are told to a tenth, lengths and shares to a thousandth.
DIGITS = 3


def exact_figures(request: Request, stages: Stages) -> dict[str, Any]:
    """Return figures, findings and fit of a sheath.

    Raises:
        InputError, CannotMakeError: no such sheath can be made, or no depth gives its hold.
    """
    knife_key, knife = run_knife(request, stages)
    solved = run_solve(request, stages, knife_key, knife)
    sheath_key, (sheath, seen) = run_sheath(request, stages, knife_key, knife, solved)
    task = fit_task(request, stages, sheath_key, sheath, solved)
    fit, seen_fit = stages.run(task.key, task.title, lambda: task.make(*task.arguments))
    figures = figures_of(sheath, request)
    findings = finding_answers((*check_knife(knife), *seen, *seen_fit), sheath)
    told = fit_figures(fit)
    # A page draws curves and bars; single knives of the sample are no use to it.
    if told["share"] is not None:
        del told["share"]["holds"]
    own = {name: getattr(figures, name) for name in type(figures).__slots__}
    return {
        "key": key_of_inputs(request.inputs),
        "figures": _rounded(own),
        "findings": [each.model_dump() for each in findings],
        "fit": _rounded(told),
    }


def _rounded(value: Any) -> Any:  # noqa: ANN401 - figures, words and tables of them
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(each) for each in value]
    return round(value, DIGITS) if isinstance(value, float) else value
