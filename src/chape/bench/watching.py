"""Notices when files of knives and sheaths are changed by hand while the bench runs."""

from __future__ import annotations

import threading
from contextlib import suppress
from typing import TYPE_CHECKING

from chape.bench.place import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from chape.bench.records import Records

#: Files are looked at this often, s.
EVERY = 2.0

Seen = dict[tuple[Kind, str], tuple[tuple[str, int, int], ...]]


class Watching:
    """Looks at the files of all records from time to time, and tells of those that changed.

    Args:
        records: to look at.
    """

    def __init__(self, records: Records) -> None:
        self._records = records
        self._seen = self._look()
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        """Begin to watch."""
        self._thread.start()

    def stop(self) -> None:
        """Watch no more."""
        self._over.set()

    def look(self) -> None:
        """Look once, and tell of what changed since the last time."""
        now = self._look()
        for key in now.keys() | self._seen.keys():
            if now.get(key) != self._seen.get(key):
                self._records.tell(*key)
        self._seen = now

    def _run(self) -> None:
        while not self._over.wait(EVERY):
            with suppress(OSError):
                self.look()

    def _look(self) -> Seen:
        place = self._records.place
        return {
            (kind, name): tuple(_marks(place.folder_of(kind, name), kind))
            for kind in Kind
            for name in place.names(kind)
        }


def _marks(folder: Path, kind: Kind) -> Iterator[tuple[str, int, int]]:
    """Yield what tells a changed file from the one before: name, time and size."""
    for path in sorted(folder.iterdir()):
        if path.name == kind.file or path.suffix in {".svg", ".dxf"}:
            with suppress(OSError):  # gone meanwhile
                found = path.stat()
                yield path.name, found.st_mtime_ns, found.st_size
