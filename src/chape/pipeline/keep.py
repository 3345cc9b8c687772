"""Keeps the results of stages by what went into them.

A result is kept under the hash of its stage's code and inputs, so nothing is ever out of date;
what cannot be read back whole is made again. Kept results are pickles in the person's own cache
folder, never in a folder that travels with a job.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import tempfile
from contextlib import suppress
from functools import cache
from importlib import metadata
from pathlib import Path

import platformdirs

#: Oldest results go once all of them take more than this.
MOST_BYTES = 4_000_000_000

_DIGEST_BYTES = 32


@cache
def code_digest(parts: tuple[str, ...]) -> str:
    """Return the hash of the source and data of some parts of chape: packages and modules."""
    root = Path(__file__).parent.parent
    digest = hashlib.sha256()
    for part in parts:
        place = root / part
        files = sorted(place.rglob("*")) if place.is_dir() else [place]
        for file in files:
            if file.is_file() and "__pycache__" not in file.parts:
                digest.update(str(file.relative_to(root)).encode())
                digest.update(file.read_bytes())
    for library in ("numpy", "scipy", "numba", "shapely", "manifold3d", "ortools"):
        digest.update(f"{library} {metadata.version(library)}".encode())
    return digest.hexdigest()


def key_of(*parts: str | bytes) -> str:
    """Return the hash of some parts, kept apart by their lengths."""
    digest = hashlib.sha256()
    for part in parts:
        data = part.encode() if isinstance(part, str) else part
        digest.update(len(data).to_bytes(8, "big"))
        digest.update(data)
    return digest.hexdigest()


class Keep:
    """A folder of kept results; None keeps nothing."""

    def __init__(self, folder: Path | None) -> None:
        self.folder = folder

    @classmethod
    def of_person(cls) -> Keep:
        """Return the folder of the person who runs chape."""
        return cls(Path(platformdirs.user_cache_dir("chape")) / "results")

    def get(self, key: str) -> object | None:
        """Return the result kept under ``key``; None where there is none, or it is damaged."""
        return None if self.folder is None else _read(self.folder / key)

    def put(self, key: str, result: object) -> None:
        """Keep a result. A folder that cannot be written costs time, never a result."""
        if self.folder is None:
            return
        try:
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            _write(self.folder / key, result)
            self._drop_oldest(self.folder / key)
        except OSError:
            pass  # a full or read-only disk: the result is only made again next time

    def _drop_oldest(self, newest: Path) -> None:
        folder = newest.parent
        files = [(file.stat().st_mtime, file.stat().st_size, file) for file in folder.iterdir()]
        total = sum(size for _, size, _ in files)
        for _, size, file in sorted(files):
            if total <= MOST_BYTES:
                return
            if file != newest:
                file.unlink(missing_ok=True)
                total -= size


def _read(path: Path) -> object | None:
    try:
        data = path.read_bytes()
    except OSError:
        return None
    body = memoryview(data)[_DIGEST_BYTES:]
    if hashlib.sha256(body).digest() != data[:_DIGEST_BYTES]:
        return None
    with suppress(OSError):  # a folder that may only be read serves as well
        os.utime(path)
    # Written by this person's own runs, into their own cache, and hash-checked above.
    result: object = pickle.loads(body)  # noqa: S301
    return result


def _write(path: Path, result: object) -> None:
    body = pickle.dumps(result, protocol=5)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix="partial-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(body).digest())
            file.write(body)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
