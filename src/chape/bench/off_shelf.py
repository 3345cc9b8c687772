"""The folder of a knife or sheath that was taken off the shelf, with all that lies in it."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.errors import OutputError

if TYPE_CHECKING:
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class OffShelf:
    """Where one folder is put away: the last one of its name.

    Attributes:
        place: for it.
    """

    place: Path

    def put_away(self, folder: Path) -> None:
        """Take a folder off the shelf, in one step.

        Raises:
            OutputError: it cannot be moved; it is still where it was.
        """
        try:
            self.place.parent.mkdir(parents=True, exist_ok=True)
            if self.place.exists():
                shutil.rmtree(self.place)
            folder.rename(self.place)
        except OSError as error:
            raise _unmoved(folder, error) from error

    def bring_back(self, folder: Path) -> None:
        """Put a folder back on the shelf; nothing happens where none was put away.

        Raises:
            OutputError: it cannot be moved, or another folder is in its place.
        """
        if not self.place.exists():
            return
        try:
            folder.parent.mkdir(parents=True, exist_ok=True)
            self.place.rename(folder)
        except OSError as error:
            raise _unmoved(folder, error) from error


def _unmoved(folder: Path, error: OSError) -> OutputError:
    return OutputError(
        folder,
        f"the folder cannot be moved ({error.strerror})",
        mend="Close what uses it, or give the bench a folder you may write to",
    )
