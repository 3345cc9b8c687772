"""Reads a knife file, and makes the knife it describes."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

import shapely
from pydantic import ValidationError

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.knife.file import KnifeFile, knife_schema
from chape.knife.from_stations import outline_of_stations
from chape.knife.model import Knife
from chape.knife.thickness import edge_band, half_thickness

if TYPE_CHECKING:
    from pathlib import Path

    from shapely import Polygon

__all__ = ["KnifeFile", "knife_of", "knife_schema", "read_knife", "read_knife_file"]

#: Shorter or longer than this, mm, is no knife but a wrong unit.
SHORTEST, LONGEST = 40.0, 700.0


def read_knife(path: Path, spacing: float, *, copies: bool = False) -> Knife:
    """Read a knife file and work out the knife.

    Args:
        path: the TOML file; a drawing it names lies beside it.
        spacing: of the half-thickness grid, mm.
        copies: the file is a job's copy: its drawing lies right beside it, wherever it lay once.

    Raises:
        InputError: the file, one of its values, or its drawing cannot be used.
    """
    file = read_knife_file(path)
    if copies and file.outline.drawing:
        drawing = PurePath(file.outline.drawing).name
        file = file.model_copy(
            update={"outline": file.outline.model_copy(update={"drawing": drawing})}
        )
    try:
        return knife_of(file, spacing, folder=path.parent)
    except InputError as error:
        raise (error if error.file else error.in_file(path)) from None


def read_knife_file(path: Path) -> KnifeFile:
    """Read and validate a knife file, lengths still in its own unit.

    Raises:
        InputError: missing, not TOML, or a value that cannot be.
    """
    tables = parse_toml(read_bytes(path), path)
    try:
        return KnifeFile.model_validate(tables)
    except ValidationError as error:
        raise _sentence(error, path) from None


def knife_of(file: KnifeFile, spacing: float, *, folder: Path | None = None) -> Knife:
    """Return the knife that a knife file describes.

    Args:
        file: lengths in its own unit.
        spacing: of the half-thickness grid, mm.
        folder: where a drawing that it names lies.

    Raises:
        InputError: the outline or the thickness cannot be.
    """
    try:
        file = file.in_mm()
    except ValidationError as error:
        raise _sentence(error, None) from None
    outline = _outline(file, folder)
    _check_length(outline, file)
    return Knife(
        name=file.knife.name,
        outline=outline,
        half=half_thickness(outline, file, spacing),
        edge_band=edge_band(outline, file),
        edges=file.knife.edges,
        blade_length=file.blade.length,
        uncertainty=file.knife.uncertainty,
        source=file.knife.source,
        measured=file.knife.measured,
    )


def _outline(file: KnifeFile, folder: Path | None) -> Polygon:
    outline = file.outline
    if outline.stations is not None:
        return outline_of_stations(outline.stations, outline.tip_shape)
    # Drawings need libraries that most runs can do without.
    from chape.knife.from_drawing import outline_of_drawing  # noqa: PLC0415

    return outline_of_drawing(outline, file.knife.unit, folder)


def _check_length(outline: Polygon, file: KnifeFile) -> None:
    x_min, _, x_max, _ = shapely.bounds(outline)
    length = float(x_max - x_min)
    if SHORTEST <= length <= LONGEST:
        return
    where = "[outline]" if file.outline.drawing else "[knife]"
    other = "unit" if file.outline.drawing is None else "unit or scale"
    small = length < SHORTEST
    guess = 'unit = "inch"' if small else 'unit = "mm"'
    raise InputError(
        f"the outline is {length:,.1f} mm long, and a knife is {SHORTEST:.0f} to {LONGEST:.0f} mm",
        mend=f"Correct {other} in {where}, perhaps to {guess}",
        field="outline",
    )


def _sentence(error: ValidationError, path: Path | None) -> InputError:
    """Return the first problem; our own sentences keep the mend they were written with."""
    problem = error.errors(include_url=False)[0]
    own = problem.get("ctx", {}).get("error")
    if not isinstance(own, InputError):
        own = first_problem(error, file=path or "knife file")
    return InputError(own.problem, mend=own.mend, file=path, field=_field(problem["loc"]))


def _field(place: tuple[int | str, ...]) -> str | None:
    """Return "outline.stations, row 3, number 2", counted from 1 as a person does."""
    key = ".".join(part for part in place if isinstance(part, str))
    counts = [part + 1 for part in place if isinstance(part, int)]
    words = [f"{word} {count}" for word, count in zip(("row", "number"), counts, strict=False)]
    return ", ".join([key, *words]) if key else None
