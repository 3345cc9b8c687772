"""What documents are made from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.cutting.model import PlanFigures

if TYPE_CHECKING:
    from datetime import date

    from chape.catalog.holds import NumberedFixture
    from chape.cutting.check import Verdict
    from chape.cutting.model import Setup
    from chape.findings import Finding
    from chape.fit.fit import Fit
    from chape.forming.model import Forming
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath
    from chape.tooling.gauges import Gauges
    from chape.tooling.lettering import Mark
    from chape.tooling.model import Dummy, Fixture, Layout, Mould
    from chape.units import LengthUnit


#: Of a program that chape has not planned.
NOT_PLANNED = PlanFigures()


@dataclass(frozen=True, slots=True, eq=False)
class CheckedProgram:
    """A program as one or more texts, with what the checker found in those very texts.

    Attributes:
        setup: what it is run in.
        texts: to be run one after the other.
        verdict: on all of them together.
        planned: what its maker says of it.
    """

    setup: Setup
    texts: tuple[str, ...]
    verdict: Verdict
    planned: PlanFigures = NOT_PLANNED

    @property
    def file_names(self) -> tuple[str, ...]:
        """The file each text is written to, without a folder."""
        name, count = self.setup.name, len(self.texts)
        if count == 1:
            return (program_file(name),)
        return tuple(program_file(name, part) for part in range(1, count + 1))

    @property
    def files(self) -> str:
        """Its files in words: "trim.nc", or "trim-1.nc to trim-3.nc"."""
        names = self.file_names
        return names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}"


def program_file(name: str, part: int | None = None) -> str:
    """Return the file name of a program's only text, or of one of several, counted from 1."""
    return f"{name}.nc" if part is None else f"{name}-{part}.nc"


@dataclass(frozen=True, slots=True, eq=False)
class JobResults:
    """Everything a job folder's documents are made from.

    Attributes:
        name: of the job.
        findings: of every stage, in order.
        unit: lengths are shown in it.
        date: printed on every page where given.
        numbered: the workshop's fixture the job is for; None for a new one.
        paper: of the job sheet, "a4" or "letter"; templates come on both.
        gauges: None where none were made.
        marks: on the mould.
    """

    name: str
    knife: Knife
    sheath: Sheath
    layout: Layout
    mould: Mould
    fixture: Fixture
    dummy: Dummy
    fit: Fit
    forming: Forming
    programs: tuple[CheckedProgram, ...]
    findings: tuple[Finding, ...]
    unit: LengthUnit
    date: date | None
    paper: str
    numbered: NumberedFixture | None = None
    gauges: Gauges | None = None
    marks: tuple[Mark, ...] = ()
