"""Papers, templates and gauges for a sheath made without a mill."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from chape.cli.make import HELD_BACK, page_of, progress
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError
from chape.findings import errors

if TYPE_CHECKING:
    from pathlib import Path


def make_by_hand(
    path: Path,
    out: Path | None,
    paper: str,
    unit: str,
    date: str | None,
    board: float | None,
    *,
    afresh: bool,
    as_json: bool,
) -> int:
    """Write one folder for a sheath made by hand; return the exit code."""
    page = page_of(paper, unit, date)
    target = out if out is not None else path.parent / f"{path.stem}-by-hand"

    from chape.pipeline.by_hand import BOARD, pack_by_hand, run_by_hand
    from chape.pipeline.file import read_request
    from chape.pipeline.folder import check_target, write_folder
    from chape.pipeline.keep import Keep
    from chape.pipeline.stages import Stages

    layer = BOARD if board is None else board * page.unit.in_mm
    if not layer > 0:
        raise InputError(f"found --board {board}", mend="Give the thickness of the board")
    request = read_request(path)
    check_target(target)
    with progress(quiet=as_json) as watch:
        stages = Stages(Keep(None) if afresh else Keep.of_person(), watch)
        work = run_by_hand(request, stages, page, layer)
        files = pack_by_hand(request, work)
        watch("Write the folder")
        write_folder(target, files)
    stopping = errors(work.findings)
    if as_json:
        print_json(
            {
                "folder": str(target),
                "files": sorted(files),
                "findings": finding_rows(work.findings),
            }
        )
    else:
        say_findings(work.findings)
        typer.echo(f"\n{work.name}, by hand: {target}")
        typer.echo(f"Open {target / 'by-hand.pdf'} first, then print what is in templates.")
    return HELD_BACK if stopping else 0


def refuse_board(board: float | None) -> None:
    """Refuse a board for a job of the mill, which has no use for it.

    Raises:
        InputError: one was given.
    """
    if board is not None:
        raise InputError("found --board without --by-hand", mend="Add --by-hand, or leave it out")
