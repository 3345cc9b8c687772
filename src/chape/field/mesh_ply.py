"""Meshes in PLY files: a header that tells what each row holds, then rows, as text or as bytes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from chape.errors import InputError
from chape.field.mesh_file import check_count, fan, of_corners
from chape.field.mesh_obj import LARGEST_TEXT, text_rows

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: A header is never longer, bytes.
LONGEST_HEADER = 64_000

#: Runs of rows with equally many corners cost a block each, and are looked for this far ahead.
MOST_RUNS, SHORTEST_RUN = 300_000, 64

_TYPES = {
    "char": "i1", "uchar": "u1", "short": "i2", "ushort": "u2", "int": "i4", "uint": "u4",
    "float": "f4", "double": "f8", "int8": "i1", "uint8": "u1", "int16": "i2", "uint16": "u2",
    "int32": "i4", "uint32": "u4", "float32": "f4", "float64": "f8",
}  # fmt: skip
_ORDERS = {"binary_little_endian": "<", "binary_big_endian": ">", "ascii": ""}
_CORNERS = ("vertex_indices", "vertex_index")

Rows = npt.NDArray[Any]


@dataclass(slots=True)
class Element:
    """One kind of row: its name, how many there are, and what each holds.

    Attributes:
        columns: name, type of the count where it is a list (else ""), type of the value.
    """

    name: str
    count: int
    columns: list[tuple[str, str, str]] = field(default_factory=list)

    @property
    def lists(self) -> list[str]:
        """Names of the columns that are lists."""
        return [name for name, count, _ in self.columns if count]


def triangles_of_ply(content: bytes) -> Floats:
    """Return (n, 3, 3) corners of the triangles of a PLY file; polygons are cut as a fan.

    Raises:
        InputError: the header breaks a rule, the file is cut short, or it holds points alone.
    """
    order, elements, start = _header(content)
    for element in elements:
        check_count(element.count // 4)
    read = _Text(content[start:]) if order == "" else _Bytes(content, start, order)
    vertices: Floats | None = None
    corners: npt.NDArray[np.int64] | None = None
    for element in elements:
        groups = read.rows(element)
        names = [name for name, _, _ in element.columns]
        if element.name == "vertex" and {"x", "y", "z"} <= set(names) and not element.lists:
            vertices = np.column_stack([groups[0][axis].astype(np.float64) for axis in "xyz"])
        elif element.name == "face" and set(_CORNERS) & set(names):
            key = next(name for name in names if name in _CORNERS)
            parts = [fan(rows[key].astype(np.int64)) for rows in groups if rows[key].ndim == 2]
            flat = [part.reshape(-1, 3) for part in parts if part.shape[1] > 0]
            corners = np.concatenate(flat) if flat else None
    if vertices is None or corners is None:
        return np.zeros((0, 3, 3))
    return of_corners(vertices, corners)


def _header(content: bytes) -> tuple[str, list[Element], int]:
    """Return the byte order ("" for text), the elements, and where their rows begin."""
    head, found, _ = content[:LONGEST_HEADER].partition(b"end_header")
    if not found:
        raise _broken("its header does not end")
    start = content.find(b"\n", len(head)) + 1
    order, elements = None, list[Element]()
    for line in head.decode("latin-1").splitlines()[1:]:
        words = line.split()
        try:
            match words:
                case [] | ["comment" | "obj_info", *_]:
                    continue
                case ["format", kind, _]:
                    order = _ORDERS[kind]
                case ["element", name, count]:
                    elements.append(Element(name, _natural(count)))
                case ["property", "list", count, value, name]:
                    elements[-1].columns.append((name, _TYPES[count], _TYPES[value]))
                case ["property", value, name]:
                    elements[-1].columns.append((name, "", _TYPES[value]))
                case _:
                    raise _broken(f'its header holds "{line.strip()[:60]}"')
        except (KeyError, IndexError, ValueError):
            raise _broken(f'its header holds "{line.strip()[:60]}"') from None
    if order is None or not start:
        raise _broken("its header does not say how its rows are written")
    return order, elements, start


def _natural(word: str) -> int:
    number = int(word)
    if number < 0:
        raise ValueError(word)
    return number


def _broken(why: str) -> InputError:
    return InputError(f"the PLY file cannot be read: {why}", mend="Save the scan again")


class _Bytes:
    """Rows of a binary file, element by element."""

    def __init__(self, content: bytes, start: int, order: str) -> None:
        self.content, self.at, self.order = content, start, order

    def rows(self, element: Element) -> list[Rows]:
        """Return the rows of an element in groups of equal length of their lists."""
        if not element.columns or element.count == 0:
            return [np.zeros(element.count, self._type(element, {}))]
        if not element.lists:
            return [self._block(element, {}, element.count)]
        groups, left, window = list[Rows](), element.count, SHORTEST_RUN
        while left:
            # Nearly always all rows are alike. Where not, runs of equal rows are read as blocks.
            lengths = self._lengths(element)
            kind = self._type(element, lengths)
            room = min(left, window, (len(self.content) - self.at) // kind.itemsize)
            if room == 0:
                raise _broken("it ends before its last row")
            block = np.frombuffer(self.content, kind, room, self.at)
            alike = np.ones(room, dtype=bool)
            for name, length in lengths.items():
                alike &= block[f"count of {name}"] == length
            run = room if alike.all() else int(np.argmin(alike))
            # Looking no further than twice the last run keeps mixed rows from taking for ever.
            window = max(SHORTEST_RUN, 2 * run)
            groups.append(block[:run])
            self.at += run * kind.itemsize
            left -= run
            if len(groups) > MOST_RUNS:
                raise _broken("its faces have too many different counts of corners")
        return _joined(groups)

    def _block(self, element: Element, lengths: dict[str, int], count: int) -> Rows:
        kind = self._type(element, lengths)
        if self.at + count * kind.itemsize > len(self.content):
            raise _broken("it ends before its last row")
        rows = np.frombuffer(self.content, kind, count, self.at)
        self.at += count * kind.itemsize
        return rows

    def _lengths(self, element: Element) -> dict[str, int]:
        """Return the lengths of the lists of the row that comes next."""
        lengths, at = dict[str, int](), self.at
        for name, count, value in element.columns:
            if not count:
                at += np.dtype(value).itemsize
                continue
            size = np.dtype(self.order + count)
            if at + size.itemsize > len(self.content):
                raise _broken("it ends before its last row")
            lengths[name] = int(np.frombuffer(self.content, size, 1, at)[0])
            if not 0 <= lengths[name] <= 1000:
                raise _broken(f"a row of it lists {lengths[name]} numbers")
            at += size.itemsize + lengths[name] * np.dtype(value).itemsize
        return lengths

    def _type(self, element: Element, lengths: dict[str, int]) -> np.dtype[Any]:
        fields: list[Any] = []
        for name, count, value in element.columns:
            if count:
                fields.append((f"count of {name}", self.order + count))
                fields.append((name, self.order + value, (lengths.get(name, 0),)))
            else:
                fields.append((name, self.order + value))
        return np.dtype(fields)


def _joined(groups: list[Rows]) -> list[Rows]:
    """Return the groups with those of the same type joined into one."""
    kinds: dict[Any, list[Rows]] = {}
    for group in groups:
        kinds.setdefault(str(group.dtype), []).append(group)
    return [np.concatenate(alike) for alike in kinds.values()]


class _Text:
    """Rows of a text file, element by element."""

    def __init__(self, content: bytes) -> None:
        if len(content) > LARGEST_TEXT:
            raise InputError(
                f"the mesh file is text of more than {LARGEST_TEXT // 1_000_000} MB",
                mend="Save the scan as binary PLY",
            )
        text = content.decode("latin-1")
        self.lines = [line for line in text.splitlines() if line.strip()]
        self.at = 0

    def rows(self, element: Element) -> list[Rows]:
        """Return the rows of an element in groups of equal length of their lists."""
        lines = self.lines[self.at : self.at + element.count]
        if len(lines) < element.count:
            raise _broken("it ends before its last row")
        self.at += element.count
        counts = np.array([len(line.split()) for line in lines])
        groups = []
        for count in np.unique(counts):
            which = np.flatnonzero(counts == count)
            groups.append(self._table(element, text_rows([lines[k] for k in which], "row")))
        return groups or [np.zeros(0, np.dtype([(n, "f8") for n, _, _ in element.columns]))]

    def _table(self, element: Element, numbers: Floats) -> Rows:
        """Return rows of numbers as columns by name; one list a row, as all writers have it."""
        fields: list[Any] = []
        wanted, at = list[slice](), 0
        spare = numbers.shape[1] - sum(1 for _ in element.columns)
        if spare < 0 or len(element.lists) > 1:
            raise _broken("its rows do not hold what its header says")
        for name, count, _ in element.columns:
            length = spare if count else 1
            if count and not (numbers[:, at] == length).all():
                raise _broken("a face does not hold as many corners as it says")
            at += 1 if count else 0
            fields.append((name, "f8", (length,)) if count else (name, "f8"))
            wanted.append(slice(at, at + length))
            at += length
        rows = np.zeros(len(numbers), np.dtype(fields))
        for (name, *_), columns in zip(fields, wanted, strict=True):
            rows[name] = numbers[:, columns] if rows[name].ndim == 2 else numbers[:, columns.start]
        return rows
