"""What knives and sheaths have in common as the page asks for them."""

from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel, ConfigDict

from chape.bench.field import Kind as FieldKind
from chape.bench.history import Saved
from chape.bench.problem import Problem
from chape.bench.records import Record


class RecordAnswer(BaseModel):
    """A knife or a sheath.

    Attributes:
        tables: its file as JSON, lengths in mm whatever the file is written in.
        problem: why it cannot be used, if it cannot.
    """

    name: str
    title: str
    version: str
    tables: dict[str, Any]
    problem: Problem | None


def record_answer(record: Record) -> RecordAnswer:
    """Return a record as the page is told of it."""
    return RecordAnswer(
        name=record.name,
        title=record.title,
        version=record.version,
        tables=record.tables,
        problem=record.problem,
    )


class Change(BaseModel):
    """A change of a record.

    Attributes:
        base: the version it stands on.
        tables: what its file should hold, lengths in mm; null leaves a key out.
    """

    base: str
    tables: dict[str, Any]


class SavedAnswer(BaseModel):
    """A version to go back to.

    Attributes:
        time: milliseconds since 1970.
        sentence: what was changed.
    """

    version: str
    time: int
    sentence: str


def saved_answer(saved: Saved) -> SavedAnswer:
    """Return a saved version as the page is told of it."""
    return SavedAnswer(version=saved.version, time=saved.time, sentence=saved.sentence)


class Back(BaseModel):
    """A wish to go back.

    Attributes:
        to: the version wanted.
        base: the version that is there now; null for a record that is off the shelf.
    """

    to: str
    base: str | None = None


class Gone(BaseModel):
    """A record that was taken off the shelf and can be brought back.

    Attributes:
        version: its last, to go back to.
        time: it was taken off, milliseconds since 1970.
    """

    name: str
    version: str
    time: int


def gone_answers(gone: Iterable[tuple[str, Saved]]) -> list[Gone]:
    """Return records that were taken off the shelf as the page is told of them."""
    return [Gone(name=name, version=last.version, time=last.time) for name, last in gone]


class ChoiceAnswer(BaseModel):
    """One of the values to choose from."""

    model_config = ConfigDict(from_attributes=True)

    value: str
    label: str


class FieldAnswer(BaseModel):
    """A value of a file that can be set; ``chape.bench.form.Field`` says what is what."""

    model_config = ConfigDict(from_attributes=True)

    path: str
    label: str
    unit: str | None
    kind: FieldKind
    least: float | None
    most: float | None
    step: float | None
    choices: list[ChoiceAnswer]
    help: str
    group: str
    default: Any
    required: bool
    optional_table: bool
