"""The printed sheet a knife is photographed on: markers of known place round an empty field.

Each marker is a black square with sixteen cells that say its number, from an open dictionary of
such squares. Up to four sheets lie side by side for a long knife, each with numbers of its own;
how they lie is worked out from the photograph.

Sheet frame: origin at the lower left corner of the paper in landscape, x right, y up, mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats


class Paper(StrEnum):
    """The papers a sheet is printed on."""

    A4 = "a4"
    LETTER = "letter"


#: Width and height in landscape, mm (ISO 216; ANSI/ASME Y14.1).
SIZES = {Paper.A4: (297.0, 210.0), Paper.LETTER: (279.4, 215.9)}

#: Markers of one sheet: along each long side, and between them along each short side.
ALONG, BESIDE = 8, 4
PER_SHEET = 2 * ALONG + 2 * BESIDE

#: Sheets with numbers of their own.
SHEETS = 4

#: White rim that no printer prints on, side of a marker, white round it, mm.
RIM, SIDE, ROUND = 8.0, 16.0, 4.0

#: Length of the bar that is measured after printing, mm.
BAR = 200.0


@dataclass(frozen=True, slots=True, eq=False)
class ReferenceSheet:
    """One printed sheet.

    Attributes:
        paper, index: which paper, and which of the sheets side by side, from 0.
        size: width and height, mm.
        corners: marker number -> (4, 2) corners, mm: upper left, upper right, lower right, lower
            left as printed.
        field: x_min, y_min, x_max, y_max of the empty field, mm.
        bar: x and y of the check bar's ends, (2, 2), mm.
    """

    paper: Paper
    index: int
    size: tuple[float, float]
    corners: dict[int, Floats]
    field: tuple[float, float, float, float]
    bar: Floats

    def scaled(self, bar_length: float) -> ReferenceSheet:
        """Return the sheet as it was printed, from the measured length of its bar, mm.

        Raises:
            InputError: the bar is nowhere near its length.
        """
        factor = bar_length / BAR
        if not 0.9 <= factor <= 1.1:
            raise InputError(
                f"a bar of {bar_length:g} mm was measured, where {BAR:g} mm are printed",
                mend="Measure the long bar once more, and print the sheet at its true size",
                field="bar",
            )
        corners = {number: corner * factor for number, corner in self.corners.items()}
        width, height = self.size
        x_min, y_min, x_max, y_max = self.field
        return ReferenceSheet(
            self.paper,
            self.index,
            (width * factor, height * factor),
            corners,
            (x_min * factor, y_min * factor, x_max * factor, y_max * factor),
            self.bar * factor,
        )


def reference_sheet(paper: Paper, index: int = 0) -> ReferenceSheet:
    """Return one of the sheets that may lie side by side.

    Raises:
        InputError: there is no such sheet.
    """
    if not 0 <= index < SHEETS:
        raise InputError(
            f"there is no sheet {index + 1}", mend=f"Use sheets 1 to {SHEETS}", field="sheet"
        )
    width, height = SIZES[paper]
    low, right, top = RIM + SIDE / 2, width - RIM - SIDE / 2, height - RIM - SIDE / 2
    along = np.linspace(low, right, ALONG)
    beside = np.linspace(low, top, BESIDE + 2)[1:-1]
    middles = [(x, top) for x in along]
    middles += [(x, low) for x in along]
    middles += [(low, y) for y in beside]
    middles += [(right, y) for y in beside]
    half = SIDE / 2
    square = np.array([(-half, half), (half, half), (half, -half), (-half, -half)])
    first = PER_SHEET * index
    corners = {first + n: np.array(middle) + square for n, middle in enumerate(middles)}
    inner = RIM + SIDE + ROUND
    start = (width - BAR) / 2
    bar = np.array([(start, inner - 1.6), (start + BAR, inner - 1.6)])
    field = (inner, inner, width - inner, height - inner)
    return ReferenceSheet(paper, index, (width, height), corners, field, bar)


def marker_cells(number: int) -> npt.NDArray[np.bool_]:
    """Return which of a marker's 6 by 6 cells are black, from its upper left on; the rim is."""
    import cv2  # noqa: PLC0415 - a large library that most commands never need

    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    drawn = cv2.aruco.generateImageMarker(dictionary, number, 6, borderBits=1)
    black: npt.NDArray[np.bool_] = np.asarray(drawn) == 0
    return black
