"""What a record was at each time it was saved, to go back to.

Each record has a folder of its own: a line for every version in ``log.jsonl``, and the files of the
versions under the hash of their content. A version cut off while it is written leaves no line.
"""

from __future__ import annotations

import hashlib
import json
import threading
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from chape.bench.safe_write import write_whole
from chape.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

#: So many versions of a record are kept, and so many more before the oldest are cleared.
MOST, SLACK = 500, 50

LOG = "log.jsonl"


def version_of(files: Mapping[str, bytes]) -> str:
    """Return the version of a record: the hash of its files, the first 16 hex digits.

    Of a single file it is the hash of its bytes.
    """
    if len(files) == 1:
        return hashlib.sha256(next(iter(files.values()))).hexdigest()[:16]
    whole = hashlib.sha256()
    for name, content in sorted(files.items()):
        whole.update(name.encode() + b"\0" + hashlib.sha256(content).digest())
    return whole.hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Saved:
    """One saved version.

    Attributes:
        version: of the record's files.
        time: it was saved, milliseconds since 1970.
        sentence: what was changed.
        files: name -> hash of its content.
    """

    version: str
    time: int
    sentence: str
    files: dict[str, str]


class History:
    """The saved versions of one record.

    Args:
        folder: its own, made when the first version is kept.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = threading.Lock()

    def all(self) -> list[Saved]:
        """Return every version kept, the oldest first; a line that was cut off is none."""
        try:
            lines = (self.folder / LOG).read_text("utf-8").splitlines()
        except OSError:
            return []
        found = []
        for line in lines:
            try:
                found.append(Saved(**json.loads(line)))
            except (ValueError, TypeError):
                continue
        return found

    def keep(self, files: Mapping[str, bytes], time: int, sentence: str) -> Saved:
        """Keep a version.

        Raises:
            OutputError: the folder cannot be written.
        """
        hashes = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
        saved = Saved(version_of(files), time, sentence, hashes)
        with self._lock:
            for name, content in files.items():
                blob = self.folder / hashes[name]
                if not blob.is_file():
                    write_whole(blob, content)
            self._add(saved)
        return saved

    def files_of(self, version: str) -> dict[str, bytes] | None:
        """Return the files of a version; None when it is not kept, or not whole any more."""
        for saved in reversed(self.all()):
            if saved.version != version:
                continue
            try:
                files = {n: (self.folder / blob).read_bytes() for n, blob in saved.files.items()}
            except OSError:
                return None
            return files if version_of(files) == version else None
        return None

    def _add(self, saved: Saved) -> None:
        line = json.dumps(asdict(saved), ensure_ascii=False) + "\n"
        path = self.folder / LOG
        kept = self.all()
        if len(kept) >= MOST + SLACK:
            self._prune([*kept, saved])
            return
        try:
            with path.open("r+b" if path.exists() else "xb") as file:
                # A line that was cut off must not swallow this one.
                torn = file.seek(0, 2) and (file.seek(-1, 2), file.read(1))[1] != b"\n"
                file.write(b"\n" * bool(torn) + line.encode())
        except OSError as error:
            raise OutputError(
                path,
                f"the history cannot be written ({error.strerror})",
                mend="Free some space, or give the bench a folder you may write to",
            ) from error

    def _prune(self, versions: list[Saved]) -> None:
        kept, dropped = versions[-MOST:], versions[:-MOST]
        text = "".join(json.dumps(asdict(each), ensure_ascii=False) + "\n" for each in kept)
        write_whole(self.folder / LOG, text.encode())
        needed = {blob for each in kept for blob in each.files.values()}
        for each in dropped:
            for blob in set(each.files.values()) - needed:
                (self.folder / blob).unlink(missing_ok=True)
