"""Checks a job folder from its own files, or a file before anything is made of it."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chape.catalog.files import parse_toml, read_bytes
from chape.cutting.check import check_texts
from chape.cutting.check_flip import check_flip
from chape.cutting.dialects import facts_of
from chape.cutting.edge_lift import check_edges
from chape.cutting.offsets import check_zero
from chape.documents.model import program_file
from chape.errors import InputError, ProgramError
from chape.findings import Finding, Severity
from chape.knife.check import check_knife
from chape.knife.read import read_knife
from chape.pipeline.by_hand import STEPS, findings_by_hand
from chape.pipeline.clamp import numbered_fixture, setups_of
from chape.pipeline.file import read_request
from chape.pipeline.fit import fit_task, run_solve
from chape.pipeline.folder import INPUTS, PROGRAMS, read_manifest, sha256
from chape.pipeline.forming import forming_task
from chape.pipeline.run import (
    design_others,
    dialect_of,
    fit_others,
    run_knife,
    run_sheath,
    run_tooling,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date

    from chape.pipeline.file import Request
    from chape.pipeline.run import Tooling
    from chape.pipeline.stages import Stages, Task

#: A knife file alone is checked at this spacing, mm: no sheath asks for another.
KNIFE_SPACING = 0.2

#: No file of a job folder is larger.
LARGEST_OUTPUT = 500_000_000


def recheck_file(path: Path, stages: Stages) -> tuple[Finding, ...]:
    """Return the findings of a knife file or a sheath file.

    Raises:
        InputError: it is neither, or cannot be used.
    """
    tables = parse_toml(read_bytes(path), path)
    if "sheath" in tables:
        return _design(read_request(path), stages)[1]
    if "knife" in tables:
        return check_knife(read_knife(path, KNIFE_SPACING))
    raise InputError(
        "the file has neither a [knife] nor a [sheath] table",
        mend="Name a knife file or a sheath file",
        file=path,
    )


def recheck_folder(folder: Path, stages: Stages, day: date | None = None) -> tuple[Finding, ...]:
    """Return the findings of a job folder, from its files alone.

    Every file is held against the manifest; the job is designed again from the copies of the
    maker's files; every program is read and simulated from its text on the disk.

    Args:
        folder: of the job.
        stages: that keep what they made.
        day: today, on which a check of the fixture's zero may be overdue.

    Raises:
        InputError: the folder is no job folder, or its inputs cannot be used.
    """
    record = read_manifest(folder)
    findings = [*_compare(folder, record.outputs), *_unknown(folder, record.outputs)]
    request = read_request(folder / INPUTS / record.sheath, copies=True)
    if STEPS in record.outputs:
        return (*findings, *findings_by_hand(request, stages))
    tooling, seen = _design(request, stages)
    setups = setups_of(request, tooling.mould, tooling.fixture)
    findings += (
        *seen,
        *check_zero(numbered_fixture(request), day),
        *check_flip(setups[0], setups[1]),
        *check_edges(tooling.fixture, setups[3]),
    )
    facts = facts_of(dialect_of(request))
    for setup in setups:
        paths = _program_files(folder / PROGRAMS, setup.name)
        if not paths:
            continue  # held back; or missing, which was seen above
        stages.watch(f"Prove {setup.name} from its text")
        try:
            texts = [read_bytes(path, LARGEST_OUTPUT).decode("ascii") for path in paths]
            findings += check_texts(texts, setup, facts).findings
        except (ProgramError, UnicodeDecodeError) as error:
            findings.append(_unreadable(setup.name, error))
    return tuple(findings)


def _program_files(folder: Path, name: str) -> list[Path]:
    """Return the files of a program that are there, in the order they are run."""
    whole = folder / program_file(name)
    if whole.is_file():
        return [whole]
    parts = (folder / program_file(name, part) for part in itertools.count(1))
    return list(itertools.takewhile(Path.is_file, parts))


def _design(request: Request, stages: Stages) -> tuple[Tooling, tuple[Finding, ...]]:
    """Return the tooling of a request, and what every check up to it saw."""
    knife_key, knife = run_knife(request, stages)
    solved = run_solve(request, stages, knife_key, knife)
    sheath_key, (sheath, seen) = run_sheath(request, stages, knife_key, knife, solved)
    fit = fit_task(request, stages, sheath_key, sheath, solved)
    others = design_others(request, stages)
    tooling_key, tooling = run_tooling(request, stages, sheath_key, sheath, others)
    forming = forming_task(request, stages, tooling_key, sheath, tooling.mould)
    tasks: list[Task[Any]] = [fit, forming]
    (_, seen_fit), (_, seen_forming) = stages.run_all("Try the fit, form the blank", tasks)
    _, seen_others = fit_others(others, stages)
    return tooling, (
        *check_knife(knife),
        *seen,
        *seen_fit,
        *seen_others,
        *tooling.findings,
        *seen_forming,
    )


def _unreadable(name: str, error: Exception) -> Finding:
    return Finding(
        code="program-unreadable",
        severity=Severity.ERROR,
        place=name,
        message=f"The program cannot be read: {error}",
        mend="Make the job again; do not run this text.",
    )


def _unknown(folder: Path, outputs: Mapping[str, str]) -> Iterator[Finding]:
    """Find files among the programs that chape did not put there."""
    for path in sorted((folder / PROGRAMS).glob("*")):
        name = f"{PROGRAMS}/{path.name}"
        if name not in outputs:
            yield Finding(
                code="file-unknown",
                severity=Severity.ERROR,
                place=name,
                message="The manifest does not name this file, so nothing was proved of it.",
                mend="Take it out of the folder; do not run it.",
            )


def _compare(folder: Path, outputs: Mapping[str, str]) -> Iterator[Finding]:
    for name, digest in sorted(outputs.items()):
        path = folder / name
        if not path.is_file():
            yield Finding(
                code="file-missing",
                severity=Severity.ERROR,
                place=name,
                message="The manifest names this file, and it is not there.",
                mend="Make the job again.",
            )
        elif sha256(read_bytes(path, LARGEST_OUTPUT)) != digest:
            yield Finding(
                code="file-changed",
                severity=Severity.ERROR,
                place=name,
                message="The file is not the one that was made.",
                mend="Make the job again, or change the knife or sheath file instead.",
            )
