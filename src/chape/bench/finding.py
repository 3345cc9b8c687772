"""Findings as the page is told of them: a sentence, and the place it leads to."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from pydantic import BaseModel

from chape.bench.named_values import by_label

if TYPE_CHECKING:
    from collections.abc import Iterable

    from chape.findings import Finding
    from chape.sheath.model import Sheath

#: "x = 42 mm", "y = -3.5 mm", "u = 12 mm", "v = 4 mm", also "x = 12 to 30 mm": its start.
PLACE = re.compile(r"\b([xyuv]) = (-?\d+(?:\.\d+)?)(?: mm| to )")


class FindingPlace(BaseModel):
    """Where to look, in the frame of the knife, mm; ``y`` is null for a whole section."""

    x: float
    y: float | None


class FindingAnswer(BaseModel):
    """One thing a check saw.

    Attributes:
        sentence: what is the matter.
        place: where to look; null where it is no place of the plan.
        where: the same in words.
        measured, limit: in ``unit``; null where there is no number.
        mend: what would mend it.
    """

    code: str
    severity: Literal["error", "warning", "note"]
    sentence: str
    place: FindingPlace | None
    where: str
    measured: float | None
    limit: float | None
    unit: str
    mend: str


@dataclass(frozen=True, slots=True)
class FlatFrame:
    """How places on a flat pattern lie on the closed sheath.

    Attributes:
        line: y of the fold line, mm; None for a sheath of two pieces.
        left: worn on the left.
    """

    line: float | None
    left: bool

    def y_of(self, v: float, words: str) -> float:
        """Return y of a place told as ``v`` in some words."""
        if self.line is not None:
            # Both halves lie over one another once folded.
            return self.line - abs(v)
        upper = ("back" in words) != self.left
        return -v if upper else v


def finding_answers(
    findings: Iterable[Finding], sheath: Sheath | None = None
) -> list[FindingAnswer]:
    """Return findings as the page is told of them.

    Args:
        findings: what the checks saw.
        sheath: whose flat frame some of their places are in; None for findings of a knife.
    """
    frame = None
    if sheath is not None:
        line = None if sheath.fold is None else sheath.fold.line
        frame = FlatFrame(line, left=sheath.choices.hand.value == "left")
    return [finding_answer(each, frame) for each in findings]


def finding_answer(finding: Finding, frame: FlatFrame | None) -> FindingAnswer:
    """Return one finding as the page is told of it."""
    return FindingAnswer(
        code=finding.code,
        severity=finding.severity.value,
        sentence=by_label(finding.message),
        place=_place(finding.place, frame),
        where=finding.place,
        measured=finding.measured,
        limit=finding.limit,
        unit=finding.unit,
        mend=by_label(finding.mend),
    )


def _place(words: str, frame: FlatFrame | None) -> FindingPlace | None:
    """Return the place that a finding's own words name."""
    named = {axis: float(figure) for axis, figure in PLACE.findall(words)}
    if "x" in named:
        return FindingPlace(x=named["x"], y=named.get("y"))
    if "u" not in named or frame is None:
        return None
    v = named.get("v")
    return FindingPlace(x=named["u"], y=None if v is None else frame.y_of(v, words))
