"""Buffers of what the page shows in three dimensions; worked out in a warm process."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.bench.problem import MISSING, RefusedError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.bench.solids import Shaded
    from chape.field.heights import HeightField
    from chape.forming.model import Forming
    from chape.pipeline.kept import KeptJob
    from chape.sheath.model import Sheath

#: Blocks are shown with about so many triangles unless fewer are asked for.
MOST_TRIANGLES = 250_000

#: A sheath that was never made is shown as designed on a grid of this, mm.
UNMADE = 0.8

NONE, CLEARANCE, THICKNESS, LEFTOVER = "none", "clearance", "thickness", "leftover"


@dataclass(frozen=True, slots=True)
class Shape:
    """What is to be shown.

    Attributes:
        path: the sheath file.
        which: "knife", "sheath", "blank", "mould", "fixture", "stock-before-NAME" or
            "stock-after-NAME".
        shade: what it is coloured by.
        triangles: at most about so many.
    """

    path: Path
    which: str
    shade: str = NONE
    triangles: int = MOST_TRIANGLES


#: The last job that was read, and the inputs it is of: one shape is often followed by another.
_read: dict[str, KeptJob] = {}


def kept_job(path: Path) -> KeptJob:
    """Return the kept parts of the job of a sheath file as it is now."""
    from chape.bench.job_folder import key_of_inputs  # noqa: PLC0415 - numerics
    from chape.pipeline.file import read_request  # noqa: PLC0415 - as above
    from chape.pipeline.keep import Keep  # noqa: PLC0415 - as above
    from chape.pipeline.kept import KeptJob  # noqa: PLC0415 - as above

    request = read_request(path)
    key = key_of_inputs(request.inputs)
    if key not in _read:
        _read.clear()
        _read[key] = KeptJob(request, Keep.of_person())
    return _read[key]


def knife_buffer(path: Path) -> bytes:
    """Return the buffer of a knife by itself.

    Raises:
        InputError: its file cannot be used.
    """
    from chape.bench import solids  # noqa: PLC0415 - numerics
    from chape.bench.buffers import mesh_bytes  # noqa: PLC0415 - as above
    from chape.knife.read import read_knife  # noqa: PLC0415 - as above

    return mesh_bytes(solids.knife_body(read_knife(path, solids.SHOWN)))


def shape_buffer(shape: Shape) -> bytes:
    """Return the buffer of a shape.

    Raises:
        NotKeptError: it belongs to a job that was not made of the files as they are.
        RefusedError: there is no such shape, or it is not coloured by that.
    """
    from chape.bench.buffers import mesh_bytes  # noqa: PLC0415 - numerics

    shaded = _shaded(shape)
    return mesh_bytes(shaded.solid, shaded.values)


def made_buffer(content: bytes) -> bytes:
    """Return the buffer of a mesh that lies in a job folder.

    Args:
        content: an STL file as ``chape.documents.to_mesh`` writes it.

    Raises:
        InputError: it is damaged.
    """
    import numpy as np  # noqa: PLC0415 - numerics

    from chape.bench.buffers import mesh_bytes  # noqa: PLC0415 - as above
    from chape.field.solid import Solid  # noqa: PLC0415 - as above
    from chape.field.triangles import triangles_of_stl  # noqa: PLC0415 - as above

    # The file tells each corner again for each triangle: those with the same bytes are one.
    corners = triangles_of_stl(content).reshape(-1, 3).astype("<f4") + np.float32(0)
    _, first, number = np.unique(corners.view("V12"), return_index=True, return_inverse=True)
    vertices = corners[first].astype(np.float64)
    return mesh_bytes(Solid(vertices, number.reshape(-1, 3).astype(np.int32)))


def _shaded(shape: Shape) -> Shaded:
    if shape.which in ("knife", "sheath"):
        return _worn(shape)
    job = kept_job(shape.path)
    if shape.which == "blank":
        return _blank(shape, job)
    if shape.which in ("mould", "fixture"):
        return _tool(shape, job)
    for lead in ("stock-before-", "stock-after-"):
        if shape.which.startswith(lead):
            return _stock(shape, job, shape.which.removeprefix(lead), after="after" in lead)
    raise RefusedError(MISSING, f'There is no shape "{shape.which[:40]}"')


def _worn(shape: Shape) -> Shaded:
    from chape.bench import solids  # noqa: PLC0415 - numerics

    _check_shade(shape, CLEARANCE, *((THICKNESS,) if shape.which == "sheath" else ()))
    sheath, job = made_or_designed(shape.path)
    if shape.which == "sheath":
        return solids.closed_sheath(sheath, _walls(shape, job), shape.shade)
    if shape.shade == CLEARANCE:
        return solids.knife_by_clearance(sheath)
    return solids.Shaded(solids.knife_body(sheath.knife))


def made_or_designed(path: Path, spacing: float = UNMADE) -> tuple[Sheath, KeptJob | None]:
    """Return the sheath of the job that was made, and that job; else one designed coarsely.

    Args:
        path: the sheath file.
        spacing: of the coarse design, mm.

    Raises:
        InputError, CannotMakeError: no sheath can be made of the file.
    """
    from chape.pipeline.glance import Glancer  # noqa: PLC0415 - numerics
    from chape.pipeline.kept import NotKeptError  # noqa: PLC0415 - as above

    job = kept_job(path)
    try:
        return job.sheath, job
    except NotKeptError:
        return Glancer(spacing).look(path).sheath, None


def _walls(shape: Shape, job: KeptJob | None) -> tuple[HeightField, ...] | None:
    """Return the thickness of the formed sheet; None where it is not known and not asked for."""
    from chape.pipeline.kept import NotKeptError  # noqa: PLC0415 - numerics

    job = kept_job(shape.path) if job is None else job
    try:
        return job.forming.walls
    except NotKeptError:
        if shape.shade == THICKNESS:
            raise
        return None


def _blank(shape: Shape, job: KeptJob) -> Shaded:
    from chape.bench import solids  # noqa: PLC0415 - numerics

    _check_shade(shape, THICKNESS)
    layout, forming = job.tooling.layout, job.forming
    gauge = float(layout.sheet.gauge.value)
    return solids.formed_blank(
        layout.formed, gauge, forming.drape.kept, shaded=shape.shade == THICKNESS
    )


def _tool(shape: Shape, job: KeptJob) -> Shaded:
    from chape.bench import solids  # noqa: PLC0415 - numerics

    mould, fixture = job.tooling.mould, job.tooling.fixture
    if shape.which == "mould":
        _check_shade(shape, LEFTOVER, THICKNESS)
        surface = solids.drilled(mould.surface, (*mould.vents, *mould.dowels))
        values = None
        if shape.shade == LEFTOVER:
            values = job.program("mould-top").verdict.leftover
        elif shape.shade == THICKNESS:
            values = _sheet_over(job.forming, float(job.sheath.sheet.gauge.value))
        return solids.block(surface, mould.z_bottom, shape.triangles, values)
    _check_shade(shape, LEFTOVER)
    holes = (*fixture.inserts, *fixture.pins, *fixture.reliefs)
    surface = solids.drilled(fixture.surface, holes)
    leftover = job.program("fixture").verdict.leftover if shape.shade == LEFTOVER else None
    return solids.block(surface, fixture.z_bottom, shape.triangles, leftover)


def _sheet_over(forming: Forming, gauge: float) -> HeightField:
    kept = forming.drape.kept
    return kept.with_z(gauge * kept.z)


def _stock(shape: Shape, job: KeptJob, name: str, *, after: bool) -> Shaded:
    from chape.bench import solids  # noqa: PLC0415 - numerics

    _check_shade(shape, *((LEFTOVER,) if after else ()))
    _check_program(job, name)
    program = job.program(name)
    surface = program.verdict.stock_after if after else program.setup.stock
    leftover = program.verdict.leftover if shape.shade == LEFTOVER else None
    return solids.block(surface, program.setup.z_bottom, shape.triangles, leftover)


def _check_program(job: KeptJob, name: str) -> None:
    if name not in job.programs:
        raise RefusedError(MISSING, f'The job has no program "{name[:40]}"')


def _check_shade(shape: Shape, *known: str) -> None:
    if shape.shade not in {NONE, *known}:
        choices = ", ".join((NONE, *known))
        raise RefusedError(
            MISSING,
            f'"{shape.which[:40]}" is not coloured by "{shape.shade[:40]}"',
            mend=f"Choose one of: {choices}",
        )
