"""Writes files so that each is the old one or the new one, whatever happens in between."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from chape.errors import OutputError


def write_whole(path: Path, content: bytes, mode: int = 0o644) -> None:
    """Put ``content`` in the place of a file: written beside it, flushed, and renamed.

    Raises:
        OutputError: the folder cannot be written, or the disk is full; the old file is untouched.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, partial = tempfile.mkstemp(dir=path.parent, prefix=".partial-")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            Path(partial).chmod(mode)
            Path(partial).replace(path)
        except BaseException:
            Path(partial).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise OutputError(
            path,
            f"the file cannot be written ({error.strerror or error})",
            mend="Free some space, or give the bench a folder you may write to",
        ) from error


def sweep(folder: Path) -> None:
    """Clear what a writer left in a folder when it was cut off."""
    for left in folder.glob(".partial-*"):
        left.unlink(missing_ok=True)
