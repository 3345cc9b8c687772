"""Checks a job folder, a sheath file or a knife file."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import typer

from chape.cli.make import HELD_BACK, progress
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError
from chape.findings import errors

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from chape.findings import Finding


def check_path(what: Path, *, as_json: bool) -> int:
    """Print the findings of a folder or file; return the exit code."""
    if what.is_file() and what.suffix.lower() != ".toml":
        raise InputError(
            "a program is checked against its stock",
            mend="Add --stock 300x300x25 (its width, depth and height), and --target if you have"
            " the wanted surface",
            file=what,
        )
    with progress(quiet=as_json) as watch:
        from chape.pipeline.keep import Keep
        from chape.pipeline.recheck import recheck_file, recheck_folder
        from chape.pipeline.stages import Stages

        stages = Stages(Keep.of_person(), watch)
        if what.is_dir():
            findings = recheck_folder(what, stages, dt.datetime.now().astimezone().date())
        else:
            findings = recheck_file(what, stages)
    if as_json:
        print_json({"path": str(what), "findings": finding_rows(findings)})
    else:
        say_findings(findings)
        typer.echo(_verdict(what, findings))
    return HELD_BACK if errors(tuple(findings)) else 0


def _verdict(what: Path, findings: Sequence[Finding]) -> str:
    count = len(errors(tuple(findings)))
    if count:
        return f"{what}: {count} error{'s' if count > 1 else ''}"
    return f"{what}: sound, {len(findings)} finding{'s' if len(findings) != 1 else ''} to read"
