"""A sheath while it is dragged."""

from typing import Annotated, Any

from fastapi import APIRouter, Response
from pydantic import BaseModel, Field

from chape.bench.bench import AtBench
from chape.bench.exact_file import found_depth
from chape.bench.named_files import check_named
from chape.bench.place import Kind
from chape.bench.preview import Look
from chape.bench.sheath_answers import PreviewAnswer

router = APIRouter(prefix="/sheaths", tags=["sheaths"])


class Wish(BaseModel):
    """A wish to see a sheath as it would be.

    Attributes:
        sequence: counted up by the page.
        page: any word that no other open page has; wishes of one page overtake each other.
        tables: what the sheath file would hold, lengths in mm.
        station: x of the section wanted, mm; null for none.
        dragging: more of the same is to come: holes planned before may serve.
    """

    sequence: int
    page: Annotated[str, Field(max_length=64)] = ""
    tables: dict[str, Any]
    station: Annotated[float, Field(allow_inf_nan=False)] | None = None
    dragging: bool = False


@router.post("/{name}/preview", response_model=PreviewAnswer)
def preview(name: str, wish: Wish, bench: AtBench) -> Response:
    """Show a sheath as it would be, at a glance."""
    record = bench.records.read(Kind.SHEATH, name)
    check_named(Kind.SHEATH, wish.tables, record.tables, record.path, bench.place)
    depth = found_depth(bench.place, name)
    look = Look(record.path, wish.sequence, wish.tables, wish.station, wish.dragging, depth)
    seen = bench.previews.look(f"{wish.page} {name}", look)
    if seen is None:
        seen = PreviewAnswer(sequence=wish.sequence, dropped=True).model_dump_json()
    return Response(seen, media_type="application/json")
