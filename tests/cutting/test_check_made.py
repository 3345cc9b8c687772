"""A made program under the checker, sound and with faults put into its text."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

import pytest

from chape.catalog.read import catalog
from chape.cutting.check import check_program
from chape.cutting.plan import plan_program
from chape.cutting.write import write_program
from chape.tooling.model import RoundHole
from cut_boards import SIZE, mould
from cutting.proof_setups import codes

if TYPE_CHECKING:
    from chape.cutting.model import Setup

VENTS = tuple(RoundHole(6.0, y, 1.0, 0.0, -22.6, "vent") for y in (6.0, 14.0))
DOWEL = RoundHole(6.0, SIZE - 8, 6.0, 0.0, -25.3, "dowel")


@cache
def made(words: str = "generic") -> tuple[str, Setup]:
    setup = mould((*VENTS, DOWEL))
    (text,) = write_program(plan_program(setup), catalog().dialect(words))
    return text, setup


@pytest.mark.parametrize("words", ["generic", "generic-inch"])
def test_a_made_program_is_released(words: str) -> None:
    text, setup = made(words)
    verdict = check_program(text, setup)
    assert verdict.released, verdict.findings
    assert verdict.gouge_most < 0.02
    assert verdict.leftover_most < 0.1


def shifted(text: str, letter: str, by: float) -> str:
    def move(match: re.Match[str]) -> str:
        return f"{letter}{float(match.group(1)) + by:.3f}"

    return "\n".join(
        line if line.startswith("(") else re.sub(rf"{letter}(-?\d+\.\d+)", move, line)
        for line in text.splitlines()
    )


def test_a_zero_set_too_low_gouges_by_as_much() -> None:
    text, setup = made()
    verdict = check_program(shifted(text, "Z", -0.2), setup)
    assert "gouge" in codes(verdict)
    assert verdict.gouge_most == pytest.approx(0.2, abs=0.02)


def test_a_zero_set_aside_puts_the_holes_aside() -> None:
    text, setup = made()
    verdict = check_program(shifted(text, "X", 0.5), setup)
    assert {"hole-off-place", "gouge"} <= codes(verdict)
    assert not verdict.released


@pytest.mark.parametrize(
    ("word", "instead", "code"),
    [
        (r" M3\n", r" M5\n", "spindle-off"),
        (r"\nG54\n", r"\nG55\n", "offset-wrong"),
        (r"G43 H2", r"G43 H1", "length-offset-wrong"),
        (r"\nM30\n", r"\n", "program-unreadable"),
        # From a drilled hole: between cuts of one level the ground is free, and nothing is hit.
        (r"\nG0 Z1\.0\nZ2\.0\nY", r"\nG0 Y", "rapid-into-material"),
    ],
)
def test_a_fault_in_the_text_is_found(word: str, instead: str, code: str) -> None:
    text, setup = made()
    changed, count = re.subn(word, instead, text)
    assert count
    verdict = check_program(changed, setup)
    assert code in codes(verdict)
    assert not verdict.released
