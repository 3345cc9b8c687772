"""Knives measured from a photograph, a scan, a drawing or a mesh."""

import secrets
import shutil
from datetime import date
from functools import partial
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Form, UploadFile
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from chape.bench.bench import AtBench, Bench
from chape.bench.measuring import ToMeasure, measure_upload
from chape.bench.place import Kind
from chape.bench.uploads import Sort, Upload, take_in
from chape.bench.work import Order
from chape.errors import InputError
from chape.knife.caliper import read_rows
from chape.knife.file import Direction
from chape.knife.model import Edges
from chape.knife.reference_sheet import Paper
from chape.pipeline.measure import Asked
from chape.pipeline.measure_mesh import headings

router = APIRouter(prefix="/knives", tags=["knives"])

#: A field of a form that is left empty was not filled in.
Empty = BeforeValidator(lambda value: None if value == "" else value)

Text = Annotated[str | None, Field(max_length=200), Empty]


class Measuring(BaseModel):
    """A file to measure a knife from, with what the person says of it. Lengths mm.

    The fields are those of ``chape measure``.

    Attributes:
        name: of the new knife, and
        title: what the person calls it.
        spine: a second photograph, from above the spine.
        handle_thickness, spine_thickness: by caliper, "17.2" or "115:8, 140:17.2".
        tip, edge: where they point: "left", "right", "up", "down", or an axis of a mesh, "-x".
        mesh_unit: what a drawing or mesh is drawn in.
    """

    model_config = ConfigDict(extra="forbid")

    name: Annotated[str, Field(max_length=100)]
    title: Text = None
    kind: Sort
    file: UploadFile
    spine: Annotated[UploadFile | None, Empty] = None
    paper: Annotated[Paper | None, Empty] = None
    bar: Annotated[float | None, Field(ge=1, le=1000), Empty] = None
    handle_thickness: Text = None
    spine_thickness: Text = None
    blade_length: Annotated[float | None, Field(ge=1, le=1000), Empty] = None
    dpi: Annotated[float | None, Field(ge=1, le=100_000), Empty] = None
    tip: Text = None
    edge: Text = None
    turn: Annotated[float | None, Field(ge=-45, le=45), Empty] = None
    tip_height: Annotated[float | None, Field(ge=-1, le=100), Empty] = None
    mesh_unit: Text = None
    double: bool = False
    day: Annotated[date | None, Empty] = None


class BegunWork(BaseModel):
    """Work that was begun: its id."""

    work: str


@router.post("/from-file", status_code=202)
def from_file(wish: Annotated[Measuring, Form()], bench: AtBench) -> BegunWork:
    """Measure a knife from a file; when the work is done, it is on the shelf."""
    bench.records.check_free(Kind.KNIFE, wish.name)
    incoming = bench.place.own / "incoming" / secrets.token_hex(8)
    try:
        wanted = _to_measure(wish, incoming, bench)
        order = Order(
            title=f"Measure {wish.title or wish.name}",
            what=Kind.KNIFE.value,
            name=wish.name,
            make=measure_upload,
            arguments=(wanted,),
            line="measure",
            then=partial(_adopt, bench, wish.name, wanted),
            lastly=partial(shutil.rmtree, incoming, ignore_errors=True),
        )
        return BegunWork(work=bench.works.start(order).id)
    except BaseException:
        shutil.rmtree(incoming, ignore_errors=True)
        raise


def _adopt(bench: Bench, name: str, wanted: ToMeasure, found: dict[str, Any]) -> dict[str, Any]:
    bench.records.adopt(Kind.KNIFE, name, f"measured from {wanted.path.name}")
    return {"knife": name, **found}


def _to_measure(wish: Measuring, incoming: Path, bench: Bench) -> ToMeasure:
    directions: dict[str, Direction | None] = {"tip": None, "edge": None}
    said = {"tip": wish.tip, "edge": wish.edge}
    along = headings(said) if wish.kind is Sort.MESH else {}
    if wish.kind is not Sort.MESH:
        directions = {key: _direction(key, word) for key, word in said.items()}
    rows = {
        key: () if text is None else read_rows(text, key)
        for key, text in (
            ("handle_thickness", wish.handle_thickness),
            ("spine_thickness", wish.spine_thickness),
        )
    }
    path = take_in(_upload(wish.file), wish.kind, incoming)
    spine = None
    if wish.spine is not None and wish.kind is Sort.PHOTO:
        spine = take_in(_upload(wish.spine), Sort.PHOTO, incoming / "spine")
    asked = Asked(
        name=wish.title or wish.name,
        day=wish.day,
        tip=directions["tip"],
        edge=directions["edge"],
        blade_length=wish.blade_length,
        turn=wish.turn or 0.0,
        edges=Edges.DOUBLE if wish.double else Edges.SINGLE,
        paper=wish.paper or Paper.A4,
        bar=wish.bar,
        tip_height=wish.tip_height or 0.0,
        dpi=wish.dpi if wish.kind is Sort.SCAN else None,
        spine=spine,
        spine_rows=rows["spine_thickness"],
        handle_rows=rows["handle_thickness"],
    )
    folder = bench.place.folder_of(Kind.KNIFE, wish.name)
    return ToMeasure(path, wish.kind, asked, wish.mesh_unit, along, folder)


def _upload(file: UploadFile) -> Upload:
    return Upload(file.filename or "", file.file)


def _direction(key: str, word: str | None) -> Direction | None:
    if word is not None and word not in set(Direction):
        raise InputError(f'found "{word}"', mend="Write left, right, up or down", field=key)
    return None if word is None else Direction(word)
