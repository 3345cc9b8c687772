"""Moves as words: what repeats is left out, and every number carries its point.

Some controllers read X12 as twelve thousandths. Arc centres are increments from the start as it
was written, so that rounding does not pull the two radii apart.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from chape import tolerances
from chape.cutting.model import Motion, OperationKind
from chape.cutting.write_cycles import hole_at
from chape.errors import CannotMakeError
from chape.units import LengthUnit

#: How far the two radii of an arc may differ, in the text's own unit (NISTIR 6556, 3.5.3.2).
RADII = {LengthUnit.MM: tolerances.ARC_RADII, LengthUnit.INCH: 0.0002}

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.catalog.dialect import Dialect
    from chape.cutting.model import Moves, Operation
    from chape.cutting.write_cycles import DrilledHole


class Pen:
    """Remembers the words in force, and writes what changes."""

    def __init__(self, dialect: Dialect) -> None:
        self.scale = 10**dialect.decimals / dialect.unit.in_mm
        self.decimals = dialect.decimals
        self.in_mm = dialect.unit.in_mm
        self.cycles = dialect.cycles
        self.breaks_chips = dialect.chip_breaking_cycle
        self.arc_limit = RADII[dialect.unit] * 10**dialect.decimals
        self.forget()

    def forget(self) -> None:
        """Take nothing for granted: a person may have moved the machine."""
        self.place: list[int | None] = [None, None, None]
        self.motion: int | None = None
        self.feed: float | None = None

    def number(self, steps: int) -> str:
        """Write a length given in last decimals, without the zeros that say nothing."""
        text = f"{abs(steps):0{self.decimals + 1}d}"
        whole, part = text[: -self.decimals], text[-self.decimals :].rstrip("0")
        return f"{'-' if steps < 0 else ''}{whole}.{part or '0'}"

    def moves(self, operation: Operation) -> Iterator[str]:
        """Yield the lines of an operation's moves."""
        run = operation.moves
        _refuse_unfinished(operation)
        # Rounded once for all: the text is written in whole steps of the last decimal.
        ends = np.rint(run.end * self.scale).astype(np.int64).tolist()
        centres = np.nan_to_num(run.centre * self.scale).tolist()
        feeds = (run.feed / self.in_mm).tolist()
        motions = run.motion.tolist()
        cycles = self.cycles and operation.kind is OperationKind.DRILL
        at = 0
        while at < len(motions):
            if motions[at] == Motion.RAPID:
                yield from self._rapid(ends[at], operation)
            else:
                hole = hole_at(motions, ends, feeds, at, self._known()) if cycles else None
                if hole is not None:
                    yield from self._drilled(hole)
                    at = hole.after
                    continue
                line = self._cut(motions[at], ends[at], centres[at], feeds[at], operation)
                if line:
                    yield line
            at += 1

    def _known(self) -> list[int]:
        """Return the place, which is known once the first rapids of an operation are written."""
        return [0 if value is None else value for value in self.place]

    def _drilled(self, hole: DrilledHole) -> Iterator[str]:
        """Yield cycles that begin and end where the drill stands."""
        x, y, _ = self._known()
        pecking = "G73" if self.breaks_chips else "G83"
        stretches = hole.stretches if self.breaks_chips else (hole.in_one,)
        for stretch in stretches:
            # Up to where the drill stood before the first: a later one starts down in the hole.
            words = f"G98 {pecking if stretch.pecks > 1 else 'G81'}"
            words += f" X{self.number(x)} Y{self.number(y)} Z{self.number(stretch.bottom)}"
            words += f" R{self.number(stretch.start)}"
            if stretch.pecks > 1:
                words += f" Q{self.number(stretch.peck)}"
            yield f"{words} F{stretch.feed:.1f}"
        yield "G80"
        self.motion, self.feed = None, stretches[-1].feed

    def _rapid(self, end: list[int], operation: Operation) -> Iterator[str]:
        x, y, z = self.place
        if None in self.place:
            # Where the machine stands is unknown: up first, then across.
            yield f"G0 Z{self.number(end[2])}"
            yield f"X{self.number(end[0])} Y{self.number(end[1])}"
        else:
            words = self._words(end)
            if not words:
                return
            if z != end[2] and (x, y) != (end[0], end[1]):
                raise CannotMakeError(
                    f'a rapid of "{operation.title}" mixes height with travel',
                    mend="Report this as a fault of chape",
                )
            yield f"G0 {words}" if self.motion != Motion.RAPID else words
        self.place, self.motion = list(end), Motion.RAPID

    def _cut(
        self, motion: int, end: list[int], centre: list[float], feed: float, operation: Operation
    ) -> str:
        words = self._words(end)
        if motion in {Motion.CLOCKWISE, Motion.COUNTER_CLOCKWISE}:
            if self.place[:2] == end[:2]:
                # An arc too short to be told from its start would read as a full circle.
                motion = Motion.LINE
            else:
                words = f"{words} {self._centre(end, centre, operation)}"
        if not words:
            return ""
        parts = [] if motion == self.motion else [f"G{motion}"]
        parts.append(words)
        if feed != self.feed:
            parts.append(f"F{feed:.1f}")
            self.feed = feed
        self.place, self.motion = list(end), motion
        return " ".join(parts)

    def _words(self, end: list[int]) -> str:
        changed = zip("XYZ", self.place, end, strict=True)
        return " ".join(f"{letter}{self.number(b)}" for letter, a, b in changed if a != b)

    def _centre(self, end: list[int], centre: list[float], operation: Operation) -> str:
        x, y, _ = self._known()
        i, j = round(centre[0] - x), round(centre[1] - y)
        radii = hypot(i, j), hypot(end[0] - x - i, end[1] - y - j)
        if abs(radii[0] - radii[1]) > self.arc_limit:
            raise CannotMakeError(
                f'an arc of "{operation.title}" starts {radii[0] / self.scale:.4f} mm and ends '
                f"{radii[1] / self.scale:.4f} mm from its centre",
                mend="Report this as a fault of chape",
            )
        return f"I{self.number(i)} J{self.number(j)}"


def _refuse_unfinished(operation: Operation) -> None:
    """No move without a number may reach a machine."""
    run: Moves = operation.moves
    rapid = run.motion == Motion.RAPID
    arc = run.motion >= Motion.CLOCKWISE
    finite = (
        np.isfinite(run.end).all()
        and np.isfinite(run.feed[~rapid]).all()
        and (run.feed[~rapid] > 0).all()
        and np.isfinite(run.centre[arc]).all()
        and np.isfinite(operation.spindle)
    )
    if not finite:
        raise CannotMakeError(
            f'"{operation.title}" holds a move without a place, a centre or a feed',
            mend="Report this as a fault of chape",
        )
