"""The folder a bench works in: where its knives and sheaths lie, and what they may be called."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from filelock import FileLock, Timeout

from chape.bench.problem import MISSING, RefusedError
from chape.errors import InputError, OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

#: Lower-case letters, digits and dashes; a dash neither first nor last.
NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?")

#: Where the bench keeps what is its own.
OWN = ".chape"


class Kind(StrEnum):
    """What a record is of."""

    KNIFE = "knife"
    SHEATH = "sheath"

    @property
    def file(self) -> str:
        """The file a record is kept in."""
        return f"{self.value}.toml"

    @property
    def shelf(self) -> str:
        """The folder that holds them all."""
        return "knives" if self is Kind.KNIFE else "sheaths"


@dataclass(frozen=True, slots=True)
class Place:
    """A bench's folder.

    Attributes:
        folder: absolute, with its links followed.
    """

    folder: Path

    @property
    def own(self) -> Path:
        """The folder for history, keys, devices and timers."""
        return self.folder / OWN

    @property
    def bare(self) -> str | None:
        """The name of the knife and sheath that lie in the folder itself, as ``chape new`` does.

        None when there are none.
        """
        if not any((self.folder / kind.file).is_file() for kind in Kind):
            return None
        words = re.sub(r"[^a-z0-9]+", "-", self.folder.name.lower()).strip("-")[:40].strip("-")
        return words or "this-folder"

    def names(self, kind: Kind) -> Iterator[str]:
        """Yield the names of all knives or sheaths, in order of the alphabet."""
        found = set()
        shelf = self.folder / kind.shelf
        if shelf.is_dir():
            found = {
                each.name
                for each in shelf.iterdir()
                if NAME.fullmatch(each.name) and (each / kind.file).is_file()
            }
        if self.bare is not None and (self.folder / kind.file).is_file():
            found.add(self.bare)
        yield from sorted(found)

    def folder_of(self, kind: Kind, name: str) -> Path:
        """Return the folder a knife or sheath has or would have.

        Raises:
            InputError: it can have no such name.
        """
        if not NAME.fullmatch(name):
            raise InputError(
                f'"{name[:50]}" cannot be a name',
                mend="Write lower-case letters, digits and dashes, at most 40",
                field="name",
            )
        own = self.folder / kind.shelf / name
        if name == self.bare and not own.exists() and (self.folder / kind.file).is_file():
            return self.folder
        return own

    def file_of(self, kind: Kind, name: str) -> Path:
        """Return the file of a knife or sheath that is there.

        Raises:
            InputError: it can have no such name.
            RefusedError: there is none.
        """
        path = self.folder_of(kind, name) / kind.file
        if not path.is_file():
            raise RefusedError(
                MISSING, f'There is no {kind} called "{name}"', mend="Choose one from the shelf"
            )
        return path

    def within(self, base: Path, part: str) -> Path:
        """Return a file below ``base`` by its path as seen from there.

        Raises:
            RefusedError: it is not below ``base``, also where a link would lead out, or is no file.
        """
        path = base.joinpath(part).resolve() if "\0" not in part else base
        if not (path.is_relative_to(base.resolve()) and path.is_file()):
            raise RefusedError(MISSING, "There is no such file", mend="Load the page anew")
        return path

    def lock(self) -> FileLock:
        """Take the folder for one bench; the lock ends with the process, however it ends.

        Raises:
            InputError: another bench works in it.
            OutputError: it cannot be written.
        """
        try:
            self.own.mkdir(parents=True, exist_ok=True)
            lock = FileLock(self.own / "lock")
            lock.acquire(timeout=0)
        except Timeout:
            raise InputError(
                "another bench works in this folder",
                mend="Use its page, or stop it first",
                file=self.folder,
            ) from None
        except OSError as error:
            raise OutputError(
                self.folder,
                f"the folder cannot be written ({error.strerror})",
                mend="Choose a folder you may write to",
            ) from error
        return lock


def open_place(folder: Path) -> Place:
    """Return the place of a folder that is there, or can be made.

    Raises:
        InputError: it is a file.
        OutputError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise InputError(
            "this is a file", mend="Name a folder for the bench", file=folder
        ) from None
    except OSError as error:
        raise OutputError(
            folder,
            f"the folder cannot be made ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error
    return Place(folder.resolve())
