"""The one family of errors a person may meet.

Each says what is wrong in one sentence, and what would mend it. Whatever else escapes is a
defect of chape.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any


class ChapeError(Exception):
    """Base of every error chape raises on purpose."""

    exit_code = 1

    def __reduce__(self) -> tuple[Any, ...]:
        """Let another process hand the error on: the own fields, without another ``__init__``."""
        return _restored, (type(self), self.args), self.__dict__


def _restored(kind: type[ChapeError], arguments: tuple[Any, ...]) -> ChapeError:
    return kind.__new__(kind, *arguments)


class InputError(ChapeError, ValueError):
    """A file, a field or an option holds something that cannot be used.

    Args:
        problem: what is wrong, with the value that was found.
        mend: what to write instead, as an imperative.
        file: the file it stands in, where there is one.
        field: the key inside the file, dotted.
    """

    exit_code = 2

    def __init__(
        self, problem: str, *, mend: str, file: Path | str | None = None, field: str | None = None
    ) -> None:
        self.problem = problem
        self.mend = mend
        self.file = None if file is None else Path(file)
        self.field = field
        super().__init__(problem)

    def in_file(self, file: Path | str) -> InputError:
        """Return the same error, said of ``file``."""
        return InputError(self.problem, mend=self.mend, file=file, field=self.field)

    def __str__(self) -> str:
        """Return one line: file, field, problem, mend."""
        place = ", ".join(str(part) for part in (self.file, self.field) if part is not None)
        lead = f"{place}: " if place else ""
        return f"{lead}{self.problem}. {self.mend}."


class CannotMakeError(ChapeError, ValueError):
    """What was asked for is clear, but no such sheath, mould or program can be made.

    Args:
        reason: what stands in the way, with the measured value and the limit.
        mend: what would make it possible.
    """

    exit_code = 3

    def __init__(self, reason: str, *, mend: str) -> None:
        self.reason = reason
        self.mend = mend
        super().__init__(reason)

    def __str__(self) -> str:
        """Return one line: reason, mend."""
        return f"{self.reason}. {self.mend}."


class ProgramError(ChapeError, ValueError):
    """The text of a cutter program breaks a rule of its language.

    Args:
        line: 1-based line of the text.
        problem: the rule it breaks.
        text: which text of the program it is, from 1.
    """

    exit_code = 4

    def __init__(self, line: int, problem: str, *, text: int = 1) -> None:
        self.line = line
        self.problem = problem
        self.text = text
        super().__init__(f"line {line}: {problem}.")


class OutputError(ChapeError, OSError):
    """A folder or file could not be written; nothing half-written was left behind."""

    exit_code = 5

    def __init__(self, path: Path | str, problem: str, *, mend: str) -> None:
        self.path = Path(path)
        self.problem = problem
        self.mend = mend
        super().__init__(problem)

    def __str__(self) -> str:
        """Return one line: path, problem, mend."""
        return f"{self.path}: {self.problem}. {self.mend}."
