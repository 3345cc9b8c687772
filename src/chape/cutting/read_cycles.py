"""Drilling cycles G81, G82 and G83 written out into moves (NISTIR 6556, 3.5.16), and G73.

G73 pecks as G83 does, but backs off only so far that the chip breaks. How far is a setting of the
controller, no word of the text; it is taken to be what G83 stays clear by, and a hole comes out
the same whatever it is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from chape.errors import ProgramError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from chape.cutting.read_words import Block

Place = tuple[float, float, float]

#: G83 comes back down to this far above the last bottom, and G73 backs off by as much, mm (0.010
#: inch in 3.5.16.3).
PECK_CLEARANCE = 0.254


@dataclass(frozen=True, slots=True)
class CycleWords:
    """Words of a cycle, which stay while it is in force. Lengths mm, dwell in seconds."""

    z: float | None = None
    r: float | None = None
    dwell: float | None = None
    peck: float | None = None
    repeats: int = 1

    def renewed(self, block: Block, scaled: Callable[[float], float]) -> CycleWords:
        """Return the words after a line; repeats count for that line alone."""
        words = block.words
        changed = self
        if "Z" in words:
            changed = replace(changed, z=scaled(words["Z"]))
        if "R" in words:
            changed = replace(changed, r=scaled(words["R"]))
        if "P" in words:
            changed = replace(changed, dwell=words["P"])
        if "Q" in words:
            changed = replace(changed, peck=scaled(words["Q"]))
        repeats = block.whole("L") if "L" in words else 1
        if repeats < 1:
            raise ProgramError(block.line, "L, the number of repeats, must be 1 or more")
        return replace(changed, repeats=repeats)


@dataclass(frozen=True, slots=True)
class Cycle:
    """One line's worth of drilling.

    Attributes:
        kind: "G73", "G81", "G82" or "G83".
        incremental: G91 rather than G90.
        retract_to_start: G98 rather than G99.
        shift: added to heights as written, mm (G92).
    """

    kind: str
    words: CycleWords
    incremental: bool
    retract_to_start: bool
    shift: float

    def written_out(
        self, place: Place, next_hole: Callable[[Place], tuple[float, float]], block: Block
    ) -> Iterator[tuple[str, tuple[float, ...]]]:
        """Yield ("G0" or "G1", end) for each move, and ("dwell", (seconds,)).

        Args:
            place: where the cutter stands, mm.
            next_hole: from a place to the x and y of the hole the line asks for.
            block: the line.

        Raises:
            ProgramError: a word of the cycle is missing, or its bottom is above its R plane.
        """
        r, bottom = self._planes(place[2], block)
        low = max(place[2], r)
        if place[2] < r:
            place = (place[0], place[1], r)
            yield "G0", place
        back = low if self.retract_to_start else r
        for _ in range(self.words.repeats):
            x, y = next_hole(place)
            yield "G0", (x, y, place[2])
            if place[2] != r:
                yield "G0", (x, y, r)
            yield from self._hole(x, y, r, bottom, block)
            yield "G0", (x, y, back)
            place = (x, y, back)

    def _planes(self, z: float, block: Block) -> tuple[float, float]:
        """Return the heights of the R plane and of the hole's bottom."""
        words = self.words
        if words.z is None or words.r is None:
            raise ProgramError(block.line, f"{self.kind} needs Z and R")
        r = z + words.r if self.incremental else words.r + self.shift
        bottom = r + words.z if self.incremental else words.z + self.shift
        if bottom > r:
            raise ProgramError(block.line, "the bottom of the hole is above its R plane")
        return r, bottom

    def _hole(
        self, x: float, y: float, r: float, bottom: float, block: Block
    ) -> Iterator[tuple[str, tuple[float, ...]]]:
        """Yield the moves from the R plane to the bottom, without the retract."""
        if self.kind not in {"G73", "G83"}:
            yield "G1", (x, y, bottom)
            if self.kind == "G82":
                if self.words.dwell is None or self.words.dwell < 0:
                    raise ProgramError(block.line, "G82 needs P, how long to wait")
                yield "dwell", (self.words.dwell,)
            return
        peck = self.words.peck
        if peck is None or peck <= 0:
            raise ProgramError(block.line, f"{self.kind} needs Q, the depth of a peck, above 0")
        depth = r - peck
        while depth > bottom:
            yield "G1", (x, y, depth)
            if self.kind == "G83":
                yield "G0", (x, y, r)
            yield "G0", (x, y, min(r, depth + PECK_CLEARANCE))
            depth -= peck
        yield "G1", (x, y, bottom)
