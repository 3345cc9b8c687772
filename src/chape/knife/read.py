"""Reads a knife file, and makes the knife it describes."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import shapely
from pydantic import TypeAdapter, ValidationError

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.field.mesh_file import is_mesh
from chape.knife.file import KnifeFile
from chape.knife.file_mesh import MeshKnifeFile
from chape.knife.model import LONGEST_KNIFE, SHORTEST_KNIFE, Knife
from chape.knife.unmeasured import unmeasured

if TYPE_CHECKING:
    from pathlib import Path

    from shapely import Polygon

    from chape.knife.from_mesh import MeasuredMesh


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
    if copies:
        file = _beside(file)
    try:
        return knife_of(file, spacing, folder=path.parent)
    except InputError as error:
        raise (error if error.file else error.in_file(path)) from None


def read_any_knife(path: Path, spacing: float) -> Knife:
    """Read a knife file, or a mesh alone: with one edge, its unit and pose found.

    Raises:
        InputError: as ``read_knife``.
    """
    if not is_mesh(path):
        return read_knife(path, spacing)
    tables = {"knife": {"name": path.stem[:80], "source": "scan"}, "mesh": {"file": path.name}}
    return knife_of(MeshKnifeFile.model_validate(tables), spacing, folder=path.parent)


def read_knife_file(path: Path) -> KnifeFile | MeshKnifeFile:
    """Read and validate a knife file, lengths still in its own unit.

    Raises:
        InputError: missing, not TOML, or a value that cannot be.
    """
    return parsed_knife(parse_toml(read_bytes(path), path), path)


def parsed_knife(tables: dict[str, Any], path: Path) -> KnifeFile | MeshKnifeFile:
    """Validate the tables of a knife file, lengths still in its own unit.

    Args:
        tables: as read from TOML.
        path: the file, for what is said of it.

    Raises:
        InputError: a value that cannot be.
    """
    if "mesh" in tables and (more := sorted(set(tables) - set(MeshKnifeFile.model_fields))):
        raise InputError(
            f"the file has a [mesh], which tells the whole knife, and a [{more[0]}] besides",
            mend="Remove one of the two",
            file=path,
            field=more[0],
        )
    try:
        return (MeshKnifeFile if "mesh" in tables else KnifeFile).model_validate(tables)
    except ValidationError as error:
        raise _sentence(error, path) from None


def knife_schema() -> dict[str, Any]:
    """Return the JSON Schema of a knife file: measured, or scanned."""
    return TypeAdapter(KnifeFile | MeshKnifeFile).json_schema()


def knife_of(
    file: KnifeFile | MeshKnifeFile, spacing: float, *, folder: Path | None = None
) -> Knife:
    """Return the knife that a knife file describes.

    Args:
        file: lengths in its own unit.
        spacing: of the half-thickness grid, mm.
        folder: where a drawing or mesh that it names lies.

    Raises:
        InputError: the outline or the thickness cannot be.
    """
    try:
        file = file.in_mm()
    except ValidationError as error:
        raise _sentence(error, None) from None
    if isinstance(file, MeshKnifeFile):
        return _scanned(file, spacing, folder)
    # To check a file takes no numerics, and these are slow to import.
    from chape.knife.thickness import edge_band, half_thickness  # noqa: PLC0415

    outline = outline_of(file, folder)
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
        remarks=unmeasured(file.knife),
    )


def _scanned(file: MeshKnifeFile, spacing: float, folder: Path | None) -> Knife:
    from chape.knife.from_mesh import measure_mesh  # noqa: PLC0415 - most runs read no mesh

    return knife_of_mesh(file, measure_mesh(file.mesh, file.knife.edges, spacing, folder))


def knife_of_mesh(file: MeshKnifeFile, mesh: MeasuredMesh) -> Knife:
    """Return the knife of a knife file whose mesh was measured."""
    return Knife(
        name=file.knife.name,
        outline=mesh.outline,
        half=mesh.half,
        edge_band=mesh.edge_band,
        edges=file.knife.edges,
        blade_length=mesh.blade_length,
        uncertainty=file.knife.uncertainty,
        source=file.knife.source,
        measured=file.knife.measured,
        remarks=mesh.remarks,
    )


def _beside(file: KnifeFile | MeshKnifeFile) -> KnifeFile | MeshKnifeFile:
    """Return the file with what it names taken from right beside it."""
    if isinstance(file, MeshKnifeFile):
        mesh = file.mesh.model_copy(update={"file": PurePath(file.mesh.file).name})
        return file.model_copy(update={"mesh": mesh})
    if not file.outline.drawing:
        return file
    drawing = PurePath(file.outline.drawing).name
    outline = file.outline.model_copy(update={"drawing": drawing})
    return file.model_copy(update={"outline": outline})


def outline_of(file: KnifeFile, folder: Path | None) -> Polygon:
    """Return the outline of a knife file, in the knife frame, mm.

    Args:
        file: lengths in mm.
        folder: where a drawing that it names lies.

    Raises:
        InputError: the outline cannot be.
    """
    outline = file.outline
    if outline.stations is not None:
        from chape.knife.from_stations import outline_of_stations  # noqa: PLC0415 - as above

        return outline_of_stations(outline.stations, outline.tip_shape)
    # Drawings need libraries that most runs can do without.
    from chape.knife.from_drawing import outline_of_drawing  # noqa: PLC0415

    return outline_of_drawing(outline, file.knife.unit, folder)


def _check_length(outline: Polygon, file: KnifeFile) -> None:
    x_min, _, x_max, _ = shapely.bounds(outline)
    length = float(x_max - x_min)
    if SHORTEST_KNIFE <= length <= LONGEST_KNIFE:
        return
    where = "[outline]" if file.outline.drawing else "[knife]"
    other = "unit" if file.outline.drawing is None else "unit or scale"
    small = length < SHORTEST_KNIFE
    guess = 'unit = "inch"' if small else 'unit = "mm"'
    raise InputError(
        f"the outline is {length:,.1f} mm long, and a knife is {SHORTEST_KNIFE:.0f} to "
        f"{LONGEST_KNIFE:.0f} mm",
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
