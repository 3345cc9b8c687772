"""What the command line says, and how."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chape.findings import Severity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.errors import ChapeError
    from chape.findings import Finding

AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]

STYLES = {Severity.ERROR: "bold red", Severity.WARNING: "yellow", Severity.NOTE: "dim"}


def say_error(error: ChapeError, *, as_json: bool) -> None:
    """Write one sentence on standard error, or one JSON document on standard output."""
    if as_json:
        print_json({"error": {"kind": type(error).__name__, "sentence": str(error)}})
    else:
        sys.stderr.write(f"chape: {in_one_line(str(error))}\n")


def in_one_line(text: str) -> str:
    """Return text with what a terminal would obey, such as a line break in a name, written out."""
    return "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape").decode()
        for letter in text
    )


def say_stopped() -> None:
    """Say that Ctrl-C was understood."""
    sys.stderr.write("chape: stopped; no job folder was left half made.\n")


def print_json(document: dict[str, Any]) -> None:
    """Write a JSON document on standard output."""
    sys.stdout.write(json.dumps(document, indent=2, ensure_ascii=False) + "\n")
    sys.stdout.flush()  # here, where a full disk can still be told


def finding_rows(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """Return findings as plain rows for JSON."""
    return [asdict(finding) for finding in findings]


def say_findings(findings: Sequence[Finding]) -> None:
    """Write the findings, worst first, a line for what was seen and one for the mend."""
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False)
    order = list(Severity)
    for finding in sorted(findings, key=lambda finding: order.index(finding.severity)):
        line = Text()
        line.append(f"{finding.severity.value:>8}  ", style=STYLES[finding.severity])
        line.append(f"{finding.place}: {finding.message}{measured(finding)} ")
        line.append(f"[{finding.code}]", style="dim")
        console.print(line)
        if finding.severity is not Severity.NOTE:
            console.print(Text(f"          {finding.mend}", style="dim"))


def measured(finding: Finding) -> str:
    """Return " (0.31 mm, limit 0.50 mm)" where there are such numbers."""
    if finding.measured is None:
        return ""
    unit = f" {finding.unit}" if finding.unit else ""
    text = f"{finding.measured:.4g}{unit}"
    if finding.limit is not None:
        text += f", limit {finding.limit:.4g}{unit}"
    return f" ({text})"
