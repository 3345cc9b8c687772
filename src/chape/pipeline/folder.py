"""Job folders, written whole or not at all.

Everything is written into a hidden folder beside the target, flushed to the disk, and moved into
place by one rename. Two runs for one target wait for each other.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from pathlib import Path, PurePath, PurePosixPath
from typing import TYPE_CHECKING, Literal

import platformdirs
from filelock import FileLock
from pydantic import BaseModel, ConfigDict, ValidationError, field_validator

from chape import __version__
from chape.catalog.files import read_bytes
from chape.catalog.sentences import first_problem
from chape.errors import InputError, OutputError

if TYPE_CHECKING:
    from collections.abc import Mapping

MANIFEST = "manifest.json"
INPUTS = "inputs"
PROGRAMS = "programs"
PREVIEWS = "previews"
OTHERS = "others"
FORMAT = 1


def manifest(
    name: str, sheath: str, outputs: Mapping[str, bytes], released: Mapping[str, str]
) -> bytes:
    """Return the manifest: every file's hash, and which programs were released.

    Args:
        name: of the job.
        sheath: name of the sheath file among the copies of the maker's files.
        outputs: file name -> content of everything in the folder, copies of inputs included.
        released: program file -> hash of the text that the checker passed.
    """
    record = {
        "chape": __version__,
        "format": FORMAT,
        "name": name,
        "sheath": sheath,
        "outputs": {file: sha256(content) for file, content in sorted(outputs.items())},
        "released": dict(sorted(released.items())),
    }
    return (json.dumps(record, indent=2, ensure_ascii=False) + "\n").encode()


def sha256(content: bytes) -> str:
    """Return the hash of some content, in hex."""
    return hashlib.sha256(content).hexdigest()


class Manifest(BaseModel):
    """What ``manifest`` wrote; other keys are for people.

    Attributes:
        sheath: name of the sheath file among the copies of the maker's files.
        outputs: file name -> hash of its content.
        released: program file -> hash of the text that was proved.
    """

    model_config = ConfigDict(frozen=True)

    format: Literal[1]
    sheath: str
    outputs: dict[str, str]
    released: dict[str, str]

    @field_validator("sheath")
    @classmethod
    def _check_sheath(cls, name: str) -> str:
        if PurePath(name).name != name:
            raise ValueError("it is not the bare name of a file")
        return name

    @field_validator("outputs", "released")
    @classmethod
    def _check_names(cls, hashes: dict[str, str]) -> dict[str, str]:
        """Refuse a name that leads out of the folder."""
        for name in hashes:
            parts = PurePosixPath(name).parts
            if not parts or parts[0] == "/" or ".." in parts or "\0" in name:
                raise ValueError(f"{name!r} lies outside the folder")
        return hashes


def read_manifest(folder: Path) -> Manifest:
    """Return a job folder's manifest.

    Raises:
        InputError: the folder is no job folder, or its manifest is damaged.
    """
    path = folder / MANIFEST
    if not path.exists():
        raise InputError(
            "this is no job folder (it has no manifest.json)",
            mend='Name a folder that "chape make" wrote',
            file=folder,
        )
    try:
        return Manifest.model_validate_json(read_bytes(path))
    except ValidationError as error:
        problem = first_problem(error, file=path)
        raise InputError(
            f"this is no manifest that chape can read: {problem.problem}",
            mend="Make the job again",
            file=path,
            field=problem.field,
        ) from None


def check_target(target: Path) -> None:
    """Raise before any work is done if ``target`` could not be written.

    Raises:
        OutputError: it holds something other than a job, or its parent cannot be written.
    """
    try:
        _check_place(target)
    # A loop of links is a RuntimeError before Python 3.13; a name that is too long an OSError.
    except (RuntimeError, ValueError, OSError) as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(
            target,
            f"no folder can be made there ({getattr(error, 'strerror', None) or error})",
            mend="Choose another name",
        ) from error


def _check_place(target: Path) -> None:
    if target.exists() and not target.is_dir():
        raise OutputError(target, "a file of that name is there", mend="Choose another name")
    if target.is_dir() and any(target.iterdir()) and not (target / MANIFEST).is_file():
        raise OutputError(
            target,
            "the folder holds files that are no job of chape's",
            mend="Choose an empty or a new folder",
        )
    parent = target.resolve().parent
    while not parent.exists():
        parent = parent.parent
    try:
        with tempfile.TemporaryFile(dir=parent):
            pass
    except OSError as error:
        raise OutputError(
            target,
            f"nothing can be written into {parent} ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error


def write_folder(target: Path, files: Mapping[str, bytes]) -> None:
    """Write a job folder, replacing an older one of chape's own.

    Args:
        target: the folder.
        files: relative name, with forward slashes -> content.

    Raises:
        OutputError: it cannot be written; the older one is still there, untouched.
    """
    check_target(target)
    target = target.resolve()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with lock_of(target):
            _sweep(target)
            partial = Path(tempfile.mkdtemp(prefix=f".{target.name}.partial-", dir=target.parent))
            try:
                _fill(partial, files)
                _swap(partial, target)
            finally:
                shutil.rmtree(partial, ignore_errors=True)
    except OSError as error:
        raise OutputError(
            target,
            f"the folder could not be written ({error.strerror or error})",
            mend="Free some space or choose another folder, and run again",
        ) from error


def lock_of(target: Path) -> FileLock:
    """Return the lock of a target: in the person's cache folder, or else among passing files."""
    folder = Path(platformdirs.user_cache_dir("chape")) / "locks"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        writable = os.access(folder, os.W_OK)
    except OSError:
        writable = False
    name = sha256(os.fsencode(target))[:32]
    return FileLock(folder / name if writable else Path(tempfile.gettempdir()) / f"chape-{name}")


def _sweep(target: Path) -> None:
    """Clear what an earlier run left when it was cut off."""
    old = target.parent / f".{target.name}.old"
    if old.exists() and not target.exists():
        old.rename(target)
    for left in [old, *target.parent.glob(f".{target.name}.partial-*")]:
        shutil.rmtree(left, ignore_errors=True)


def _fill(folder: Path, files: Mapping[str, bytes]) -> None:
    folder.chmod(0o755)
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())


def _swap(partial: Path, target: Path) -> None:
    old = target.parent / f".{target.name}.old"
    if target.exists():
        target.rename(old)
    try:
        partial.rename(target)
    except OSError:
        if old.exists():
            old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
