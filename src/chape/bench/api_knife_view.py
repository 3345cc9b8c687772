"""A knife as it is drawn, also while it is changed, and the photograph under it."""

from typing import Annotated, Any

from fastapi import APIRouter, Response
from fastapi.responses import FileResponse
from pydantic import BaseModel, Field

from chape.bench.bench import AtBench
from chape.bench.beside import KnivesAnswer, TriedAnswer, held_beside, tried_in
from chape.bench.knife_answers import KnifeViewAnswer
from chape.bench.knife_view import LookAtKnife, photo_of
from chape.bench.named_files import check_named
from chape.bench.place import Kind
from chape.bench.problem import MISSING, RefusedError

router = APIRouter(prefix="/knives", tags=["knives"])


class KnifeWish(BaseModel):
    """A wish to see a knife as it would be.

    Attributes:
        sequence: counted up by the page.
        page: any word that no other open page has; wishes of one page overtake each other.
        tables: what the knife file would hold, lengths in mm.
    """

    sequence: int
    page: Annotated[str, Field(max_length=64)] = ""
    tables: dict[str, Any]


@router.get("/{name}/view", response_model=KnifeViewAnswer)
def view(name: str, bench: AtBench) -> Response:
    """Show a knife as it is."""
    path = bench.place.file_of(Kind.KNIFE, name)
    seen = bench.previews.look_at_knife("", LookAtKnife(path, name))
    return _json(seen, 0)


@router.post("/{name}/view", response_model=KnifeViewAnswer)
def view_changed(name: str, wish: KnifeWish, bench: AtBench) -> Response:
    """Show a knife as it would be."""
    record = bench.records.read(Kind.KNIFE, name)
    check_named(Kind.KNIFE, wish.tables, record.tables, record.path, bench.place)
    look = LookAtKnife(record.path, name, wish.sequence, wish.tables)
    return _json(bench.previews.look_at_knife(wish.page, look), wish.sequence)


@router.get("/{name}/beside/{other}")
def beside(name: str, other: str, bench: AtBench) -> KnivesAnswer:
    """Hold another knife beside this one."""
    first, second = (bench.place.file_of(Kind.KNIFE, each) for each in (name, other))
    return bench.shapes.ask(held_beside, first, second)


@router.get("/{name}/tried-in/{sheath}")
def tried(name: str, sheath: str, bench: AtBench) -> TriedAnswer:
    """Try this knife in a sheath that was made for another."""
    knife = bench.place.file_of(Kind.KNIFE, name)
    return bench.shapes.ask(tried_in, bench.place.file_of(Kind.SHEATH, sheath), knife)


@router.get("/{name}/photo")
def photo(name: str, bench: AtBench) -> FileResponse:
    """Send the photograph a knife was measured on."""
    found = photo_of(bench.place.file_of(Kind.KNIFE, name).parent)
    if found is None:
        raise RefusedError(MISSING, f'There is no photograph of "{name}"')
    return FileResponse(bench.place.within(found.parent, found.name))


def _json(seen: str | None, sequence: int) -> Response:
    """Return what was seen; that it was dropped where nothing was."""
    if seen is None:
        seen = KnifeViewAnswer(sequence=sequence, dropped=True).model_dump_json()
    return Response(seen, media_type="application/json")
