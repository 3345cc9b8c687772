"""Two sheaths held side by side."""

from collections.abc import Iterator

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.api_jobs import exact
from chape.bench.bench import AtBench, Bench
from chape.bench.compare_sheaths import CompareRow, compare_row, figure_rows, setting_rows
from chape.bench.place import Kind
from chape.bench.preview import Look
from chape.bench.problem import Problem, RefusedError
from chape.bench.sheath_answers import PlanView, PreviewAnswer

router = APIRouter(prefix="/compare", tags=["sheaths"])

#: Exact figures, where both have them for their files as they are: name, words, unit.
EXACT = (("hold", "Hold", "N"), ("push", "Push to close", "N"))


class CompareAnswer(BaseModel):
    """Two sheaths.

    Attributes:
        rows: their figures, then the settings in which they differ.
        plan_a, plan_b: null for one that cannot be designed.
        problem_a, problem_b: why it cannot.
    """

    rows: list[CompareRow]
    plan_a: PlanView | None
    plan_b: PlanView | None
    problem_a: Problem | None
    problem_b: Problem | None


@router.get("")
def compare(a: str, b: str, bench: AtBench) -> CompareAnswer:
    """Hold two sheaths side by side."""
    from chape.bench.form import form  # noqa: PLC0415 - numerics come with the models
    from chape.pipeline.file import SheathFile, catalog_beside  # noqa: PLC0415 - as above

    first, second = (bench.records.read(Kind.SHEATH, name) for name in (a, b))
    one, other = (_seen(name, bench) for name in (a, b))
    fields = form(SheathFile, catalog_beside(first.path))
    return CompareAnswer(
        rows=[
            *figure_rows(one.figures, other.figures),
            *_exact_rows(a, b, bench),
            *setting_rows(first.tables, second.tables, fields),
        ],
        plan_a=one.plan,
        plan_b=other.plan,
        problem_a=one.problem,
        problem_b=other.problem,
    )


def _seen(name: str, bench: Bench) -> PreviewAnswer:
    look = Look(bench.place.file_of(Kind.SHEATH, name))
    seen = bench.previews.look(f"beside {name}", look)
    if seen is None:  # someone else holds it beside another in this very moment
        raise RefusedError(409, f'"{name}" is looked at twice at once', mend="Ask again")
    return PreviewAnswer.model_validate_json(seen)


def _exact_rows(a: str, b: str, bench: Bench) -> Iterator[CompareRow]:
    try:
        both = [exact(name, bench) for name in (a, b)]
    except RefusedError:
        return
    if all(each.current for each in both):
        for name, label, unit in EXACT:
            yield compare_row(label, both[0].fit.get(name), both[1].fit.get(name), unit)
