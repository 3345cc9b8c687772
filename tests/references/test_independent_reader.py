"""Our programs read by pygcode, a parser that shares nothing with chape (GPLv3, tests alone).

What it cannot do: it has no lengths of cutters (G43 is left out here), no pages of offsets
(G54.1 P: the word is left out, and the offset's zero is the place meant either way), and a canned
cycle leaves its machine where the hole ends, so holes written as cycles are compared by the ends
that come after them.
"""

from __future__ import annotations

import warnings
from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.cutting.dialects import facts_of
from chape.cutting.model import Program
from chape.cutting.plan import plan_program
from chape.cutting.read import read_program
from chape.cutting.write import write_program
from fault_boards import small_mould, small_trim

pytest.importorskip("pygcode")


@pytest.fixture(scope="module")
def program() -> Program:
    """Outlines with arcs and helices, and holes pecked out."""
    trim = plan_program(small_trim())
    holes = [each for each in plan_program(small_mould()).operations if each.kind == "drill"]
    return Program(replace(trim.setup, offset="G54"), (*trim.operations, *holes))


def ends_by_line(text: str) -> dict[int, tuple[float, float, float]]:
    """Where the other parser's machine stands after each line, mm."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pygcode import GCodeToolLengthOffset, Line, Machine  # noqa: PLC0415

        machine = Machine()
        ends = {}
        for number, line in enumerate(text.splitlines(), start=1):
            block = Line(line.replace("%", "").replace("G54.1 P7", "")).block
            words = [word for word in block.gcodes if not isinstance(word, GCodeToolLengthOffset)]
            machine.process_gcodes(*words, modal_params=block.modal_params)
            place = machine.pos.values
            scale = 25.4 if "G20" in text else 1.0
            ends[number] = tuple(place[axis] * scale for axis in "XYZ")
    return ends


@pytest.mark.parametrize("name", catalog().names("dialects"))
def test_another_parser_ends_every_line_at_the_same_place(name: str, program: Program) -> None:
    dialect = catalog().dialect(name)
    compared = 0
    if dialect.extended_offsets:
        program = replace(program, setup=replace(program.setup, offset="G54.1 P7"))
    for text in write_program(program, dialect):
        theirs = ends_by_line(text)
        ours = read_program(text, facts_of(dialect), start=(0.0, 0.0, 0.0))
        last = {int(line): end for line, end in zip(ours.line, ours.end, strict=True)}
        for line, end in last.items():
            if "G8" in text.splitlines()[line - 1]:
                continue
            assert theirs[line] == pytest.approx(end, abs=1e-6), text.splitlines()[line - 1]
            compared += 1
    assert compared > 100
    assert np.isfinite(ours.end).all()
