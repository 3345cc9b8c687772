"""A sheath's exact figures, its job, and the files of that."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any, Literal

from fastapi import APIRouter, Response
from fastapi.responses import StreamingResponse
from pydantic import BaseModel

from chape.bench.api_work import WorkAnswer, work_answer
from chape.bench.bench import AtBench, Bench
from chape.bench.exact_file import exact_file
from chape.bench.finding import FindingAnswer
from chape.bench.job_folder import JobFolder, content_of, job_of, key_of_inputs, zip_of
from chape.bench.job_work import make_job, work_out
from chape.bench.piece import State
from chape.bench.place import Kind
from chape.bench.problem import MISSING, RefusedError
from chape.bench.safe_write import write_whole
from chape.bench.sheath_answers import FiguresView
from chape.bench.work import Order
from chape.catalog.files import read_bytes
from chape.errors import ChapeError
from chape.pipeline.file import read_request
from chape.pipeline.folder import PROGRAMS

router = APIRouter(prefix="/sheaths/{name}", tags=["jobs"])

#: What a browser is told of files that it may show; all others are to be kept.
SHOWN = {
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".json": "application/json",
    ".txt": "text/plain; charset=utf-8",
    ".nc": "text/plain; charset=us-ascii",
    ".toml": "text/plain; charset=utf-8",
}

#: Pieces that a zip is sent in, bytes.
PIECE = 1 << 20


class ExactAnswer(BaseModel):
    """The exact figures of a sheath.

    Attributes:
        current: they are of the files as they are now.
        fit: as "fit" in a job's ``figures.json``.
    """

    key: str
    current: bool
    figures: FiguresView
    findings: list[FindingAnswer]
    fit: dict[str, Any]


class ProgramAnswer(BaseModel):
    """A program of a job.

    Attributes:
        texts: its files in the job folder, to be run one after the other.
        seconds: it runs, without cutter changes and stops.
        tools: T numbers, in the order of the time they cut.
        figures: all there is, as "programs" in ``figures.json``.
    """

    name: str
    title: str
    released: bool
    seconds: float
    tools: list[int]
    texts: list[str]
    figures: dict[str, Any]


class FileAnswer(BaseModel):
    """A file of a job folder."""

    path: str
    bytes: int


class JobAnswer(BaseModel):
    """A sheath's job.

    Attributes:
        state: "old" when a file it was made of was changed since.
        made: milliseconds since 1970.
        figures: what ``figures.json`` holds.
    """

    state: Literal["none", "current", "old"]
    made: int | None = None
    released: bool = False
    figures: dict[str, Any] = {}
    programs: list[ProgramAnswer] = []
    files: list[FileAnswer] = []
    findings: list[FindingAnswer] = []


@router.post("/exact", status_code=202)
def begin_exact(name: str, bench: AtBench) -> WorkAnswer:
    """Work out the exact figures of a sheath."""
    path = bench.place.file_of(Kind.SHEATH, name)
    kept = exact_file(bench.place, name)
    order = Order(
        title=f"Exact figures of {name}",
        what=Kind.SHEATH.value,
        name=name,
        make=work_out,
        arguments=(path,),
        line="exact",
        then=lambda told: write_whole(kept, json.dumps(told).encode()),
    )
    return _started(bench, order)


@router.get("/exact")
def exact(name: str, bench: AtBench) -> ExactAnswer:
    """Return the exact figures worked out last."""
    path = bench.place.file_of(Kind.SHEATH, name)
    kept = exact_file(bench.place, name)
    if not kept.is_file():
        raise RefusedError(MISSING, "No exact figures were worked out yet")
    told = json.loads(read_bytes(kept))
    return ExactAnswer(**told, current=told["key"] == _key_now(path))


@router.post("/make", status_code=202)
def make(name: str, bench: AtBench) -> WorkAnswer:
    """Make a sheath's job folder."""
    path, target = bench.place.file_of(Kind.SHEATH, name), _job_folder(bench, name)
    order = Order(
        title=f"Make {name}",
        what=Kind.SHEATH.value,
        name=name,
        make=make_job,
        arguments=(path, target),
    )
    return _started(bench, order)


@router.get("/job")
def job(name: str, bench: AtBench) -> JobAnswer:
    """Return a sheath's job: how it stands, its programs, its files."""
    path = bench.place.file_of(Kind.SHEATH, name)
    found = job_of(_job_folder(bench, name))
    if found is None:
        return JobAnswer(state="none")
    try:
        current = found.is_of(read_request(path).inputs)
    except ChapeError:
        current = False
    return JobAnswer(
        state="current" if current else "old",
        made=found.made,
        released=bool(found.figures.get("released")),
        figures=dict(found.figures),
        programs=_programs(found),
        files=[FileAnswer(path=file, bytes=size) for file, size in found.files()],
        findings=found.findings,
    )


@router.get("/job/file/{file:path}")
def job_file(name: str, file: str, bench: AtBench) -> Response:
    """Send a file of a job; a program only if it was released."""
    content = content_of(found_job(bench, name), file, bench.place)
    suffix = Path(file).suffix
    kind = SHOWN.get(suffix, "application/octet-stream")
    headers = {}
    if suffix not in SHOWN or suffix == ".nc":
        headers["Content-Disposition"] = f'attachment; filename="{_plain(Path(file).name)}"'
    return Response(content, media_type=kind, headers=headers)


@router.get("/job.zip")
def job_zip(name: str, bench: AtBench) -> StreamingResponse:
    """Send a whole job folder, without programs that were not released."""
    packed = zip_of(found_job(bench, name), name, bench.place)
    return StreamingResponse(
        _pieces(packed),
        media_type="application/zip",
        headers={"Content-Disposition": f'attachment; filename="{name}.zip"'},
    )


def _started(bench: Bench, order: Order) -> WorkAnswer:
    """Start a piece of work; the same one that waits already will do as well."""
    for piece in bench.works.all():
        if piece.title == order.title and piece.state is State.WAITING:
            return work_answer(piece)
    return work_answer(bench.works.start(order))


def _pieces(packed: IO[bytes]) -> Iterator[bytes]:
    with packed:
        while piece := packed.read(PIECE):
            yield piece


def found_job(bench: Bench, name: str) -> JobFolder:
    """Return a sheath's job folder.

    Raises:
        RefusedError: there is no such sheath, or no job was made of it.
    """
    bench.place.file_of(Kind.SHEATH, name)
    found = job_of(_job_folder(bench, name))
    if found is None:
        raise RefusedError(MISSING, "No job was made yet", mend="Make it first")
    return found


def _job_folder(bench: Bench, name: str) -> Path:
    """Return where a sheath's job lies: its own folder, or what ``chape make`` left beside it."""
    own = bench.place.folder_of(Kind.SHEATH, name) / "job"
    made = own.with_name(f"{bench.place.file_of(Kind.SHEATH, name).stem}-job")
    return made if made.is_dir() and not own.exists() else own


def _key_now(path: Path) -> str | None:
    try:
        return key_of_inputs(read_request(path).inputs)
    except ChapeError:
        return None


def _programs(found: JobFolder) -> list[ProgramAnswer]:
    return [
        ProgramAnswer(
            name=name,
            title=figures["title"],
            released=all(
                f"{PROGRAMS}/{file}" in found.manifest.released for file in figures["files"]
            ),
            seconds=figures["seconds"],
            tools=[load["number"] for load in figures["loads"]],
            texts=[f"{PROGRAMS}/{file}" for file in figures["files"]],
            figures=figures,
        )
        for name, figures in found.figures.get("programs", {}).items()
    ]


def _plain(name: str) -> str:
    return "".join(each if each.isascii() and each not in '"\\' else "_" for each in name)
