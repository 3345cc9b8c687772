"""A workshop alphabet of single lines, for marks cut by a round-nosed cutter: our own drawing.

Letters are six units high from the base line, some units wide, and made of lines and arcs. Small
letters are written as capitals. Accents stand on or under their letter.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from chape.field.grid import Floats

#: Height of capitals, units.
CAP = 6.0

#: Between two letters, and a word's space, units.
LETTER_GAP, SPACE = 2.0, 2.4

#: Arcs are made of chords this long in angle, degrees.
CHORD = 9.0

#: (x, y) corners of a line; an arc is (x, y of its middle, radii along x and y, from, to degrees).
Corner = tuple[float, float]
Arc = tuple[float, float, float, float, float, float]
Part = tuple[Corner | Arc, ...]

_BOWL: Part = ((0, 6), (2.2, 6), (2.2, 4.4, 1.8, 1.6, 90, -90), (0, 2.8))
_RING: Part = ((2.2, 3, 2.2, 3, 90, 450),)

#: Letter -> its strokes.
STROKES: dict[str, tuple[Part, ...]] = {
    "A": (((0, 0), (2.1, 6), (4.2, 0)), ((0.7, 2), (3.5, 2))),
    "B": (
        ((0, 0), (0, 6), (2.1, 6), (2.1, 4.6, 1.5, 1.4, 90, -90), (0, 3.2)),
        ((2.1, 3.2), (2.1, 1.6, 1.9, 1.6, 90, -90), (0, 0)),
    ),
    "C": (((2.3, 3, 2.3, 3, 48, 312),),),
    "D": (((0, 0), (0, 6), (1.4, 6), (1.4, 3, 2.7, 3, 90, -90), (0, 0)),),
    "E": (((3.4, 6), (0, 6), (0, 0), (3.4, 0)), ((0, 3.1), (2.7, 3.1))),
    "F": (((3.4, 6), (0, 6), (0, 0)), ((0, 3.1), (2.7, 3.1))),
    "G": (((2.3, 3, 2.3, 3, 48, 330), (4.3, 2.9), (2.6, 2.9)),),
    "H": (((0, 0), (0, 6)), ((4, 0), (4, 6)), ((0, 3.1), (4, 3.1))),
    "I": (((0, 0), (0, 6)),),
    "J": (((3, 6), (3, 1.6), (1.5, 1.6, 1.5, 1.6, 0, -160)),),
    "K": (((0, 0), (0, 6)), ((3.8, 6), (0, 2.4)), ((1.3, 3.6), (4, 0))),
    "L": (((0, 6), (0, 0), (3.2, 0)),),
    "M": (((0, 0), (0, 6), (2.5, 1.6), (5, 6), (5, 0)),),
    "N": (((0, 0), (0, 6), (4, 0), (4, 6)),),
    "O": (_RING,),
    "P": (((0, 0), (0, 6)), _BOWL),
    "Q": (_RING, ((2.8, 1.5), (4.6, -0.3))),
    "R": (((0, 0), (0, 6)), _BOWL, ((1.9, 2.8), (4, 0))),
    "S": (((2, 4.5, 1.8, 1.5, 35, 270), (2, 1.5, 2, 1.5, 90, -145)),),
    "T": (((0, 6), (4, 6)), ((2, 6), (2, 0))),
    "U": (((0, 6), (0, 2), (2, 2, 2, 2, 180, 360), (4, 6)),),
    "V": (((0, 6), (2.1, 0), (4.2, 6)),),
    "W": (((0, 6), (1.5, 0), (3, 4.6), (4.5, 0), (6, 6)),),
    "X": (((0, 0), (4, 6)), ((0, 6), (4, 0))),
    "Y": (((0, 6), (2.1, 2.9), (4.2, 6)), ((2.1, 2.9), (2.1, 0))),
    "Z": (((0, 6), (4, 6), (0, 0), (4, 0)),),
    "0": (((1.9, 3, 1.9, 3, 90, 450),),),
    "1": (((0, 4.7), (1.5, 6), (1.5, 0)),),
    "2": (((1.9, 4.2, 1.8, 1.8, 165, -35), (0, 0), (3.9, 0)),),
    "3": (((1.8, 4.55, 1.6, 1.45, 145, -90), (1.8, 1.55, 1.9, 1.55, 90, -145)),),
    "4": (((2.9, 0), (2.9, 6), (0, 1.7), (4, 1.7)),),
    "5": (((3.5, 6), (0.5, 6), (0.3, 3.3), (1.8, 2, 2, 2, 139, -145)),),
    "6": (((1.9, 1.9, 1.9, 1.9, 180, 540),), ((3.6, 1.9, 3.6, 4.1, 180, 98),)),
    "7": (((0, 6), (3.8, 6), (1.2, 0)),),
    "8": (((1.9, 4.6, 1.6, 1.4, 90, 450),), ((1.9, 1.6, 1.9, 1.6, 90, 450),)),
    "9": (((1.9, 4.1, 1.9, 1.9, 0, 360),), ((0.2, 4.1, 3.6, 4.1, 0, -82),)),
    "-": (((0.2, 2.9), (2.2, 2.9)),),
    "+": (((0.2, 2.9), (3.2, 2.9)), ((1.7, 1.4), (1.7, 4.4))),
    ".": (((0, 0), (0, 0)),),
    ",": (((0.5, 0.2), (0, -1)),),
    ":": (((0, 0.6), (0, 0.6)), ((0, 3.8), (0, 3.8))),
    "/": (((0, -0.4), (2.4, 6.4)),),
    "'": (((0, 6), (0, 4.6)),),
    "!": (((0, 6), (0, 2.2)), ((0, 0), (0, 0))),
    "&": (((4.2, 0), (0.9, 4), (1.9, 4.8, 1.1, 1.2, 200, -30), (0.4, 2.6)),
          ((1.7, 1.6, 1.7, 1.6, 140, 325), (4.2, 2.4))),
}  # fmt: skip

#: Accent -> its strokes, about the middle of a letter, above its six units or below the line.
ACCENTS: dict[str, tuple[Part, ...]] = {
    "\u0308": (((-1.1, 7.6), (-1.1, 7.6)), ((1.1, 7.6), (1.1, 7.6))),
    "\u0301": (((-0.3, 7.2), (0.8, 8.4)),),
    "\u0300": (((0.3, 7.2), (-0.8, 8.4)),),
    "\u0302": (((-1.1, 7.3), (0, 8.3), (1.1, 7.3)),),
    "\u030c": (((-1.1, 8.3), (0, 7.3), (1.1, 8.3)),),
    "\u0303": (((-1.3, 7.4), (-0.5, 8), (0.5, 7.4), (1.3, 8)),),
    "\u030a": (((0, 7.9, 0.8, 0.8, 90, 450),),),
    "\u0327": (((0.2, 0), (0.4, -0.9), (-0.4, -1.3)),),
}


def unwritten(text: str) -> list[str]:
    """Return the characters of a text that the alphabet has no letter for."""
    known = {" ", *STROKES, *ACCENTS}
    plain = unicodedata.normalize("NFD", text.upper())
    return sorted({sign for sign in plain if sign not in known})


def written(text: str) -> list[Floats]:
    """Return a text as strokes (n, 2), its capitals of height 1 on the line y = 0, from x = 0.

    A stroke of one place twice is a dot.

    Raises:
        KeyError: the alphabet lacks one of its characters (``unwritten``).
    """
    lines: list[Floats] = []
    pen, middle = 0.0, 0.0
    for sign in unicodedata.normalize("NFD", text.upper()):
        if sign == " ":
            pen += SPACE
            continue
        if sign in ACCENTS:
            lines += [_points(part) + np.array([middle, 0.0]) for part in ACCENTS[sign]]
            continue
        letter = [_points(part) for part in STROKES[sign]]
        lines += [line + np.array([pen, 0.0]) for line in letter]
        wide = max(float(line[:, 0].max()) for line in letter)
        middle = pen + wide / 2
        pen += wide + LETTER_GAP
    return [line / CAP for line in lines]


def _points(part: Part) -> Floats:
    points: list[tuple[float, float]] = []
    for corner in part:
        if len(corner) == 2:
            points.append(corner)
            continue
        x, y, across, along, first, last = corner
        count = max(2, round(abs(last - first) / CHORD)) + 1
        angles = np.radians(np.linspace(first, last, count))
        points += zip(x + across * np.cos(angles), y + along * np.sin(angles), strict=True)
    return np.array(points, dtype=np.float64)
