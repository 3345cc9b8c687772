"""The sheaths: read, begun, changed, brought back; the fields one can set."""

from typing import Literal

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.api_records import (
    Back,
    Change,
    FieldAnswer,
    Gone,
    RecordAnswer,
    SavedAnswer,
    gone_answers,
    record_answer,
    saved_answer,
)
from chape.bench.bench import AtBench
from chape.bench.new_records import new_sheath
from chape.bench.place import Kind
from chape.bench.problem import Problem
from chape.bench.records import Record
from chape.bench.sheath_knife import knife_of_sheath

router = APIRouter(prefix="/sheaths", tags=["sheaths"])


class SheathOnShelf(BaseModel):
    """A sheath in the list.

    Attributes:
        knife: name of its knife; None for one that is no knife of this bench.
    """

    name: str
    title: str
    knife: str | None
    style: str
    version: str
    problem: Problem | None


class NewSheath(BaseModel):
    """A sheath to begin.

    Attributes:
        knife: name of its knife.
        like: name of another sheath, whose choices it takes.
    """

    name: str
    title: str | None = None
    knife: str
    style: Literal["folded", "paired"] = "folded"
    like: str | None = None


class SheathAnswer(RecordAnswer):
    """A sheath.

    Attributes:
        knife: name of its knife; None for one that is no knife of this bench.
    """

    knife: str | None


@router.get("")
def shelf(bench: AtBench) -> list[SheathOnShelf]:
    """List all sheaths."""
    return [
        SheathOnShelf(
            name=record.name,
            title=record.title,
            knife=knife_of_sheath(record, bench.place),
            style=str((record.tables.get("sheath") or {}).get("style", "folded")),
            version=record.version,
            problem=record.problem,
        )
        for record in bench.records.all(Kind.SHEATH)
    ]


@router.post("", status_code=201)
def begin(new: NewSheath, bench: AtBench) -> SheathAnswer:
    """Begin a sheath."""
    knife = bench.records.read(Kind.KNIFE, new.knife)
    like = None if new.like is None else bench.records.read(Kind.SHEATH, new.like)
    title = new.title or new.name
    text = new_sheath(title, new.name, knife, new.style, like, bench.place)
    return _answer(bench.records.create(Kind.SHEATH, new.name, text), bench)


@router.get("/gone")
def gone(bench: AtBench) -> list[Gone]:
    """List the sheaths that were taken off the shelf."""
    return gone_answers(bench.records.gone(Kind.SHEATH))


@router.get("/{name}")
def one(name: str, bench: AtBench) -> SheathAnswer:
    """Return a sheath."""
    return _answer(bench.records.read(Kind.SHEATH, name), bench)


@router.put("/{name}")
def change(name: str, wish: Change, bench: AtBench) -> SheathAnswer:
    """Change a sheath."""
    return _answer(bench.records.write(Kind.SHEATH, name, wish.base, wish.tables), bench)


@router.get("/{name}/form")
def fields(name: str, bench: AtBench) -> list[FieldAnswer]:
    """List the fields one can set, in the order of the file."""
    from chape.bench.form import form  # noqa: PLC0415 - numerics come with the models
    from chape.pipeline.file import SheathFile, catalog_beside  # noqa: PLC0415 - as above

    path = bench.place.file_of(Kind.SHEATH, name)
    return [FieldAnswer.model_validate(each) for each in form(SheathFile, catalog_beside(path))]


@router.get("/{name}/history")
def history(name: str, bench: AtBench) -> list[SavedAnswer]:
    """List the versions one can go back to, the newest first."""
    return [saved_answer(each) for each in bench.records.history(Kind.SHEATH, name)]


@router.post("/{name}/back")
def back(name: str, wish: Back, bench: AtBench) -> SheathAnswer:
    """Go back to an earlier version."""
    return _answer(bench.records.back(Kind.SHEATH, name, wish.to, wish.base), bench)


@router.delete("/{name}", status_code=204)
def remove(name: str, base: str, bench: AtBench) -> None:
    """Take a sheath off the shelf; its history keeps it, and its job folder stays."""
    bench.records.remove(Kind.SHEATH, name, base)


def _answer(record: Record, bench: AtBench) -> SheathAnswer:
    own = record_answer(record).model_dump()
    return SheathAnswer(**own, knife=knife_of_sheath(record, bench.place))
