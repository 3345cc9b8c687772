"""Packs a computed job into the files of its folder."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from chape.documents.compose import compose_job, compose_other
from chape.documents.meshes import mesh_files, tried_with
from chape.documents.model import JobResults
from chape.documents.pictures import pictures_of
from chape.findings import errors
from chape.pipeline.folder import INPUTS, MANIFEST, OTHERS, PREVIEWS, PROGRAMS, manifest, sha256
from chape.tooling.gauges import make_dummy, make_gauges

if TYPE_CHECKING:
    from chape.fit.fit import Fit
    from chape.pipeline.page import Page
    from chape.pipeline.run import Job, Other
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
    for other, fit in job.others:
        pages = {**pages, **_other_pages(results, other, fit, stages, job.key)}
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


def _other_pages(
    results: JobResults, other: Other, fit: Fit, stages: Stages, key: str
) -> dict[str, bytes]:
    """Return documents and meshes of a further sheath on the blank, in a folder of their own."""
    sheath, knife = other.sheath, other.knife
    dummy = make_dummy(knife)
    gauges = make_gauges(sheath, other.request.file.fit.handle_spread)
    own = replace(
        results, name=sheath.choices.name, knife=knife, sheath=sheath, fit=fit, dummy=dummy,
        gauges=gauges, marks=(),
    )  # fmt: skip
    printed = (results.paper, results.unit, str(results.date))
    files = stages.run(
        stages.key("documents", "other pages", key, other.key, *printed),
        f'Set the pages of "{own.name}"',
        lambda: compose_other(own) | mesh_files(tried_with(dummy, gauges)),
    )
    folder = f"{OTHERS}/{other.request.path.stem}"
    return {f"{folder}/{name}": content for name, content in files.items()}


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
