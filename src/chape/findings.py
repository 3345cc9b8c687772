"""Findings: what a check saw, collected rather than raised.

A check never stops at the first thing it sees; it returns every finding. An ``ERROR`` keeps
the programs of a job from being released. Each code is explained in ``docs/findings.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding matters."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a check saw.

    Attributes:
        code: short words joined by hyphens, the same for every finding of its kind.
        severity: an error stops the release of programs.
        place: where it is, in words a person can follow ("cavity, x = 42 mm").
        message: one sentence.
        mend: one sentence that says what to change.
        measured: the value seen, in ``unit``; None where there is no single number.
        limit: the value it was held against, in ``unit``.
        unit: "mm", "%", "" for a count.
    """

    code: str
    severity: Severity
    place: str
    message: str
    mend: str
    measured: float | None = None
    limit: float | None = None
    unit: str = "mm"


def errors(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return those findings that stop a release."""
    return tuple(finding for finding in findings if finding.severity is Severity.ERROR)
