"""What documents are made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from chape.cutting.check import Verdict
    from chape.cutting.model import Setup
    from chape.findings import Finding
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath
    from chape.tooling.model import Dummy, Fixture, Layout, Mould
    from chape.units import LengthUnit


@dataclass(frozen=True, slots=True, eq=False)
class CheckedProgram:
    """A program as text, with what the checker found in that very text."""

    setup: Setup
    text: str
    verdict: Verdict

    @property
    def file_name(self) -> str:
        """The file it is written to, without a folder."""
        return f"{self.setup.name}.nc"


@dataclass(frozen=True, slots=True, eq=False)
class JobResults:
    """Everything a job folder's documents are made from.

    Attributes:
        name: of the job.
        findings: of every stage, in order.
        unit: lengths are shown in it.
        date: printed on every page where given.
        paper: of the job sheet, "a4" or "letter"; templates come on both.
    """

    name: str
    knife: Knife
    sheath: Sheath
    layout: Layout
    mould: Mould
    fixture: Fixture
    dummy: Dummy
    programs: tuple[CheckedProgram, ...]
    findings: tuple[Finding, ...]
    unit: LengthUnit
    date: date | None
    paper: str
