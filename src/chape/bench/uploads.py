"""Files that come in: told by what they hold, not by what they are called, and bounded in size."""

from __future__ import annotations

import re
import shutil
import zipfile
from dataclasses import dataclass
from enum import StrEnum
from typing import IO, TYPE_CHECKING

from chape.errors import InputError, OutputError
from chape.field.mesh_file import LARGEST_MESH

if TYPE_CHECKING:
    from pathlib import Path

#: So much of a file tells what it is, bytes.
HEAD = 4096

#: A packed mesh unpacks to no more than this, and holds no more files.
LARGEST_UNPACKED, MOST_PACKED = 2 * LARGEST_MESH, 1000

#: Drawings and pictures are no larger, bytes; their readers hold to the same.
LARGEST_DRAWING, LARGEST_PICTURE = 20_000_000, 80_000_000

#: What pictures begin with, and where in the file.
PICTURES = (
    (0, b"\xff\xd8\xff", "jpg"),
    (0, b"\x89PNG\r\n\x1a\n", "png"),
    (0, b"II*\0", "tif"),
    (0, b"MM\0*", "tif"),
    (4, b"ftyphei", "heic"),
    (4, b"ftyphev", "heic"),
    (4, b"ftypmif1", "heic"),
    (4, b"ftypmsf1", "heic"),
)


class Sort(StrEnum):
    """What a knife is measured from."""

    PHOTO = "photo"
    SCAN = "scan"
    DRAWING = "drawing"
    MESH = "mesh"

    @property
    def endings(self) -> tuple[str, ...]:
        """The endings of such files."""
        return {
            Sort.PHOTO: ("jpg", "png", "tif", "heic"),
            Sort.SCAN: ("jpg", "png", "tif", "heic"),
            Sort.DRAWING: ("svg", "dxf"),
            Sort.MESH: ("stl", "ply", "obj", "3mf"),
        }[self]

    @property
    def largest(self) -> int:
        """The most bytes of such a file."""
        sizes = {Sort.DRAWING: LARGEST_DRAWING, Sort.MESH: LARGEST_MESH}
        return sizes.get(self, LARGEST_PICTURE)


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that came in.

    Attributes:
        name: as the person's computer called it.
        content: to be read from its beginning.
    """

    name: str
    content: IO[bytes]


def take_in(upload: Upload, sort: Sort, folder: Path) -> Path:
    """Put an upload into a folder under a plain name with the ending of what it holds.

    Raises:
        InputError: it is too large, empty, or no such file.
        OutputError: the folder cannot be written.
    """
    size = upload.content.seek(0, 2)
    upload.content.seek(0)
    shown = _plain_name(upload.name)
    if size > sort.largest:
        raise InputError(
            f"the file is larger than {sort.largest // 1_000_000} MB",
            mend="Send a smaller one",
            file=shown,
            field="file",
        )
    head = upload.content.read(HEAD)
    upload.content.seek(0)
    ending = ending_of(head, size)
    if ending not in sort.endings:
        known = ", ".join(each.upper() for each in sort.endings)
        raise InputError(
            "the file is empty" if not size else f"this is no {sort} that chape can read",
            mend=f"Give one of: {known}",
            file=shown,
            field="file",
        )
    if ending == "3mf":
        _check_packed(upload.content, shown)
    stem = (shown.rpartition(".")[0] or shown).strip(".-") or "knife"
    path = folder / f"{stem}.{ending}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            shutil.copyfileobj(upload.content, file)
    except OSError as error:
        raise OutputError(
            path,
            f"the file cannot be kept ({error.strerror or error})",
            mend="Free some space, or give the bench a folder you may write to",
        ) from error
    return path


def ending_of(head: bytes, size: int) -> str | None:
    """Return the ending of a file by its first bytes and its size; None for what is not known."""
    for at, mark, ending in PICTURES:
        if head[at : at + len(mark)] == mark:
            return ending
    if head[:4] == b"PK\x03\x04":
        return "3mf"
    if head[:4] in {b"ply\n", b"ply\r"}:
        return "ply"
    count = int.from_bytes(head[80:84], "little")
    if len(head) >= 84 and size == 84 + 50 * count:
        return "stl"
    return _ending_of_text(head)


def _ending_of_text(head: bytes) -> str | None:
    if b"\0" in head:
        # A DXF may be binary too; it says so.
        return "dxf" if head.startswith(b"AutoCAD Binary DXF") else None
    text = head.decode("utf-8", "replace").lstrip("\ufeff \t\r\n")
    if text.startswith("solid"):
        return "stl"
    if text.startswith("<"):
        return "svg" if re.search(r"<(\w+:)?svg\b", text) else None
    if re.match(r"(999\s*\n.*\n\s*)*0\s*\n\s*SECTION\b", text):
        return "dxf"
    return "obj" if re.search(r"^v\s+[-+.\d]", text, re.MULTILINE) else None


def _check_packed(content: IO[bytes], name: str) -> None:
    """Raise where a packed mesh would unpack to more than any mesh holds."""
    try:
        with zipfile.ZipFile(content) as packed:
            entries = packed.infolist()
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        raise InputError("the 3MF file is damaged", mend="Export it again", file=name) from None
    finally:
        content.seek(0)
    if len(entries) > MOST_PACKED or sum(each.file_size for each in entries) > LARGEST_UNPACKED:
        raise InputError(
            "the 3MF file unpacks to more than any knife's mesh holds",
            mend="Export the knife alone",
            file=name,
        )


def _plain_name(name: str) -> str:
    """Return the last part of a name in letters that every disk takes."""
    last = re.split(r"[/\\]", name)[-1]
    return re.sub(r"[^A-Za-z0-9._-]+", "-", last).strip(".-")[-60:] or "knife"
