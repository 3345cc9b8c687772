"""Checks a program written by anyone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from chape.cli.make import HELD_BACK, progress
from chape.cli.says import finding_rows, print_json, say_findings
from chape.errors import InputError, OutputError
from chape.findings import errors

if TYPE_CHECKING:
    from pathlib import Path

    from chape.cutting.check import Verdict
    from chape.pipeline.loose_program import LooseProgram


def check_loose_program(  # noqa: PLR0913 -- the options of one command
    program: Path,
    stock: str,
    *,
    target: Path | None,
    machine: str,
    rack: str,
    zero: str | None,
    target_zero: str,
    offset: str | None,
    dialect: str | None,
    spacing: float | None,
    pictures: Path | None,
    as_json: bool,
) -> int:
    """Print what is found in a program; return the exit code."""
    if spacing is not None and not 0.02 <= spacing <= 5:
        raise InputError(f"found --spacing {spacing:g}", mend="Write 0.02 to 5, in mm")
    with progress(quiet=as_json) as watch:
        from chape.pipeline.loose_program import LooseProgram, check_loose

        asked = LooseProgram(
            program, stock, target, machine, rack, zero, target_zero, offset, dialect, spacing
        )
        setup, verdict, _text = check_loose(asked, watch)
        if pictures is not None:
            watch("Draw the pictures")
            from chape.documents.proof_pictures import proof_files

            _write(pictures, proof_files(setup, verdict))
    if as_json:
        print_json(_document(asked, verdict))
    else:
        say_findings(verdict.findings)
        for line in _lines(verdict, judged=target is not None):
            typer.echo(line)
        typer.echo(_last(program, verdict))
    return HELD_BACK if errors(verdict.findings) else 0


def _lines(verdict: Verdict, *, judged: bool) -> list[str]:
    """Return what the program does, in figures."""
    minutes, seconds = divmod(round(verdict.seconds), 60)
    spent = [f"T{number} {time / 60:.1f} min" for number, time in verdict.cutter_seconds if time]
    metres, rapids = verdict.feed_length / 1000, verdict.rapid_length / 1000
    lines = [
        f"time      {minutes} min {seconds:02d} s, without changes and stops",
        f"cutters   {', '.join(spent) or 'none'}",
        f"way       {metres:.2f} m cutting, {rapids:.2f} m in rapids, {verdict.moves} moves",
        f"lowest    Z {verdict.z_lowest:.3f}",
    ]
    if judged:
        left, most = verdict.leftover_most, verdict.leftover_p99
        lines.append(f"gouge     {verdict.gouge_most:.3f} mm at most")
        lines.append(f"leftover  {left:.3f} mm at most within reach, {most:.3f} mm on 99 %")
    else:
        lines.append("surface   not judged: no --target was given")
    return lines


def _last(program: Path, verdict: Verdict) -> str:
    count = len(errors(verdict.findings))
    if count:
        return f"{program}: {count} error{'s' if count > 1 else ''}; do not run it as it stands"
    return (
        f"{program}: nothing wrong seen. Not seen from the text: the true zero, cutter lengths,"
        " clamps and what the cutters really are"
    )


def _document(asked: LooseProgram, verdict: Verdict) -> dict[str, Any]:
    return {
        "path": str(asked.program),
        "sha256": verdict.hashes[0],
        "findings": finding_rows(verdict.findings),
        "seconds": verdict.seconds,
        "cutter_seconds": {str(number): spent for number, spent in verdict.cutter_seconds},
        "feed_length": verdict.feed_length,
        "rapid_length": verdict.rapid_length,
        "moves": verdict.moves,
        "z_lowest": verdict.z_lowest,
        "gouge_most": verdict.gouge_most if asked.target else None,
        "leftover_most": verdict.leftover_most if asked.target else None,
        "leftover_p99": verdict.leftover_p99 if asked.target else None,
        "rapid_deepest": verdict.rapid_deepest,
        "holder_deepest": verdict.holder_deepest,
    }


def _write(folder: Path, files: dict[str, bytes]) -> None:
    """Write pictures into a folder, over older ones of the same names."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            (folder / name).write_bytes(content)
    except OSError as error:
        raise OutputError(
            folder,
            f"the pictures cannot be written ({error.strerror or error})",
            mend="Choose another folder",
        ) from error
