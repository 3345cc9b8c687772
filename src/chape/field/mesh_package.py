"""Meshes in 3MF packages: a zip archive with models of objects, placed by build items.

The core specification's units, objects, components and transforms are read, and parts in other
files of the package (the production extension). Archives are untrusted: what is unpacked is
counted as it comes, never held whole, and nothing a document type could define is expanded.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING
from xml.parsers import expat

import numpy as np

from chape.errors import InputError
from chape.field.mesh_file import Mesh, check_count, of_corners

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: A package holds a handful of files; thousands are an attack.
MOST_ENTRIES = 2000

#: All models of a package unpacked, bytes: four times what half a million triangles take.
LARGEST_MODELS = 300_000_000

#: Components may lie within components, so deep, and be placed so often.
DEEPEST, MOST_PLACED = 16, 2000

_CHUNK = 1 << 20

_UNITS = {
    "micron": 0.001, "millimeter": 1.0, "centimeter": 10.0, "inch": 25.4, "foot": 304.8,
    "meter": 1000.0,
}  # fmt: skip


@dataclass(slots=True)
class _Part:
    """An object: its own mesh, and the objects it is put together from.

    Attributes:
        components: the file of the package, the object's number, where it is placed.
    """

    vertices: array[float] = field(default_factory=lambda: array("d"))
    corners: array[int] = field(default_factory=lambda: array("q"))
    components: list[tuple[str, str, Floats]] = field(default_factory=list)

    def triangles(self) -> Floats:
        points = np.frombuffer(self.vertices, np.float64).reshape(-1, 3)
        return of_corners(points, np.frombuffer(self.corners, np.int64).reshape(-1, 3))


@dataclass(slots=True)
class _Package:
    """What is collected of all models: parts by file and number, and what is built of them."""

    parts: dict[tuple[str, str], _Part] = field(default_factory=dict)
    items: list[tuple[str, str, Floats]] = field(default_factory=list)
    units: dict[str, float] = field(default_factory=dict)
    unpacked: int = 0
    triangles: int = 0
    placed: int = 0


def mesh_of_package(content: bytes) -> Mesh:
    """Return the mesh of a 3MF file with the unit that it states.

    Raises:
        InputError: no such package, damaged, too large once unpacked, or nothing in it.
    """
    package = _Package()
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            entries = archive.infolist()
            if len(entries) > MOST_ENTRIES:
                raise _broken(f"it holds {len(entries)} files")
            models = [entry for entry in entries if entry.filename.lower().endswith(".model")]
            if not models:
                raise _broken("it holds no model")
            for entry in models:
                _read_model(archive, entry, package)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise _broken(f"the archive is damaged ({error})") from None
    if len(set(package.units.values())) > 1:
        raise _broken("its models are written in different units")
    placed: list[Floats] = []
    for file, number, transform in package.items:
        _place(package, (file, number), transform, placed, DEEPEST)
    triangles = np.concatenate(placed) if placed else np.zeros((0, 3, 3))
    return Mesh(triangles, next(iter(package.units.values())))


def _broken(why: str) -> InputError:
    return InputError(f"the 3MF file cannot be read: {why}", mend="Save the scan again")


def _read_model(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, package: _Package) -> None:
    file = "/" + entry.filename.lstrip("/")
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    reader = _Reader(file, package)
    parser.StartElementHandler = reader.start
    parser.StartDoctypeDeclHandler = reader.refuse_doctype
    with archive.open(entry) as stream:
        while chunk := stream.read(_CHUNK):
            package.unpacked += len(chunk)
            if package.unpacked > LARGEST_MODELS:
                raise InputError(
                    f"the 3MF file unpacks to more than {LARGEST_MODELS // 1_000_000} MB",
                    mend="Save the scan more coarsely",
                )
            try:
                parser.Parse(chunk, False)  # noqa: FBT003 - the library takes it by place
            except expat.ExpatError as error:
                raise _broken(f"its model is no XML ({error})") from None
    try:
        parser.Parse(b"", True)  # noqa: FBT003 - as above
    except expat.ExpatError as error:
        raise _broken(f"its model is no XML ({error})") from None


class _Reader:
    """Takes the elements of one model, in the order they come."""

    def __init__(self, file: str, package: _Package) -> None:
        self.file, self.package = file, package
        self.part = _Part()

    def start(self, tag: str, given: dict[str, str]) -> None:
        name = tag.rpartition(" ")[2]
        try:
            match name:
                case "vertex":
                    self.part.vertices.extend(float(given[axis]) for axis in ("x", "y", "z"))
                case "triangle":
                    self.part.corners.extend(int(given[corner]) for corner in ("v1", "v2", "v3"))
                    self.package.triangles += 1
                    check_count(self.package.triangles)
                case "object":
                    self.part = _Part()
                    self.package.parts[self.file, given["id"]] = self.part
                case "component":
                    self.part.components.append(self._placed(given))
                case "item":
                    self.package.items.append(self._placed(given))
                case "model":
                    self.package.units[self.file] = _UNITS[given.get("unit", "millimeter")]
        except (KeyError, ValueError, OverflowError) as error:
            raise _broken(f'"{name}" lacks or misspells something ({error})') from None

    def _placed(self, given: dict[str, str]) -> tuple[str, str, Floats]:
        path = next((v for k, v in given.items() if k.rpartition(" ")[2] == "path"), self.file)
        rows = [float(word) for word in given.get("transform", "1 0 0 0 1 0 0 0 1 0 0 0").split()]
        return path, given["objectid"], np.array(rows).reshape(4, 3)

    def refuse_doctype(self, *_: object) -> None:
        raise _broken("it defines a document type, which no 3MF file has")


def _place(
    package: _Package, key: tuple[str, str], transform: Floats, placed: list[Floats], deepest: int
) -> None:
    """Append the triangles of an object and its components, points as rows times ``transform``."""
    part = package.parts.get(key)
    if part is None:
        raise _broken(f"it names object {key[1][:20]}, which is not there")
    package.placed += 1
    if deepest == 0 or package.placed > MOST_PLACED:
        raise _broken("its components are too many, or lie too deep within one another")
    own = part.triangles()
    if len(own):
        placed.append(own @ transform[:3] + transform[3])
        check_count(sum(len(each) for each in placed))
    for file, number, inner in part.components:
        whole = np.vstack([inner[:3] @ transform[:3], inner[3] @ transform[:3] + transform[3]])
        _place(package, (file, number), whole, placed, deepest - 1)
