"""A sheath's job folder as the page sees it: whether it is up to date, and what may leave it.

A program leaves it only if the checker released it and it still is the very text that was proved.
"""

from __future__ import annotations

import json
import tempfile
import zipfile
from dataclasses import dataclass
from typing import IO, TYPE_CHECKING, Any

from chape.bench.finding import FindingAnswer, FlatFrame, finding_answer
from chape.bench.problem import MISSING, RefusedError
from chape.catalog.files import read_bytes
from chape.errors import ChapeError, InputError
from chape.findings import Finding, Severity
from chape.pipeline.folder import INPUTS, MANIFEST, PROGRAMS, Manifest, read_manifest, sha256
from chape.pipeline.keep import key_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from chape.bench.place import Place

FIGURES = "figures.json"

#: A zip up to this size is packed in memory, bytes.
IN_MEMORY = 20_000_000

NOT_RELEASED = 403

#: No file of a job is larger, bytes: a program of a million lines has 20 MB.
LARGEST = 400_000_000

#: Packed as they are: they are packed already.
PACKED = (".png", ".pdf", ".3mf")


@dataclass(frozen=True, slots=True)
class JobFolder:
    """A job folder with its manifest.

    Attributes:
        figures: what ``figures.json`` holds; empty for a folder that is damaged.
    """

    folder: Path
    manifest: Manifest
    figures: Mapping[str, Any]

    @property
    def made(self) -> int:
        """When it was made, milliseconds since 1970."""
        return int(1000 * (self.folder / MANIFEST).stat().st_mtime)

    def is_of(self, inputs: Mapping[str, bytes]) -> bool:
        """Say whether the job was made of these very files."""
        lead = f"{INPUTS}/"
        held = {
            name.removeprefix(lead): digest
            for name, digest in self.manifest.outputs.items()
            if name.startswith(lead)
        }
        return held == {name: sha256(content) for name, content in inputs.items()}

    @property
    def findings(self) -> list[FindingAnswer]:
        """What the checks saw."""
        hand = self.figures.get("sheath", {}).get("hand")
        fold = self.figures.get("fold")
        frame = FlatFrame(None if fold is None else fold["line"], left=hand == "left")
        return [
            finding_answer(Finding(**{**each, "severity": Severity(each["severity"])}), frame)
            for each in self.figures.get("findings", ())
        ]

    def files(self) -> list[tuple[str, int]]:
        """Return name and size of every file that is there, in order."""
        names = (*sorted(self.manifest.outputs), MANIFEST)
        paths = [(name, self.folder / name) for name in names]
        return [(name, path.stat().st_size) for name, path in paths if path.is_file()]


def key_of_inputs(inputs: Mapping[str, bytes]) -> str:
    """Return what is worked out from some files is known by: their hash."""
    return key_of(*(part for name in sorted(inputs) for part in (name, inputs[name])))[:16]


def job_of(folder: Path) -> JobFolder | None:
    """Return the job in a folder; None where there is none.

    Raises:
        InputError: its manifest is damaged.
    """
    if not (folder / MANIFEST).is_file():
        return None
    manifest = read_manifest(folder)
    figures: Mapping[str, Any] = {}
    if (folder / FIGURES).is_file():
        try:
            figures = json.loads(read_bytes(folder / FIGURES, LARGEST))
        except ValueError:
            raise InputError(
                "the job's figures are damaged", mend="Make the job again", file=folder / FIGURES
            ) from None
    return JobFolder(folder, manifest, figures)


def content_of(job: JobFolder, name: str, place: Place) -> bytes:
    """Return a file of a job, if it may leave the folder.

    Raises:
        RefusedError: there is no such file, or it is a program that was not released.
    """
    if name not in {*job.manifest.outputs, MANIFEST}:
        raise RefusedError(MISSING, "The job has no such file", mend="Load the page anew")
    content = read_bytes(place.within(job.folder, name), LARGEST)
    if name.startswith(f"{PROGRAMS}/") and name.endswith(".nc"):
        refuse_unproved(job, name, content)
    return content


def refuse_unproved(job: JobFolder, name: str, content: bytes) -> None:
    """Raise unless a program is the very text that was proved and released.

    Raises:
        RefusedError: it is not.
    """
    released = job.manifest.released.get(name)
    if released is None:
        raise RefusedError(
            NOT_RELEASED,
            f"The program {name} was not released",
            mend="Mend the errors that hold it back, and make the job again",
        )
    if sha256(content) != released:
        raise RefusedError(
            NOT_RELEASED,
            f"The program {name} was changed after it was proved",
            mend="Make the job again",
        )


def zip_of(job: JobFolder, name: str, place: Place) -> IO[bytes]:
    """Return a zip of a job folder, to be read from its beginning.

    What may not leave the folder is left out, and a note in its place says why.
    """
    packed: IO[bytes] = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - handed on
    left_out = []
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        for file, _ in job.files():
            try:
                content = content_of(job, file, place)
            except ChapeError as error:
                left_out.append(f"{file}: {getattr(error, 'sentence', error)}.")
                continue
            # The same job gives the same bytes: no clock is read.
            entry = zipfile.ZipInfo(f"{name}/{file}")
            entry.external_attr = 0o644 << 16
            entry.compress_type = (
                zipfile.ZIP_STORED if file.endswith(PACKED) else zipfile.ZIP_DEFLATED
            )
            archive.writestr(entry, content)
        if left_out:
            archive.writestr(zipfile.ZipInfo(f"{name}/left-out.txt"), "\n".join(left_out) + "\n")
    packed.seek(0)
    return packed
