"""The book of heat trials: one CSV file beside the sheath file, a line for each trial.

Any table program opens it; chape appends to it, and never rewrites a line.
"""

from __future__ import annotations

import csv
import io
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from chape.catalog.files import read_bytes
from chape.catalog.sentences import first_problem
from chape.errors import InputError, OutputError
from chape.forming.trials import Trial
from chape.pipeline.folder import lock_of

if TYPE_CHECKING:
    from collections.abc import Sequence

#: The book's name, beside the sheath file.
TRIALS = "trials.csv"

COLUMNS = tuple(Trial.model_fields)
_NUMBERS = ("gauge", "setting", "seconds", "reading", "room")


def read_trials(content: bytes, path: Path) -> tuple[Trial, ...]:
    """Return the trials of a book.

    Args:
        content: of the file.
        path: of the file, named in errors.

    Raises:
        InputError: not a table of trials, by line and column.
    """
    try:
        text = content.decode("utf-8-sig")
        rows = csv.DictReader(io.StringIO(text, newline=""), strict=True)
        unknown = sorted(set(rows.fieldnames or ()) - set(COLUMNS))
        if unknown:
            raise InputError(
                f'line 1: there is no column "{unknown[0]}"',
                mend=f"Use these: {', '.join(COLUMNS)}",
                file=path,
            )
        return tuple(_trial(row, rows.line_num, path) for row in rows)
    except UnicodeDecodeError:
        raise InputError("the file is not UTF-8 text", mend="Save it as UTF-8", file=path) from None
    except csv.Error as error:
        raise InputError(f"the file is no CSV table ({error})", mend="Mend it", file=path) from None


def _trial(row: dict[str, str], line: int, path: Path) -> Trial:
    values: dict[str, object] = {}
    # The reader gathers what is too much under None, and gives None for what is missing.
    if None in row or None in row.values():
        raise InputError(
            f"line {line} has not as many fields as line 1", mend="Mend the line", file=path
        )
    for column, text in row.items():
        if text.strip():
            values[column] = _number(text, line, column, path) if column in _NUMBERS else text
    try:
        return Trial.model_validate(values)
    except ValidationError as error:
        raise first_problem(error, file=path, within=f"line {line}") from None


def _number(text: str, line: int, column: str, path: Path) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(
            f"found {text!r}", mend="Write a plain number", file=path, field=f"line {line}.{column}"
        ) from None


def add_trial(path: Path, trial: Trial) -> None:
    """Append a trial to a book, which is made where it is missing.

    Raises:
        InputError: what stands in the book cannot be read.
        OutputError: the book cannot be written; it is then as it was.
    """
    fresh = not path.exists()
    try:
        with lock_of(path.absolute()):
            before = b"" if fresh else read_bytes(path)
            if not fresh:
                read_trials(before, path)
            _replace(path, before + (b"" if not before or before.endswith(b"\n") else b"\n"), trial)
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(
            path, f"it cannot be written ({error.strerror})", mend="Check the folder and the disk"
        ) from None


def _replace(path: Path, before: bytes, trial: Trial) -> None:
    """Write the book anew beside the old one, flush it, and put it in its place."""
    columns: Sequence[str] = COLUMNS
    if before:
        columns = next(csv.reader(io.StringIO(before.decode("utf-8-sig"), newline="")))
    table = io.StringIO(newline="")
    writer = csv.DictWriter(table, columns, lineterminator="\n")
    if not before:
        writer.writeheader()
    dumped = trial.model_dump(mode="json", exclude_none=True)
    told = trial.model_dump(exclude_defaults=True).keys() - set(columns)
    if told:
        raise InputError(
            f'the table has no column "{min(told)}" for what this trial says',
            mend="Add it to line 1",
            file=path,
        )
    writer.writerow({name: value for name, value in dumped.items() if name in columns})
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(before + table.getvalue().encode())
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
