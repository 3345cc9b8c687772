"""Whole programs of Kramer, Proctor & Messina, NISTIR 6556 (2000), against the strict reader.

Figures marked R were recomputed from the geometry.
"""

from __future__ import annotations

import numpy as np
import pytest

from chape.cutting.model import Motion
from chape.cutting.read import read_program

HELLO = """n0010 g21 g0 x0 y0 z50
n0020 t1 m6 m3 f20 s4000
n0030 g0 x0 y0 z2
n0040 g1 z-0.5
n0050 y10
n0060 g0 z2
n0070 y5
n0080 g1 z-0.5
n0090 x 7
n0100 g0 z2
n0110 y0
n0120 g1 z-0.5
n0130 y10
n0140 g0 z2
n0150 x11 y2.5
n0160 g1 z-0.5
n0170 x16
n0190 g3 x13.5 y0 i-2.5
n0200 g1 x16
n0210 g0 z2
n0220 x20 y0
n0230 g1 z-0.5
n0240 y9
n0250 g0 z2
n0260 x26
n0270 g1 z-0.5
n0280 y0
n0290 g0 z2
n0300 x32.5
n0310 g1 z-0.5
n0320 g2 x32.5 j2.5
n0330 g0 z2
n0340 x45 y5
n0350 g1 z-0.5
n0360 x47 y0
n0370 x48.5 y3
n0380 x50 y0
n0390 x52 y5
n0400 g0 z2
n0410 x57.5 y0
n0420 g1 z-0.5
n0430 g2 x57.5 j2.5
n0440 g0 z2
n0450 x64
n0460 g1 z-0.5
n0470 y5
n0480 y4
n0490 g2 x69 r4
n0500 g0 z2
n0510 x73 y0
n0520 g1 z-0.5
n0530 y9
n0540 g0 z2
n0550 x81
n0560 g1 z-0.5
n0570 y0
n0580 x79.5
n0590 g2 j2.5 y5
n0600 g1 x81
n0610 g0 z50
n0620 m2
"""


def test_hello_world() -> None:
    """Appendix C.1, a report of the United States Government; lengths and sweeps R."""
    program = read_program(HELLO, start=(0, 0, 0))
    assert program.end[-1].tolist() == [81, 5, 50]
    arcs = program.sweep != 0
    sweeps = [270, 360, 360, 77.3644, 180]
    assert np.degrees(np.abs(program.sweep[arcs])) == pytest.approx(sweeps, abs=5e-5)
    assert program.centre[arcs][3] == pytest.approx([66.5, 0.8775], abs=5e-5)
    lines = program.motion == Motion.LINE
    assert program.length[lines].sum() == pytest.approx(126.9785, abs=5e-5)
    assert program.length[arcs].sum() == pytest.approx(56.4519, abs=5e-5)
    assert program.length[program.rapid].sum() == pytest.approx(252.0528, abs=5e-5)
    assert set(program.spindle[lines]) == {4000.0}


CONTOUR = """G1 X1 Y5 F100
Y4
G3 X2 Y3 I1
G2 X3 Y2 J-1
G1 Y-1
G2 X2 Y-2 I-1
G1 X-2
G2 X-2.6 Y-0.2 J1
G1 X1.4 Y2.8
G2 X2 Y3 I0.6 J-0.8
"""


def test_contour_of_table_12() -> None:
    """Appendix B, Table 12, the programmed path; figures R."""
    program = read_program(CONTOUR + "\nM2\n", start=(0.0, 0.0, 0.0))
    assert program.end[-1].tolist() == [2, 3, 0]
    arcs = program.sweep != 0
    sweeps = [90, 90, 90, 143.1301, 36.8699]
    assert np.degrees(np.abs(program.sweep[arcs])) == pytest.approx(sweeps, abs=5e-5)
    assert program.length[program.motion == Motion.LINE].sum() == pytest.approx(18.099, abs=5e-4)


def test_an_independent_reader_ends_at_the_same_places() -> None:
    """pygcode (GPLv3, used in tests alone) follows the modes and the ends of straight moves."""
    pytest.importorskip("pygcode")
    import warnings  # noqa: PLC0415

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pygcode import Line, Machine  # noqa: PLC0415

        machine = Machine()
        ends = []
        text = HELLO.replace("x 7", "x7")
        for line in text.upper().splitlines()[:-1]:
            machine.process_block(Line(line).block)
            ends.append((machine.pos.X, machine.pos.Y, machine.pos.Z))
    program = read_program(text, start=(0, 0, 0))
    moved = [ends[line - 1] for line in program.line]
    assert program.end == pytest.approx(np.array(moved, dtype=float))
