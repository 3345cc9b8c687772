"""What a person says of a knife on the page, as the measuring asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.bench.measuring import ToMeasure
from chape.bench.place import Kind
from chape.bench.uploads import Sort, Upload, take_in
from chape.errors import InputError
from chape.knife.caliper import read_rows
from chape.knife.file import Direction
from chape.knife.model import Edges
from chape.knife.reference_sheet import Paper
from chape.pipeline.measure import Asked
from chape.pipeline.measure_mesh import headings

if TYPE_CHECKING:
    from pathlib import Path

    from fastapi import UploadFile

    from chape.bench.api_measure import Measuring
    from chape.bench.place import Place


def to_measure(wish: Measuring, incoming: Path, place: Place) -> ToMeasure:
    """Take the files of a wish in, and return what is to be measured.

    Args:
        wish: as the page sent it.
        incoming: a new folder for the files.
        place: the bench's, for the knife's folder.

    Raises:
        InputError: a file or something said of the knife cannot be used.
        OutputError: the files cannot be kept.
    """
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
    folder = place.folder_of(Kind.KNIFE, wish.name)
    return ToMeasure(path, wish.kind, asked, wish.mesh_unit, along, folder)


def _upload(file: UploadFile) -> Upload:
    return Upload(file.filename or "", file.file)


def _direction(key: str, word: str | None) -> Direction | None:
    if word is not None and word not in set(Direction):
        raise InputError(f'found "{word}"', mend="Write left, right, up or down", field=key)
    return None if word is None else Direction(word)
