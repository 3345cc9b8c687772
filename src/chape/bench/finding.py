"""Findings as the page is told of them: a sentence, and the place it leads to."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

from pydantic import BaseModel

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


def finding_answers(
    findings: Iterable[Finding], sheath: Sheath | None = None
) -> list[FindingAnswer]:
    """Return findings as the page is told of them.

    Args:
        findings: what the checks saw.
        sheath: whose flat frame some of their places are in; None for findings of a knife.
    """
    return [
        FindingAnswer(
            code=each.code,
            severity=each.severity.value,
            sentence=each.message,
            place=_place(each.place, sheath),
            where=each.place,
            measured=each.measured,
            limit=each.limit,
            unit=each.unit,
            mend=each.mend,
        )
        for each in findings
    ]


def _place(words: str, sheath: Sheath | None) -> FindingPlace | None:
    """Return the place that a finding's own words name."""
    named = {axis: float(figure) for axis, figure in PLACE.findall(words)}
    if "x" in named:
        return FindingPlace(x=named["x"], y=named.get("y"))
    if "u" not in named or sheath is None:
        return None
    v = named.get("v")
    if v is None:
        return FindingPlace(x=named["u"], y=None)
    if sheath.fold is not None:
        # Both halves lie over one another once folded.
        return FindingPlace(x=named["u"], y=sheath.fold.line - abs(v))
    piece = next((each for each in sheath.pieces if each.name in words), sheath.pieces[0])
    upper = (piece.name == "front") == (sheath.choices.hand.value == "left")
    return FindingPlace(x=named["u"], y=-v if upper else v)
