"""Small setups and hand-written programs for the checker's tests."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chape.catalog.model import Cutter, CutterKind, Machine
from chape.cutting.check import Verdict, check_program
from chape.cutting.model import KeepOut, Setup
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.outline import Outline
from chape.tooling.model import Groove, RoundHole


def cutter(number: int, kind: CutterKind, diameter: float, **changes: float) -> Cutter:
    figures = {
        "corner": diameter / 2 if kind is CutterKind.BALL else 0.0,
        "flute_length": 20.0,
        "stick_out": 30.0,
        "shank_diameter": diameter,
        "holder_diameter": 20.0,
    }
    return Cutter.model_validate(
        {
            "number": number,
            "name": f"{diameter:g} mm {kind}",
            "kind": kind,
            "diameter": diameter,
            "flutes": 2,
            **figures,
            **changes,
        }
    )


BALL = cutter(1, CutterKind.BALL, 6.0)
FLAT = cutter(2, CutterKind.FLAT, 6.0)
BULL = cutter(3, CutterKind.BULL_NOSE, 6.0, corner=1.0)
DRILL = cutter(4, CutterKind.DRILL, 3.0, point_angle=118.0)
SMALL = cutter(5, CutterKind.FLAT, 3.0)
RACK = (BALL, FLAT, BULL, DRILL, SMALL)

ROUTER = Machine(
    name="test-router",
    title="Test router",
    travel=(600, 400, 120),
    rapid=8000,
    feed_most=5000,
    spindle_least=6000,
    spindle_most=24000,
    acceleration=400,
    tool_changer=True,
    dialect="generic",
    safe_height=5,
)


def block_setup(
    *, top: float = 2.0, target: float = 0.0, size: float = 40.0, spacing: float = 0.25
) -> Setup:
    """A block whose top is to be cut level at ``target``."""
    grid = Grid.over(0, 0, size, size, spacing)
    return Setup(
        name="block",
        title="Block",
        offset="G54",
        machine=ROUTER,
        cutters=RACK,
        stock=HeightField.flat(grid, top),
        target=HeightField.flat(grid, target),
        z_bottom=-20.0,
        holes=(),
        grooves=(),
        outlines=(),
        sheet_gauge=0.0,
        keep_outs=(),
        flipped=False,
        width=size,
        depth=size,
    )


def start(number: int, *, offset: str = "G54", spindle: str = "S12000 M3") -> list[str]:
    """The head of a program with one cutter."""
    return [
        "G17 G21 G40 G49 G80 G90 G94",
        offset,
        f"T{number} M6",
        spindle,
        f"G43 H{number}",
        "G0 Z10",
    ]


END = ["G0 Z10", "M5", "M30"]


def text_of(*parts: list[str]) -> str:
    return "\n".join(line for part in parts for line in part) + "\n"


def milled(z: float, size: float = 40.0, step: float = 2.0) -> list[str]:
    """Lines over a whole square at one height, entered and left outside of it."""
    lines = ["G0 X-5 Y0", f"G0 Z{z + 5}", f"G1 Z{z} F600"]
    left = True
    for y in np.arange(0, size + 1e-9, step):
        lines.append(f"G1 Y{y:.3f} F2000")
        lines.append(f"X{size + 5 if left else -5:.3f}")
        left = not left
    return lines


def faced(number: int = 2, z: float = 0.0, size: float = 40.0) -> list[str]:
    """A whole program but its end: the block cut level."""
    return [*start(number), *milled(z, size)]


def codes(verdict: Verdict) -> set[str]:
    return {finding.code for finding in verdict.findings}


def found(text: str, setup: Setup) -> set[str]:
    return codes(check_program(text, setup))


def trim_sheet(*, after_stop: bool = True) -> Setup:
    """Sheet of 2 mm on a fixture with a relief groove round one square part and two holes."""
    grid = Grid.over(0, 0, 60, 60, 0.25)
    x, y = grid.mesh()
    square = np.maximum(np.abs(x - 30), np.abs(y - 30))
    seat = np.where((square > 14) & (square < 24), -2.0, 0.0)
    corners = np.array([[15.0, 15.0], [45.0, 15.0], [45.0, 45.0], [15.0, 45.0]])
    holes = tuple(RoundHole(px, 30.0, 6.4, 2.0, -0.3, "eyelet") for px in (22.0, 38.0))
    posts = tuple(KeepOut(hole.x, hole.y, 5.0, 5.0, after_stop) for hole in holes)
    return replace(
        block_setup(),
        name="trim",
        stock=HeightField.flat(grid, 2.0),
        target=HeightField(grid, seat),
        holes=holes,
        outlines=(Outline(corners, np.zeros(4)),),
        sheet_gauge=2.0,
        keep_outs=posts,
        width=60.0,
        depth=60.0,
    )


def bored(hole: RoundHole, radius: float = 3.0, bottom: float = -0.3) -> list[str]:
    """A helix that opens a hole with a cutter of the radius."""
    r = hole.diameter / 2 - radius
    x, y = hole.x, hole.y
    return [
        "G0 Z10",
        f"X{x + r:.3f} Y{y:.3f}",
        "Z2.5",
        "G1 Z2.1 F300",
        f"G3 X{x + r:.3f} Y{y:.3f} Z{bottom} I{-r:.3f} J0 F400",
        f"G3 X{x + r:.3f} Y{y:.3f} I{-r:.3f} J0",
        f"G1 X{x:.3f}",
        "G0 Z10",
    ]


def square_cut(low: float, high: float, z: float = -1.0) -> list[str]:
    """Once round a square, outside of it, with a ramp that is cut again."""
    return [
        "G0 Z10",
        f"X{low} Y{low}",
        "Z2.5",
        "G1 Z2 F300",
        f"X{high} Z{z} F1500",
        f"Y{high}",
        f"X{low}",
        f"Y{low}",
        f"X{high}",
        "G0 Z10",
    ]


def grooved_back() -> tuple[Setup, Groove]:
    """A plate on its back with one groove off its middle."""
    grid = Grid.over(0, 0, 60, 40, 0.25)
    level = HeightField.flat(grid, 0.0)
    groove = Groove(np.array([[12.0, 5.0], [12.0, 35.0]]), 3.0, -3.0)
    setup = replace(
        block_setup(),
        name="mould-back",
        stock=level,
        target=level,
        grooves=(groove,),
        flipped=True,
        width=60.0,
        depth=40.0,
    )
    return setup, groove
