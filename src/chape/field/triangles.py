"""Meshes that other programs wrote, read as loose triangles from STL files.

An STL file carries no unit and need not be closed; nothing here relies on either. Limits are there
so that a damaged or foreign file ends in a sentence, never in a full memory.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.field.grid import Floats

#: A mesh of more triangles is no part that a router cuts.
MOST_TRIANGLES = 4_000_000
#: A larger file is not read: 4 million triangles take 200 MB in binary, text five times that.
LARGEST_STL = 500_000_000
#: Coordinates beyond this are a damaged file, mm.
FARTHEST = 1e5

_HEADER, _FACET = 84, 50
_VERTEX = re.compile(rb"\bvertex\s+(\S+)\s+(\S+)\s+(\S+)")


def triangles_of_stl(content: bytes) -> Floats:
    """Return (n, 3, 3) corners of the triangles of an STL file, binary or text.

    Raises:
        InputError: it is neither, damaged, empty, far too large, or a coordinate is no number.
    """
    corners = _binary(content) if _is_binary(content) else _text(content)
    if len(corners) == 0:
        raise InputError("the STL file holds no triangle", mend="Write the mesh again")
    if len(corners) > MOST_TRIANGLES:
        raise InputError(
            f"the mesh has {len(corners)} triangles, and at most {MOST_TRIANGLES} are read",
            mend="Write it more coarsely",
        )
    if not (np.abs(corners) <= FARTHEST).all():
        raise InputError(
            f"the mesh holds a coordinate that is no number, or lies beyond {FARTHEST:g} mm",
            mend="Write the mesh again, in mm",
        )
    return corners


def _is_binary(content: bytes) -> bool:
    """Say whether the length fits the count that a binary file carries."""
    if len(content) < _HEADER:
        return False
    count = int.from_bytes(content[80:_HEADER], "little")
    if len(content) == _HEADER + _FACET * count:
        return True
    # Some writers add bytes at the end. The count of a text would be made of its letters.
    return not content[:_HEADER].isascii() or min(content[:_HEADER]) < 9


def _binary(content: bytes) -> Floats:
    count = int.from_bytes(content[80:_HEADER], "little")
    if len(content) < _HEADER + _FACET * count:
        raise InputError(
            f"the STL file says it holds {count} triangles and ends before the last",
            mend="Copy the file again",
        )
    if count > MOST_TRIANGLES:
        return np.zeros((count, 0, 0))  # counted, not read
    facet = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    facets = np.frombuffer(content, facet, count, _HEADER)
    return facets["corners"].astype(np.float64)


def _text(content: bytes) -> Floats:
    if not content[:80].lstrip().startswith(b"solid"):
        raise InputError("this is no STL file, binary or text", mend="Write the mesh as STL")
    numbers = np.fromiter(_numbers(content), dtype=np.float64)
    whole = numbers.size % 9 == 0 and content.count(b"endfacet") * 9 == numbers.size
    if not whole or not content.rstrip().splitlines()[-1:][0].lstrip().startswith(b"endsolid"):
        raise InputError("the STL file ends inside a triangle", mend="Copy the file again")
    return numbers.reshape(-1, 3, 3)


def _numbers(content: bytes) -> Iterator[float]:
    for number, match in enumerate(_VERTEX.finditer(content), start=1):
        try:
            yield from (float(word) for word in match.groups())
        except ValueError:
            raise InputError(
                f"vertex {number} of the STL file is not three numbers", mend="Write the mesh again"
            ) from None
