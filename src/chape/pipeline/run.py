"""From a sheath file to everything a job folder holds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from chape.cutting.bound import figures_of
from chape.cutting.check import check_texts
from chape.cutting.check_flip import check_flip
from chape.cutting.dialects import facts_of
from chape.cutting.edge_lift import check_edges
from chape.cutting.offsets import check_zero
from chape.cutting.plan import plan_program
from chape.cutting.write import write_program
from chape.documents.meshes import mesh_job
from chape.documents.model import CheckedProgram
from chape.knife.check import check_knife
from chape.knife.read import read_knife
from chape.pipeline.clamp import numbered_fixture, setups_of
from chape.pipeline.fit import fit_task, run_solve, said_by, with_depth
from chape.pipeline.forming import forming_task
from chape.pipeline.keep import key_of
from chape.pipeline.stages import Task
from chape.sheath.check import check_sheath
from chape.sheath.design import design_sheath
from chape.tooling.check import check_tooling
from chape.tooling.check_marks import check_marks
from chape.tooling.figure import strokes_of
from chape.tooling.fixture import make_fixture
from chape.tooling.gauges import check_gauges, make_dummy, make_gauges
from chape.tooling.layout import lay_out
from chape.tooling.lettering import make_marks, with_marks
from chape.tooling.mould import make_mould

if TYPE_CHECKING:
    from datetime import date

    from chape.catalog.dialect import Dialect
    from chape.catalog.holds import NumberedFixture
    from chape.cutting.check import Verdict
    from chape.cutting.model import PlanFigures, Setup
    from chape.findings import Finding
    from chape.fit.fit import Fit
    from chape.fit.solve import Solved
    from chape.forming.model import Forming
    from chape.knife.model import Knife
    from chape.pipeline.file import Request
    from chape.pipeline.stages import Stages
    from chape.sheath.model import Sheath
    from chape.tooling.gauges import Gauges
    from chape.tooling.lettering import Mark
    from chape.tooling.model import Dummy, Fixture, Layout, Mould


#: Setups whose programs take longest to plan come first, so that no core waits.
LONG = ("mould-top", "fixture")


@dataclass(frozen=True, slots=True, eq=False)
class Tooling:
    """Everything a sheath is made on, with what its check saw."""

    layout: Layout
    mould: Mould
    fixture: Fixture
    dummy: Dummy
    marks: tuple[Mark, ...]
    gauges: Gauges
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Other:
    """A further sheath on the blank, as designed.

    Attributes:
        key: of its result.
        findings: of its knife and its design.
    """

    request: Request
    copies: int
    key: str
    knife: Knife
    sheath: Sheath
    solved: Solved | None
    findings: tuple[Finding, ...]

    def said(self, findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
        """Return findings with the sheath's name before their place."""
        name = self.sheath.choices.name
        return tuple(replace(each, place=f"{name}, {each.place}") for each in findings)


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """The computed job, before anything is drawn or written.

    Attributes:
        key: hash of all that went into the job.
        meshes: file name -> content.
        findings: of every stage, in the order of the stages.
        numbered: the workshop's fixture it is for; None for a new one.
        others: the further sheaths on its blank, each with its fit.
    """

    request: Request
    key: str
    knife: Knife
    sheath: Sheath
    tooling: Tooling
    fit: Fit
    forming: Forming
    programs: tuple[CheckedProgram, ...]
    meshes: dict[str, bytes]
    findings: tuple[Finding, ...]
    numbered: NumberedFixture | None = None
    others: tuple[tuple[Other, Fit], ...] = ()


def run_job(request: Request, stages: Stages, day: date | None = None) -> Job:
    """Run every stage from the knife to the proved programs.

    Args:
        request: the sheath file.
        stages: that keep what they made.
        day: today, on which a check of the fixture's zero may be overdue.

    Raises:
        InputError: a name is not in the catalogue, or a file cannot be used.
        CannotMakeError: no such sheath, mould, fixture or program can be made.
    """
    own = numbered_fixture(request)
    zero = check_zero(own, day)
    knife_key, knife = run_knife(request, stages)
    solved = run_solve(request, stages, knife_key, knife)
    sheath_key, (sheath, seen) = run_sheath(request, stages, knife_key, knife, solved)
    others = design_others(request, stages)
    tooling_key, tooling = run_tooling(request, stages, sheath_key, sheath, others)
    forming = forming_task(request, stages, tooling_key, sheath, tooling.mould)
    fit = fit_task(request, stages, sheath_key, sheath, solved)
    key, programs, meshes, (fitted, seen_fit), (formed, seen_forming) = _run_programs(
        request, stages, tooling_key, tooling, (fit, forming)
    )
    tried, seen_others = fit_others(others, stages)
    findings = (
        *check_knife(knife),
        *seen,
        *seen_fit,
        *seen_others,
        *tooling.findings,
        *seen_forming,
        *zero,
        *check_flip(programs[0].setup, programs[1].setup),
        *check_edges(tooling.fixture, programs[3].setup),
        *(finding for program in programs for finding in program.verdict.findings),
    )
    fits = (other.request.file.fit.model_dump_json() for other in others)
    key = key_of(key, fit.key, forming.key, repr(zero), *fits)
    return Job(
        *(request, key, knife, sheath, tooling, fitted, formed, programs, meshes, findings),
        numbered=own,
        others=tuple(zip(others, tried, strict=True)),
    )


def design_others(request: Request, stages: Stages) -> tuple[Other, ...]:
    """Design the further sheaths on a request's blank."""
    designed = []
    for other, wanted in zip(request.others, request.file.blank.others, strict=True):
        knife_key, knife = run_knife(other, stages)
        solved = run_solve(other, stages, knife_key, knife)
        key, (sheath, seen) = run_sheath(other, stages, knife_key, knife, solved)
        own = Other(other, wanted.copies, key, knife, sheath, solved, ())
        designed.append(replace(own, findings=own.said((*check_knife(knife), *seen))))
    return tuple(designed)


def fit_others(others: tuple[Other, ...], stages: Stages) -> tuple[list[Fit], tuple[Finding, ...]]:
    """Return how each further sheath holds its knife, and all that was seen of them."""
    tasks = [fit_task(o.request, stages, o.key, o.sheath, o.solved) for o in others]
    results = stages.run_all("Try the fit of the other sheaths", tasks)
    findings: list[Finding] = []
    for other, (_, seen) in zip(others, results, strict=True):
        findings += [*other.findings, *other.said(seen)]
    return [fit for fit, _ in results], tuple(findings)


def run_knife(request: Request, stages: Stages) -> tuple[str, Knife]:
    """Return the knife with the key of its result."""
    spacing = request.file.sheath.spacing
    key = stages.key("knife", "knife", repr(spacing), *_bytes_of(request.knife_inputs))
    return key, stages.run(
        key,
        "Measure the knife",
        lambda: read_knife(request.knife, spacing, copies=request.copies),
    )


def run_sheath(
    request: Request, stages: Stages, knife_key: str, knife: Knife, solved: Solved | None
) -> tuple[str, tuple[Sheath, tuple[Finding, ...]]]:
    """Return the sheath and what its check saw, with the key of the result.

    Its snap depth is the one that was found for the wanted hold, where one was.
    """
    choices = with_depth(request.file.sheath, solved)

    def design() -> tuple[Sheath, tuple[Finding, ...]]:
        sheath = design_sheath(knife, choices, request.catalog)
        return sheath, check_sheath(sheath)

    key = stages.key("sheath", "sheath", knife_key, said_by(choices), request.catalog.as_json())
    return key, stages.run(key, "Design the sheath", design)


def run_tooling(
    request: Request,
    stages: Stages,
    sheath_key: str,
    sheath: Sheath,
    others: tuple[Other, ...] = (),
) -> tuple[str, Tooling]:
    """Return mould, fixture and dummy with what their check saw, and the key of the result."""
    file = request.file
    requests = (request, *(other.request for other in others))
    drawings = [_mark_drawings(each) for each in requests]

    def tool_up() -> Tooling:
        sheaths = (sheath, *(other.sheath for other in others))
        marks = {
            n: _marks(*each) for n, each in enumerate(zip(requests, sheaths, drawings, strict=True))
        }
        laid = lay_out(sheath, file.blank, [(other.sheath, other.copies) for other in others])
        layout = with_marks(laid, marks)
        mould = make_mould(layout, file.mould)
        fixture = make_fixture(layout, file.fixture, request.catalog)
        gauges = make_gauges(sheath, file.fit.handle_spread)
        seen = (
            *(finding for n, each in enumerate(sheaths) for finding in check_marks(each, marks[n])),
            *check_tooling(layout, mould, fixture),
            *check_gauges(gauges),
        )
        return Tooling(layout, mould, fixture, make_dummy(sheath.knife), marks[0], gauges, seen)

    choices = (file.blank, file.mould, file.fixture)
    key = stages.key(
        "tooling",
        "tooling",
        sheath_key,
        *(each.model_dump_json() for each in choices),
        *(content for each in drawings for content in each.values()),
        repr(file.fit.handle_spread),
        *(f"{o.key} {o.copies} {o.request.file.mould.model_dump_json()}" for o in others),
    )
    return key, stages.run(key, "Lay out the blank, mould and fixture", tool_up)


def _mark_drawings(request: Request) -> dict[str, bytes]:
    """Return the drawings that a file's marks are figures of, by the name it calls them."""
    named = {mark.figure for mark in request.file.mould.marks if mark.figure is not None}
    return {name: request.inputs[PurePath(name).name] for name in sorted(named)}


def _marks(request: Request, sheath: Sheath, drawings: dict[str, bytes]) -> tuple[Mark, ...]:
    figures = {
        name: strokes_of(content, request.path.with_name(PurePath(name).name))
        if request.copies
        else strokes_of(content, request.path.parent / name)
        for name, content in drawings.items()
    }
    return make_marks(sheath, request.file.mould.marks, figures)


def _run_programs(
    request: Request,
    stages: Stages,
    tooling_key: str,
    tooling: Tooling,
    beside: tuple[Task[Any], Task[Any]],
) -> tuple[str, tuple[CheckedProgram, ...], dict[str, bytes], Any, Any]:
    """Return the key of the programs, and what shares the cores: programs, meshes, fit, forming.

    The two tasks ``beside`` are those of the fit and of the forming.
    """
    key, setups, tasks = program_tasks(request, stages, tooling_key, tooling)
    names = [task.arguments[0].name for task in tasks]
    mesh = Task(
        stages.key("documents", "meshes", tooling_key),
        "Mesh the mould, the fixture, the dummy and the gauges",
        mesh_job,
        (tooling.mould, tooling.fixture, tooling.dummy, tooling.gauges),
    )
    fit, forming = beside
    fitted, *made, meshes, formed = stages.run_all(
        "Write and prove the programs, mesh the mould, try the fit, form the blank",
        [fit, *tasks, mesh, forming],
    )
    proved = dict(zip(names, made, strict=True))
    programs = tuple(CheckedProgram(setup, *proved[setup.name]) for setup in setups)
    return key, programs, meshes, fitted, formed


def program_tasks(
    request: Request, stages: Stages, tooling_key: str, tooling: Tooling
) -> tuple[str, tuple[Setup, ...], list[Task[Any]]]:
    """Return the key of a job's programs, their setups in order, and the tasks that make them."""
    machine = request.file.machine
    altitude = request.file.forming.altitude
    key = stages.key("cutting", "programs", tooling_key, machine.model_dump_json(), repr(altitude))
    setups = stages.run(
        stages.key("cutting", "setups", key),
        "Clamp",
        lambda: setups_of(request, tooling.mould, tooling.fixture),
    )
    words = dialect_of(request)
    tasks: list[Task[Any]] = [
        Task(
            stages.key("cutting", "program", key, setup.name),
            f"Write and prove the program {setup.name}",
            make_program,
            (setup, words),
        )
        for setup in sorted(setups, key=lambda setup: setup.name not in LONG)
    ]
    return key, tuple(setups), tasks


def dialect_of(request: Request) -> Dialect:
    """Return how the programs of a job are written: as the file says, or as the router wants."""
    machine = request.file.machine
    return request.catalog.dialect(
        machine.dialect or request.catalog.machine(machine.router).dialect
    )


def make_program(setup: Setup, words: Dialect) -> tuple[tuple[str, ...], Verdict, PlanFigures]:
    """Write the program of a setup, prove its texts, and say what only its plan shows.

    Raises:
        CannotMakeError: no such program can be made with the machine and its cutters.
        InputError: the dialect has no such work offset.
    """
    program = plan_program(setup)
    texts = write_program(program, words)
    return texts, check_texts(texts, setup, facts_of(words)), figures_of(program)


def _bytes_of(files: dict[str, bytes]) -> list[bytes]:
    return [part for name, content in sorted(files.items()) for part in (name.encode(), content)]
