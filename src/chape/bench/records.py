"""The knives and sheaths of a bench as the page reads and changes them.

A record is a file a person could have written, with the drawing it names. Its version is the hash
of both; a change names the version it stands on, and is refused where another one is on the disk.
All lengths that go in and out are mm, whatever the file is written in.
"""

from __future__ import annotations

import threading
import time
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from chape.bench.history import History, version_of
from chape.bench.named_files import check_named, drawing_of
from chape.bench.off_shelf import OffShelf
from chape.bench.problem import OTHER_VERSION, Problem, RefusedError, problem_of
from chape.bench.record_text import check_record, encoded, tables_in_mm, text_with
from chape.bench.safe_write import sweep, write_whole
from chape.bench.what_changed import what_changed
from chape.catalog.files import parse_toml, read_bytes
from chape.errors import ChapeError, InputError, OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from chape.bench.events import Events
    from chape.bench.history import Saved
    from chape.bench.place import Kind, Place


@dataclass(frozen=True, slots=True)
class Record:
    """A knife or a sheath as it is on the disk.

    Attributes:
        path: its file.
        files: name -> content of its file and the drawing it names.
        tables: what the file holds, as JSON holds it, lengths in mm; empty when it is no TOML.
        problem: why it cannot be used, if it cannot.
    """

    kind: Kind
    name: str
    path: Path
    files: Mapping[str, bytes]
    version: str
    tables: dict[str, Any]
    problem: Problem | None

    @property
    def title(self) -> str:
        """What the person calls it."""
        own = self.tables.get(self.kind.value)
        title = own.get("name") if isinstance(own, dict) else None
        return title if isinstance(title, str) else self.name


class Records:
    """All knives and sheaths of a place.

    Args:
        place: the bench's folder.
        events: told of every change.
    """

    def __init__(self, place: Place, events: Events) -> None:
        self.place = place
        self._events = events
        self._lock = threading.RLock()
        self._histories: dict[tuple[Kind, str], History] = {}

    def all(self, kind: Kind) -> Iterator[Record]:
        """Yield every knife or sheath, in order of the alphabet."""
        for name in self.place.names(kind):
            try:
                yield self.read(kind, name)
            except RefusedError:
                continue  # taken off the shelf meanwhile

    def read(self, kind: Kind, name: str) -> Record:
        """Return a knife or sheath.

        Raises:
            InputError: it can have no such name, or its file cannot be read.
            RefusedError: there is none.
        """
        path = self.place.file_of(kind, name)
        content = read_bytes(path)
        tables: dict[str, Any] = {}
        files = {path.name: content}
        problem = None
        try:
            tables = tables_in_mm(kind, parse_toml(content, path))
            files |= drawing_of(kind, tables, path)
            check_record(kind, content, path)
        except ChapeError as error:
            problem = problem_of(error)
        return Record(kind, name, path, files, version_of(files), tables, problem)

    def create(self, kind: Kind, name: str, text: str, sentence: str = "begun") -> Record:
        """Put a new knife or sheath on the shelf.

        Raises:
            InputError: the name is taken or cannot be one, or the text cannot be used.
            OutputError: the folder cannot be written.
        """
        with self._lock:
            self.check_free(kind, name)
            path = self.place.folder_of(kind, name) / kind.file
            content = encoded(text, path)
            with _new_folder(path.parent):
                check_named(kind, parse_toml(content, path), {}, path, self.place)
                check_record(kind, content, path)
                write_whole(path, content)
        return self.adopt(kind, name, sentence)

    def check_free(self, kind: Kind, name: str) -> None:
        """Raise unless a new knife or sheath may have this name.

        Raises:
            InputError: the name is taken, or cannot be one.
        """
        folder = self.place.folder_of(kind, name)
        problem = None
        if (folder / kind.file).exists():
            problem = f'there is a {kind} called "{name}" already'
        elif folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            problem = f'in {kind.shelf} there is a folder "{name}" with other files'
        if problem:
            raise InputError(problem, mend="Choose another name", field="name")

    def adopt(self, kind: Kind, name: str, sentence: str) -> Record:
        """Keep what lies in a folder as the first version of a record, and tell of it.

        Raises:
            InputError, RefusedError: it cannot be read.
            OutputError: the history cannot be written.
        """
        record = self.read(kind, name)
        self._history(kind, name).keep(record.files, _now(), sentence)
        return self._told(kind, name)

    def write(
        self,
        kind: Kind,
        name: str,
        base: str,
        tables: Mapping[str, Any],
        drawing: bytes | None = None,
    ) -> Record:
        """Change a knife or sheath.

        Args:
            kind: of it.
            name: of it.
            base: the version the change stands on.
            tables: what the file should hold, lengths in mm.
            drawing: new content of the drawing it names; None leaves that.

        Raises:
            RefusedError: there is none, or another version is on the disk.
            InputError: what it should hold cannot be used.
            OutputError: the folder cannot be written; the old version is still there.
        """
        with self._lock:
            old = self._standing_on(kind, name, base)
            text = text_with(kind, old.files[old.path.name], tables, old.path)
            content = encoded(text, old.path)
            held = parse_toml(content, old.path)
            check_named(kind, held, old.tables, old.path, self.place)
            check_record(kind, content, old.path)
            files = {old.path.name: content, **drawing_of(kind, held, old.path)}
            if drawing is not None:
                own = next((n for n in files if n != old.path.name), None)
                if own is None:
                    raise InputError("the knife has no drawing", mend="Change its stations instead")
                files[own] = drawing
            if version_of(files) == old.version:
                return old
            sentence = what_changed(kind.value, old.tables, tables_in_mm(kind, held))
            if drawing is not None:
                more = "" if sentence == "nothing changed" else f", {sentence}"
                sentence = f"outline moved{more}"
            self._put(old, files, sentence)
            return self._told(kind, name)

    def history(self, kind: Kind, name: str) -> list[Saved]:
        """Return the versions of a record that one can go back to, the newest first."""
        return self._history(kind, name).all()[::-1]

    def back(self, kind: Kind, name: str, to: str, base: str | None) -> Record:
        """Go back to an earlier version, also of a record that was taken off the shelf.

        Raises:
            RefusedError: no such version is kept, or another version than ``base`` is on the disk.
            OutputError: the folder cannot be written.
        """
        with self._lock:
            files = self._history(kind, name).files_of(to)
            path = self.place.folder_of(kind, name) / kind.file
            if files is None:
                raise RefusedError(404, "That version is not kept", mend="Choose another")
            sentence = "gone back to an earlier version"
            if path.is_file():
                self._put(self._standing_on(kind, name, base or ""), files, sentence)
            else:
                self._history(kind, name).keep(files, _now(), sentence)
                self._off_shelf(kind, name).bring_back(path.parent)
                for file, content in files.items():
                    write_whole(path.parent / file, content)
            return self._told(kind, name)

    def remove(self, kind: Kind, name: str, base: str) -> None:
        """Take a record off the shelf; its history keeps it.

        Raises:
            RefusedError: there is none, or another version is on the disk.
            OutputError: the folder cannot be written.
        """
        with self._lock:
            record = self._standing_on(kind, name, base)
            history = self._history(kind, name)
            history.keep(record.files, _now(), "taken off the shelf")
            if record.path.parent == self.place.folder:
                record.path.unlink()
            else:
                self._off_shelf(kind, name).put_away(record.path.parent)
        self._events.changed(kind.value, name, None)

    def tell(self, kind: Kind, name: str) -> None:
        """Tell all pages of the version a record has now; of none where it is gone."""
        try:
            version: str | None = self.read(kind, name).version
        except ChapeError:
            version = None
        self._events.changed(kind.value, name, version)

    def gone(self, kind: Kind) -> Iterator[tuple[str, Saved]]:
        """Yield the names of records that are only in their history, with their last version."""
        shelf = self.place.own / "history" / kind.shelf
        here = set(self.place.names(kind))
        for folder in sorted(shelf.iterdir()) if shelf.is_dir() else ():
            kept = History(folder).all()
            if folder.name not in here and kept:
                yield folder.name, kept[-1]

    def _standing_on(self, kind: Kind, name: str, base: str) -> Record:
        record = self.read(kind, name)
        if record.version != base:
            raise RefusedError(
                OTHER_VERSION,
                "It was changed in another place meanwhile",
                mend="Take theirs, or keep mine",
                more={"version": record.version, "tables": record.tables},
            )
        return record

    def _put(self, old: Record, files: Mapping[str, bytes], sentence: str) -> None:
        """Write a record's files; both versions are kept before, to lose neither."""
        history = self._history(old.kind, old.name)
        kept = history.all()
        if not kept or kept[-1].version != old.version:
            history.keep(old.files, _now(), "as it was on the disk")
        history.keep(files, _now(), sentence)
        sweep(old.path.parent)
        # The file comes last: it names the others.
        for name, content in sorted(files.items(), key=lambda each: each[0] == old.path.name):
            if old.files.get(name) != content:
                write_whole(old.path.parent / name, content)

    def _told(self, kind: Kind, name: str) -> Record:
        """Return a record as it is now, and tell all pages of it."""
        record = self.read(kind, name)
        self._events.changed(kind.value, name, record.version)
        return record

    def _off_shelf(self, kind: Kind, name: str) -> OffShelf:
        return OffShelf(self.place.own / "gone" / kind.shelf / name)

    def _history(self, kind: Kind, name: str) -> History:
        self.place.folder_of(kind, name)  # refuses what cannot be a name
        with self._lock:
            if (kind, name) not in self._histories:
                folder = self.place.own / "history" / kind.shelf / name
                self._histories[kind, name] = History(folder)
            return self._histories[kind, name]


@contextmanager
def _new_folder(folder: Path) -> Iterator[None]:
    """Lend a folder that other files can be named from; it goes again where nothing came of it.

    Raises:
        OutputError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(
            folder,
            f"the folder cannot be made ({error.strerror})",
            mend="Give the bench a folder you may write to",
        ) from error
    try:
        yield
    except BaseException:
        with suppress(OSError):
            folder.rmdir()
        raise


def _now() -> int:
    return int(time.time() * 1000)
