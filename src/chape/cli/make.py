"""Makes job folders, and says what came of it."""

from __future__ import annotations

import datetime as dt
import shutil
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from chape.cli.new import start_folder
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError
from chape.findings import errors
from chape.units import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from chape.pipeline.page import Page
    from chape.pipeline.run import Job

#: Exit code when a job was made but its findings keep the programs back.
HELD_BACK = 6

PAPERS = ("a4", "letter")


def make_job(
    path: Path,
    out: Path | None,
    paper: str,
    unit: str,
    date: str | None,
    *,
    afresh: bool,
    as_json: bool,
) -> int:
    """Make one job folder; return the exit code."""
    page = page_of(paper, unit, date)
    target = out if out is not None else path.parent / f"{path.stem}-job"

    from chape.pipeline.file import read_request
    from chape.pipeline.folder import check_target, write_folder

    request = read_request(path)
    check_target(target)
    with progress(quiet=as_json) as watch:
        from chape.pipeline.keep import Keep
        from chape.pipeline.pack import pack_job
        from chape.pipeline.run import run_job
        from chape.pipeline.stages import Stages

        stages = Stages(Keep(None) if afresh else Keep.of_person(), watch)
        job = run_job(request, stages, page.date or dt.datetime.now().astimezone().date())
        files = pack_job(job, page, stages)
        watch("Write the job folder")
        write_folder(target, files)
    _say(job, target, as_json=as_json)
    return HELD_BACK if errors(job.findings) else 0


def page_of(paper: str, unit: str, date: str | None) -> Page:
    """Return how documents are printed, from what was typed.

    Raises:
        InputError: an option that cannot be used.
    """
    if paper not in PAPERS:
        raise InputError(f'found --paper "{paper}"', mend='Write "a4" or "letter"')
    wanted_unit, wanted_date = _unit(unit), _date(date)
    from chape.pipeline.page import Page

    return Page(paper, wanted_unit, wanted_date)


def make_demo(folder: Path, *, afresh: bool) -> int:
    """Start the demo's files in ``folder`` where they are missing, and make their job."""
    sheath = folder / "sheath.toml"
    if not sheath.exists():
        start_folder(folder, double_edged=False)
    code = make_job(
        sheath, folder / "job", "a4", LengthUnit.MM.value, None, afresh=afresh, as_json=False
    )
    typer.echo(f"Edit {folder / 'knife.toml'} or {sheath}, then run: {_own_name()} make {sheath}")
    typer.echo(f"Or see it, turn it and drag it on the bench: {_own_name()} bench {folder}")
    return code


def _own_name() -> str:
    """Return how the person can call chape: by name, or by its path where no name is known."""
    if shutil.which("chape"):
        return "chape"
    called = Path(sys.argv[0])
    return str(called.relative_to(Path.cwd()) if called.is_relative_to(Path.cwd()) else called)


@contextmanager
def progress(*, quiet: bool) -> Iterator[Callable[[str], None]]:
    """Show each stage with its time; quiet shows nothing."""
    if quiet:
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TaskID, TextColumn, TimeElapsedColumn

    with Progress(
        SpinnerColumn(finished_text="[green]·[/green]"),
        TextColumn("{task.description}"),
        TimeElapsedColumn(),
        console=Console(stderr=True),
    ) as bar:
        stages: list[TaskID] = []

        def watch(title: str) -> None:
            finish()
            stages.append(bar.add_task(title, total=1))

        def finish() -> None:
            if stages:
                bar.update(stages[-1], completed=1)

        yield watch
        finish()


def _say(job: Job, target: Path, *, as_json: bool) -> None:
    if as_json:
        print_json(_summary(job, target))
        return
    say_findings(job.findings)
    typer.echo(f"\n{job.sheath.choices.name}: {target}")
    state = "held back" if errors(job.findings) else "released"
    for program in job.programs:
        minutes = program.verdict.seconds / 60
        typer.echo(f"  {program.files:24} {minutes:6.1f} min  {state}")
    if errors(job.findings):
        typer.echo("The programs are held back until the errors above are mended.")
    else:
        typer.echo(f"Open {target / 'job.pdf'} first, then {target / 'meshes' / 'mould.stl'}.")


def _summary(job: Job, target: Path) -> dict[str, Any]:
    released = not errors(job.findings)
    return {
        "folder": str(target),
        "released": released,
        "programs": [
            {
                "files": list(program.file_names),
                "minutes": round(program.verdict.seconds / 60, 2),
                "released": released,
            }
            for program in job.programs
        ],
        "findings": finding_rows(job.findings),
    }


def _unit(text: str) -> LengthUnit:
    try:
        return LengthUnit(text)
    except ValueError:
        raise InputError(f'found --unit "{text}"', mend='Write "mm" or "inch"') from None


def _date(text: str | None) -> dt.date | None:
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f'found --date "{text}"', mend="Write a day as YYYY-MM-DD, like 2026-03-14"
        ) from None
