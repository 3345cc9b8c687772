"""What every part of the check looks at, gathered once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.allowed import Allowed
    from chape.cutting.model import Setup
    from chape.cutting.parsed import ParsedProgram
    from chape.cutting.remove import Removal
    from chape.cutting.segments import Segments
    from chape.field.grid import Floats

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """A program, its setup, and what cutting it did.

    Attributes:
        depth: (moves,) deepest cut of each move, mm.
        holder, shank, stray: (moves,) as in ``Removal``.
    """

    setup: Setup
    program: ParsedProgram
    segments: Segments
    allowed: Allowed
    removal: Removal
    depth: Floats
    holder: Floats
    shank: Floats
    stray: Floats

    @property
    def radius(self) -> Floats:
        """(moves,) radius of the cutter in the spindle, mm; 0 where it is not in the rack."""
        of = {cutter.number: cutter.radius for cutter in self.setup.cutters}
        states = np.array([of.get(state.cutter, 0.0) for state in self.program.states])
        radius: Floats = states[self.program.state]
        return radius

    @property
    def cutting(self) -> Mask:
        """(moves,) lines and arcs."""
        return ~self.program.rapid

    def place(self, move: int) -> str:
        """Say where a move is, in words."""
        x, y, z = self.program.end[move]
        text, line = self.program.where(move)
        part = f" part {text}" if len(self.program.before) > 1 else ""
        return f"{self.setup.name}{part}, line {line}, x {x:.2f}, y {y:.2f}, z {z:.2f}"

    def worst(
        self,
        code: str,
        values: Floats,
        wrong: Mask,
        message: str,
        mend: str,
        *,
        limit: float | None = None,
        unit: str = "mm",
        severity: Severity = Severity.ERROR,
    ) -> tuple[Finding, ...]:
        """Return one finding for all moves that do the same wrong, placed at the worst of them.

        Args:
            code: of the finding.
            values: (moves,) what was measured.
            wrong: (moves,) which moves are at fault.
            message: with ``{value}`` and ``{count}`` to be filled in.
            mend: what to change.
            limit: the value it is held against.
            unit: of value and limit.
            severity: of the finding.
        """
        at = np.flatnonzero(wrong)
        if len(at) == 0:
            return ()
        move = int(at[int(np.argmax(values[at]))])
        value = float(values[move])
        return (
            Finding(
                code,
                severity,
                self.place(move),
                message.format(value=f"{value:.3f}".rstrip("0").rstrip("."), count=len(at)),
                mend,
                measured=value,
                limit=limit,
                unit=unit,
            ),
        )

    def first(
        self,
        code: str,
        wrong: Mask,
        message: str,
        mend: str,
        *,
        severity: Severity = Severity.ERROR,
    ) -> tuple[Finding, ...]:
        """Return one finding for all moves that do the same wrong, placed at the first of them."""
        at = np.flatnonzero(wrong)
        if len(at) == 0:
            return ()
        filled = message.format(count=len(at))
        count = float(len(at))
        return (Finding(code, severity, self.place(int(at[0])), filled, mend, count, 0.0, unit=""),)
