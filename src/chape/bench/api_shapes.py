"""What the page shows in three dimensions."""

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response

from chape.bench.api_jobs import found_job
from chape.bench.bench import AtBench
from chape.bench.job_folder import content_of
from chape.bench.place import Kind
from chape.bench.shapes import MOST_TRIANGLES, Shape, knife_buffer, made_buffer, shape_buffer

router = APIRouter(tags=["shapes"])

Shade = Literal["none", "clearance", "thickness", "leftover"]

#: What a job folder holds as a mesh too.
IN_FOLDER = ("mould", "fixture")

BUFFER = "application/octet-stream"

#: Kept by the browser, and asked for again with its tag.
HEADERS = {"Cache-Control": "private, no-cache"}


class Buffer(Response):
    """A buffer of numbers."""

    media_type = BUFFER


@router.get("/knives/{name}/solid.bin", response_class=Buffer)
def knife(name: str, bench: AtBench) -> Buffer:
    """Send a knife as a mesh."""
    path = bench.place.file_of(Kind.KNIFE, name)
    return Buffer(bench.shapes.ask(knife_buffer, path))


@router.get("/sheaths/{name}/solid/{which}.bin", response_class=Buffer)
def solid(
    name: str,
    which: str,
    bench: AtBench,
    shade: Shade = "none",
    triangles: Annotated[int, Query(ge=1000, le=2_000_000)] = MOST_TRIANGLES,
) -> Buffer:
    """Send a shape of a sheath or its job as a mesh, with values to colour it by.

    Mould and fixture of a job of which no parts are kept are those of its folder, uncoloured.
    """
    from chape.pipeline.kept import NotKeptError  # noqa: PLC0415 - the page is there before it

    path = bench.place.file_of(Kind.SHEATH, name)
    try:
        return Buffer(bench.shapes.ask(shape_buffer, Shape(path, which, shade, triangles)))
    except NotKeptError:
        if which not in IN_FOLDER or shade != "none":
            raise
    content = content_of(found_job(bench, name), f"meshes/{which}.stl", bench.place)
    return Buffer(bench.shapes.ask(made_buffer, content))


@router.get("/sheaths/{name}/path/{program}.bin", response_class=Buffer)
def way(name: str, program: str, bench: AtBench, request: Request) -> Response:
    """Send the way of a program's cutters, as it lies in the job folder beside the program."""
    job = found_job(bench, name)
    file = f"previews/{program}.bin"
    tag = f'"{job.manifest.outputs.get(file)}"'
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=HEADERS | {"ETag": tag})
    return Buffer(content_of(job, file, bench.place), headers=HEADERS | {"ETag": tag})
