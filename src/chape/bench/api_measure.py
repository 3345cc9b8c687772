"""Knives measured from a photograph, a scan, a drawing or a mesh."""

import secrets
import shutil
from datetime import date
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Form, UploadFile
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from chape.bench.bench import AtBench, Bench
from chape.bench.measuring import ToMeasure, measure_upload
from chape.bench.place import Kind
from chape.bench.uploads import Sort
from chape.bench.work import Order
from chape.knife.reference_sheet import Paper

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
    from chape.bench.asked import to_measure  # noqa: PLC0415 - numerics, slow to import

    bench.records.check_free(Kind.KNIFE, wish.name)
    incoming = bench.place.own / "incoming" / secrets.token_hex(8)
    try:
        wanted = to_measure(wish, incoming, bench.place)
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
