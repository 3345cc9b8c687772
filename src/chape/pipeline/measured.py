"""What measuring a knife leaves: a few new files, never in place of others."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.errors import OutputError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.findings import Finding
    from chape.knife.caliper import Disagreement
    from chape.knife.measured import Measured
    from chape.knife.model import Knife

KNIFE, OVERLAY = "knife.toml", "overlay.png"


@dataclass(frozen=True, slots=True, eq=False)
class Measurement:
    """What comes of it.

    Attributes:
        files: name -> content, to be written together.
        measured: outline and landmarks.
        knife: as its new file is read.
        guesses: keys of the file that are to be measured yet.
        disagreements: where caliper and spine photograph differ.
        findings: of the measurement and of the knife.
    """

    files: dict[str, bytes]
    measured: Measured
    knife: Knife
    guesses: tuple[str, ...]
    disagreements: tuple[Disagreement, ...]
    findings: tuple[Finding, ...]


def refuse_taken(folder: Path, names: tuple[str, ...]) -> None:
    """Refuse a folder that holds one of the files already.

    Raises:
        OutputError: it does, or it is no folder.
    """
    if folder.exists() and not folder.is_dir():
        raise OutputError(folder, "this is a file", mend="Name a folder with --out")
    for name in names:
        if (folder / name).exists():
            raise OutputError(
                folder / name,
                "the file is there already",
                mend="Name a new folder with --out; chape never overwrites what was measured",
            )


def write_measured(folder: Path, files: dict[str, bytes]) -> list[Path]:
    """Write new files into a folder, all or none, and return their paths.

    Raises:
        OutputError: one is there already, or the folder cannot be written.
    """
    refuse_taken(folder, tuple(files))
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            with (folder / name).open("xb") as file:
                written.append(folder / name)
                file.write(content)
    except BaseException as error:
        # Ctrl-C too leaves nothing half-written behind.
        for path in written:
            path.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise OutputError(
                folder,
                f"the folder cannot be written ({error.strerror})",
                mend="Choose a folder you may write to",
            ) from error
        raise
    return written
