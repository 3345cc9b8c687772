"""The shelf of knives: read, begun, changed, brought back."""

from typing import Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

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
from chape.bench.bench import AtBench, Bench
from chape.bench.new_records import new_knife
from chape.bench.place import Kind
from chape.bench.problem import Problem, problem_of
from chape.bench.records import Record
from chape.bench.sheath_knife import knife_of_sheath
from chape.catalog.read import catalog
from chape.errors import ChapeError, InputError

router = APIRouter(prefix="/knives", tags=["knives"])

Corner = tuple[float, float]


class KnifeOnShelf(BaseModel):
    """A knife as it lies on the shelf. Lengths mm.

    Attributes:
        length, thickness: overall; None where the file cannot be used.
        how: it was measured.
        outline: at most 200 corners.
        sheaths: names of the sheaths made for it.
    """

    name: str
    title: str
    length: float | None
    thickness: float | None
    how: str
    outline: list[Corner]
    sheaths: list[str]
    version: str
    problem: Problem | None


class NewKnife(BaseModel):
    """A knife to begin.

    Attributes:
        begin: from stations of its own, or from one of the examples.
        tables: what its file should hold; left out, the example's stations to change.
    """

    name: str
    title: str | None = None
    begin: Literal["stations", "example", "double-example"] = Field("stations", alias="from")
    tables: dict[str, Any] | None = None


class KnifeChange(Change):
    """A change of a knife.

    Attributes:
        outline: corners of an outline that was drawn or photographed, moved on the page, mm;
            null leaves it.
    """

    outline: list[Corner] | None = None


@router.get("")
def shelf(bench: AtBench) -> list[KnifeOnShelf]:
    """List all knives."""
    sheaths: dict[str, list[str]] = {}
    for sheath in bench.records.all(Kind.SHEATH):
        sheaths.setdefault(knife_of_sheath(sheath, bench.place) or "", []).append(sheath.name)
    return [
        _on_shelf(record, sheaths.get(record.name, []), bench)
        for record in bench.records.all(Kind.KNIFE)
    ]


@router.post("", status_code=201)
def begin(new: NewKnife, bench: AtBench) -> RecordAnswer:
    """Begin a knife."""
    text = new_knife(new.title, new.name, new.begin, new.tables)
    return record_answer(bench.records.create(Kind.KNIFE, new.name, text))


@router.get("/gone")
def gone(bench: AtBench) -> list[Gone]:
    """List the knives that were taken off the shelf."""
    return gone_answers(bench.records.gone(Kind.KNIFE))


@router.get("/{name}/form")
def fields(name: str, bench: AtBench) -> list[FieldAnswer]:
    """List the fields one can set, in the order of the file."""
    from chape.bench.form import form  # noqa: PLC0415 - numerics come with the models
    from chape.bench.record_text import model_of  # noqa: PLC0415 - as above

    model = model_of(Kind.KNIFE, bench.records.read(Kind.KNIFE, name).tables)
    return [FieldAnswer.model_validate(each) for each in form(model, catalog())]


@router.get("/{name}/history")
def history(name: str, bench: AtBench) -> list[SavedAnswer]:
    """List the versions one can go back to, the newest first."""
    return [saved_answer(each) for each in bench.records.history(Kind.KNIFE, name)]


@router.post("/{name}/back")
def back(name: str, wish: Back, bench: AtBench) -> RecordAnswer:
    """Go back to an earlier version."""
    return record_answer(bench.records.back(Kind.KNIFE, name, wish.to, wish.base))


@router.get("/{name}")
def one(name: str, bench: AtBench) -> RecordAnswer:
    """Return a knife."""
    return record_answer(bench.records.read(Kind.KNIFE, name))


@router.put("/{name}")
def change(name: str, wish: KnifeChange, bench: AtBench) -> RecordAnswer:
    """Change a knife."""
    drawing = None
    if wish.outline is not None:
        from chape.bench.moved_outline import moved_outline  # noqa: PLC0415 - numerics

        drawing = moved_outline(wish.outline, wish.tables)
    record = bench.records.write(Kind.KNIFE, name, wish.base, wish.tables, drawing)
    return record_answer(record)


@router.delete("/{name}", status_code=204)
def remove(name: str, base: str, bench: AtBench) -> None:
    """Take a knife off the shelf; its history keeps it."""
    users = [
        sheath.name
        for sheath in bench.records.all(Kind.SHEATH)
        if knife_of_sheath(sheath, bench.place) == name
    ]
    if users:
        raise InputError(
            f"the knife has sheaths made for it: {', '.join(users)}",
            mend="Take those off first, or keep it",
        )
    bench.records.remove(Kind.KNIFE, name, base)


def _on_shelf(record: Record, sheaths: list[str], bench: Bench) -> KnifeOnShelf:
    from chape.bench.shelf import silhouette  # noqa: PLC0415 - numerics, slow to import

    problem, found = record.problem, None
    if problem is None:
        try:
            found = silhouette(record, bench.place.own / "silhouettes")
        except ChapeError as error:
            problem = problem_of(error)
    return KnifeOnShelf(
        name=record.name,
        title=record.title,
        length=found.length if found else None,
        thickness=found.thickness if found else None,
        how=found.how if found else "",
        outline=[(x, y) for x, y in found.outline] if found else [],
        sheaths=sheaths,
        version=record.version,
        problem=problem,
    )
