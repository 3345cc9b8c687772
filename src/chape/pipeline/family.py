"""Makes a family of sheaths: every member its job folder, what they share computed once."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from chape.errors import CannotMakeError, InputError
from chape.findings import errors
from chape.pipeline.file import read_request
from chape.pipeline.folder import check_target, write_folder
from chape.pipeline.keep import Keep
from chape.pipeline.pack import pack_job
from chape.pipeline.run import run_job
from chape.pipeline.stages import Stages

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from datetime import date
    from pathlib import Path

    from chape.pipeline.family_file import Member
    from chape.pipeline.page import Page


class CountingKeep(Keep):
    """A keep that notes which results were asked of it, and which were put into it.

    Attributes:
        asked, put_in: their keys, since the last ``start_anew``.
    """

    def __init__(self, folder: Path | None) -> None:
        super().__init__(folder)
        self.asked: set[str] = set()
        self.put_in: set[str] = set()

    def start_anew(self) -> None:
        """Forget what was noted."""
        self.asked, self.put_in = set(), set()

    def get(self, key: str) -> object | None:
        """Return the result kept under ``key``, and note it."""
        self.asked.add(key)
        return super().get(key)

    def put(self, key: str, result: object) -> None:
        """Keep a result, and note it."""
        self.put_in.add(key)
        super().put(key, result)


@dataclass(frozen=True, slots=True)
class Made:
    """What came of a member.

    Attributes:
        member: which.
        figures: its job's figures; None where it could not be made.
        released: whether its programs were.
        reason: why it could not be made, or what keeps its programs back; "" where nothing does.
        exit_code: of a run for this member alone.
        asked, computed: stages its job needed, and those that had to be computed.
    """

    member: Member
    figures: dict[str, Any] | None
    released: bool
    reason: str
    exit_code: int
    asked: int
    computed: int


#: Exit code of a member whose programs are held back.
HELD_BACK = 6


def make_family(
    members: Sequence[Member],
    folder: Path,
    page: Page,
    today: date,
    keep: CountingKeep,
    watch: Callable[[str], None],
) -> Iterator[Made]:
    """Make one member after the other; one that cannot be made does not stop the others.

    Args:
        members: of the family.
        folder: each member's job folder is written into it, under the member's name.
        page: how documents are printed.
        today: the day on which a check of a fixture's zero may be overdue.
        keep: where results are kept.
        watch: told the member and the title of each stage that has to be computed.
    """
    for member in members:
        keep.start_anew()

        def told(title: str, name: str = member.name) -> None:
            watch(f"{name}: {title}")

        try:
            check_target(folder / member.name)
            figures, stopping = _make(member, folder, page, today, Stages(keep, told))
        except (InputError, CannotMakeError) as error:
            figures, stopping, reason, code = None, (), str(error), error.exit_code
        else:
            reason = "; ".join(finding.message for finding in stopping)
            code = HELD_BACK if stopping else 0
        counts = len(keep.asked), len(keep.put_in)
        yield Made(member, figures, code == 0, reason, code, *counts)


def _make(
    member: Member, folder: Path, page: Page, today: date, stages: Stages
) -> tuple[dict[str, Any], tuple[Any, ...]]:
    request = read_request(member.path, content=member.content)
    job = run_job(request, stages, page.date or today)
    files = pack_job(job, page, stages)
    write_folder(folder / member.name, files)
    figures: dict[str, Any] = json.loads(files["figures.json"])
    return figures, errors(job.findings)


def family_figures(name: str, made: Sequence[Made]) -> dict[str, Any]:
    """Return the figures of a family, plain data."""
    return {
        "name": name,
        "stages_asked": sum(each.asked for each in made),
        "stages_computed": sum(each.computed for each in made),
        "members": [
            {
                "name": each.member.name,
                "changes": each.member.changes,
                "made": each.figures is not None,
                "released": each.released,
                "reason": each.reason or None,
                "exit_code": each.exit_code,
                "stages_asked": each.asked,
                "stages_computed": each.computed,
                "figures": each.figures,
            }
            for each in made
        ],
    }


def exit_code_of(made: Sequence[Made]) -> int:
    """Return the family's exit code: that of a member not made, else of one held back, else 0."""
    codes = [each.exit_code for each in made]
    return next((code for code in codes if code not in {0, HELD_BACK}), max(codes, default=0))
