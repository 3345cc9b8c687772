"""Packs a computed job into the files of its folder."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.compose import compose_job
from chape.documents.model import JobResults
from chape.documents.pictures import pictures_of
from chape.findings import errors
from chape.pipeline.folder import INPUTS, MANIFEST, PREVIEWS, PROGRAMS, manifest, sha256

if TYPE_CHECKING:
    from chape.pipeline.page import Page
    from chape.pipeline.run import Job
    from chape.pipeline.stages import Stages


def pack_job(job: Job, page: Page, stages: Stages) -> dict[str, bytes]:
    """Return relative file name -> content of the whole job folder.

    The programs are left out, and the reason put in their place, while any finding is an error.
    """
    results = JobResults(
        name=job.sheath.choices.name,
        knife=job.knife,
        sheath=job.sheath,
        layout=job.tooling.layout,
        mould=job.tooling.mould,
        fixture=job.tooling.fixture,
        dummy=job.tooling.dummy,
        fit=job.fit,
        forming=job.forming,
        programs=job.programs,
        findings=job.findings,
        unit=page.unit,
        date=page.date,
        paper=page.paper,
        numbered=job.numbered,
        gauges=job.tooling.gauges,
        marks=job.tooling.marks,
    )
    pictures = stages.run(
        stages.key("documents", "pictures", job.key, page.unit),
        "Draw the pictures",
        lambda: pictures_of(results),
    )
    pages = stages.run(
        stages.key("documents", "pages", job.key, page.paper, page.unit, str(page.date)),
        "Set the pages",
        lambda: compose_job(results, pictures),
    )
    previews = {f"{PREVIEWS}/{p.setup.name}.bin": p.verdict.preview for p in job.programs}
    outputs = {**job.meshes, **pages, **previews, **_programs(job)}
    outputs |= {f"{INPUTS}/{name}": content for name, content in job.request.inputs.items()}
    released = {
        f"{PROGRAMS}/{name}": digest
        for program in job.programs
        for name, digest in zip(program.file_names, program.verdict.hashes, strict=True)
        if f"{PROGRAMS}/{name}" in outputs
    }
    record = manifest(results.name, job.request.path.name, outputs, released)
    return {**outputs, MANIFEST: record}


def _programs(job: Job) -> dict[str, bytes]:
    stopping = errors(job.findings)
    if stopping:
        lines = ["The programs of this job are held back. Mend these and make the job again:", ""]
        lines += [f"- {each.place}: {each.message} {each.mend}" for each in stopping]
        return {f"{PROGRAMS}/held-back.txt": ("\n".join(lines) + "\n").encode()}
    files: dict[str, bytes] = {}
    for program in job.programs:
        proved = zip(program.file_names, program.texts, program.verdict.hashes, strict=True)
        for name, text, digest in proved:
            content = text.encode("ascii")
            if sha256(content) != digest:
                raise AssertionError(f"{name} is not the text that was proved")
            files[f"{PROGRAMS}/{name}"] = content
    return files
