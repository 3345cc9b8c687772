"""Where the axis words of a line lead: units, distance mode and G92 (NISTIR 6556, 3.5.18)."""

from __future__ import annotations

from math import inf, isfinite, nan
from typing import TYPE_CHECKING

from chape.errors import ProgramError
from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from chape.cutting.read_words import Block

Place = tuple[float, float, float]

_NOWHERE = (0.0, 0.0, 0.0)


class Places:
    """How places are written, as far as the program has said.

    Attributes:
        inch: lengths are inches (G20).
        incremental: axis words are steps (G91).
        shift: what is added to a place as written to find it in the work offset (G92), mm.
    """

    def __init__(self) -> None:
        self.inch = False
        self.incremental = False
        self.shift: Place = _NOWHERE
        self._kept: Place = _NOWHERE

    def scaled(self, value: float) -> float:
        """Return a length as written in mm."""
        return value * MM_PER_INCH if self.inch else value

    def target(self, here: Place, x: float | None, y: float | None, z: float | None) -> Place:
        """Return where the axis words of a line lead from ``here``, mm."""
        if self.inch:
            x = None if x is None else x * MM_PER_INCH
            y = None if y is None else y * MM_PER_INCH
            z = None if z is None else z * MM_PER_INCH
        if self.incremental:
            return (
                here[0] + (0.0 if x is None else x),
                here[1] + (0.0 if y is None else y),
                here[2] + (0.0 if z is None else z),
            )
        shift = self.shift
        return (
            here[0] if x is None else x + shift[0],
            here[1] if y is None else y + shift[1],
            here[2] if z is None else z + shift[2],
        )

    def preset(self, here: Place, block: Block) -> None:
        """Call the place where the cutter stands by other numbers (G92).

        Raises:
            ProgramError: nobody knows where it stands.
        """
        shift = list(self.shift)
        for axis, letter in enumerate("XYZ"):
            if letter in block.words:
                shift[axis] = here[axis] - self.scaled(block.words[letter])
        if not all(isfinite(part) for part in shift):
            raise ProgramError(
                block.line, "G92 where the cutter's place is not known would move it unseen"
            )
        self.shift = self._kept = (shift[0], shift[1], shift[2])

    def undo_preset(self, word: str | None) -> None:
        """Undo G92 (G92.2), forget it (G92.1), or bring it back (G92.3)."""
        if word in ("G92.1", "G92.2"):
            self.shift = _NOWHERE
        if word == "G92.1":
            self._kept = _NOWHERE
        elif word == "G92.3":
            self.shift = self._kept


def machine_target(here: Place, words: dict[str, float]) -> Place:
    """Return where a move in machine coordinates (G53) leads, as far as it can be known.

    Z0 is the top of the travel. Any other place has no known relation to the work offset.
    """
    x = nan if "X" in words else here[0]
    y = nan if "Y" in words else here[1]
    z = here[2]
    if "Z" in words:
        z = inf if words["Z"] == 0 else nan
    return x, y, z
