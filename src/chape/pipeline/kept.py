"""What is kept of a job that was made: its parts one by one, none of them computed again."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from chape.documents.model import CheckedProgram
from chape.errors import CannotMakeError
from chape.pipeline.fit import fit_task, run_solve
from chape.pipeline.forming import forming_task
from chape.pipeline.run import design_others, program_tasks, run_knife, run_sheath, run_tooling
from chape.pipeline.stages import Stages

if TYPE_CHECKING:
    from chape.cutting.model import Setup
    from chape.fit.fit import Fit
    from chape.fit.solve import Solved
    from chape.forming.model import Forming
    from chape.knife.model import Knife
    from chape.pipeline.file import Request
    from chape.pipeline.keep import Keep
    from chape.pipeline.run import Tooling
    from chape.pipeline.stages import Task
    from chape.sheath.model import Sheath


class NotKeptError(CannotMakeError):
    """A part of a job is not kept: it was never made of these files, or made long ago."""


def _refuse(_title: str) -> None:
    raise NotKeptError(
        "this was not made of the files as they are now, or too long ago to be kept",
        mend="Make the job again",
    )


class KeptJob:
    """The parts of a job, each read when it is first asked for.

    Every part raises ``NotKeptError`` where it is not kept.
    """

    def __init__(self, request: Request, keep: Keep) -> None:
        self.request = request
        self._stages = Stages(keep, _refuse)

    @cached_property
    def _knife(self) -> tuple[str, Knife]:
        return run_knife(self.request, self._stages)

    @cached_property
    def _solved(self) -> Solved | None:
        return run_solve(self.request, self._stages, *self._knife)

    @cached_property
    def _sheath(self) -> tuple[str, Sheath]:
        key, (sheath, _) = run_sheath(self.request, self._stages, *self._knife, self._solved)
        return key, sheath

    @cached_property
    def _tooling(self) -> tuple[str, Tooling]:
        others = design_others(self.request, self._stages)
        return run_tooling(self.request, self._stages, *self._sheath, others)

    @cached_property
    def _programs(self) -> dict[str, tuple[Setup, Task[Any]]]:
        _, setups, tasks = program_tasks(self.request, self._stages, *self._tooling)
        own = {task.arguments[0].name: task for task in tasks}
        return {setup.name: (setup, own[setup.name]) for setup in setups}

    @property
    def knife(self) -> Knife:
        """The knife, on the grid of the design."""
        return self._knife[1]

    @property
    def sheath(self) -> Sheath:
        """The sheath as designed."""
        return self._sheath[1]

    @property
    def tooling(self) -> Tooling:
        """Mould, fixture and dummy."""
        return self._tooling[1]

    @cached_property
    def fit(self) -> Fit:
        """How the sheath holds."""
        task = fit_task(self.request, self._stages, *self._sheath, self._solved)
        return self._stages.run_all(task.title, [task])[0][0]

    @cached_property
    def forming(self) -> Forming:
        """How it is formed."""
        mould = self.tooling.mould
        task = forming_task(self.request, self._stages, self._tooling[0], self.sheath, mould)
        return self._stages.run_all(task.title, [task])[0][0]

    @property
    def programs(self) -> tuple[str, ...]:
        """Names of the programs, in the order they are run."""
        return tuple(self._programs)

    def program(self, name: str) -> CheckedProgram:
        """Return a program as proved; read anew each time, for it is large.

        Raises:
            KeyError: there is none of that name.
        """
        setup, task = self._programs[name]
        texts, verdict, planned = self._stages.run_all(task.title, [task])[0]
        return CheckedProgram(setup, texts, verdict, planned)
