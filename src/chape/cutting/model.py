"""Setups, operations and programs.

A setup is one clamping of one piece on one machine. Its frame is the machine frame of its work
offset: origin at the front-left corner of the piece, z = 0 at the flange plane (at the underside,
which faces up, when the piece lies on its back).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from chape.catalog.model import CutMaterial, Cutter, Machine
    from chape.cutting.grip import Grip
    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.field.outline import Outline
    from chape.tooling.model import Groove, RoundHole


class OperationKind(StrEnum):
    """What an operation does."""

    ROUGH = "rough"
    FINISH = "finish"
    GROOVE = "groove"
    DRILL = "drill"
    BORE = "bore"
    SLOT = "slot"
    OUTLINE = "outline"


class Motion(IntEnum):
    """How a move gets to its end; the numbers are the G words of RS-274."""

    RAPID = 0
    LINE = 1
    CLOCKWISE = 2
    COUNTER_CLOCKWISE = 3


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """A run of cutter moves, tip coordinates in the setup's frame.

    Attributes:
        motion: (n,) int8 of ``Motion``.
        end: (n, 3) where each move ends, mm.
        centre: (n, 2) arc centre in the plane, mm; NaN for rapids and lines.
        feed: (n,) mm/min; NaN for rapids.
    """

    motion: npt.NDArray[np.int8]
    end: Floats
    centre: Floats
    feed: Floats

    @classmethod
    def joined(cls, parts: list[Moves]) -> Moves:
        """Return the parts one after the other."""
        if not parts:
            none = np.empty((0,))
            return cls(np.empty((0,), np.int8), np.empty((0, 3)), np.empty((0, 2)), none)
        return cls(
            np.concatenate([part.motion for part in parts]),
            np.concatenate([part.end for part in parts]),
            np.concatenate([part.centre for part in parts]),
            np.concatenate([part.feed for part in parts]),
        )


@dataclass(frozen=True, slots=True)
class KeepOut:
    """An upright post no cutter or holder may enter: a screw head.

    Attributes:
        x, y, radius, z_top: mm.
        after_stop: the post stands there only after the program's stop (screws put in by hand).
    """

    x: float
    y: float
    radius: float
    z_top: float
    after_stop: bool


@dataclass(frozen=True, slots=True, eq=False)
class Setup:
    """One clamping: what is there before, what may be there after.

    Attributes:
        name: file stem of its program ("mould-top").
        title: what a person reads.
        offset: work offset word ("G54").
        machine: the router.
        cutters: by number, those that may be called.
        stock: top of the material before cutting, over a grid that covers the piece.
        target: no cut may go below it, except in ``holes`` and ``grooves``.
        z_bottom: underside of the piece, mm.
        holes: drilled or bored in this setup.
        grooves: cut in this setup.
        outlines: parts trimmed free in this setup, counter-clockwise; the inside of each is the
            finished part, which stays uncut. Empty for moulds and fixtures.
        sheet_gauge: thickness of the formed sheet lying on ``target`` in a trim setup, mm; 0 for
            solid pieces.
        keep_outs: screw heads.
        flipped: the piece lies on its back, turned over left to right (x -> width - x).
        width, depth: of the piece, mm.
        spring_pass: outlines are cut a second time at full depth, for their edge's sake.
        material: of the piece; None where it is not known.
        grip: how hard it is held; None where it is not known.
        fixture: the one the program is for, in words; empty for a plate without one.
        scallop: ridge that may stay between two lines of the finishing cutter, mm.
        left, front: the piece's front-left corner, mm; the origin for all that chape plans itself.
    """

    name: str
    title: str
    offset: str
    machine: Machine
    cutters: tuple[Cutter, ...]
    stock: HeightField
    target: HeightField
    z_bottom: float
    holes: tuple[RoundHole, ...]
    grooves: tuple[Groove, ...]
    outlines: tuple[Outline, ...]
    sheet_gauge: float
    keep_outs: tuple[KeepOut, ...]
    flipped: bool
    width: float
    depth: float
    left: float = 0.0
    front: float = 0.0
    spring_pass: bool = True
    material: CutMaterial | None = None
    grip: Grip | None = None
    fixture: str = ""
    scallop: float = 0.02

    @property
    def box(self) -> tuple[float, float, float, float]:
        """The piece in the plane: x_min, y_min, x_max, y_max, mm."""
        return self.left, self.front, self.left + self.width, self.front + self.depth


@dataclass(frozen=True, slots=True, eq=False)
class Operation:
    """One pass of one cutter.

    Attributes:
        kind, title: what it does, in words.
        cutter: from the setup's rack.
        spindle: rev/min.
        moves: starts and ends at the safe height.
        stop_before: the program stops before it for a person to do ``stop_message``.
        rapid_saved: how much shorter the way between its cuts is than in the order they were
            given in, mm.
    """

    kind: OperationKind
    title: str
    cutter: Cutter
    spindle: float
    moves: Moves
    stop_before: bool = False
    stop_message: str = ""
    rapid_saved: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """The operations of one setup, in order."""

    setup: Setup
    operations: tuple[Operation, ...]

    @property
    def rapid_saved(self) -> float:
        """What the order of its cuts saves in all, mm."""
        return sum(operation.rapid_saved for operation in self.operations)


@dataclass(frozen=True, slots=True)
class PlanFigures:
    """What only the maker of a program knows, for a person to read.

    Attributes:
        rapid_saved: how much shorter the way between its cuts is than in the order they were
            given in, mm.
        surface_seconds: time of its surfaces, without grooves and holes, s.
    """

    rapid_saved: float = 0.0
    surface_seconds: float = 0.0
