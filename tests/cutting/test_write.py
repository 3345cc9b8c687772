from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.cutting.plan import plan_program
from chape.cutting.write import write_program
from chape.errors import CannotMakeError, InputError
from cut_boards import trim

if TYPE_CHECKING:
    from chape.cutting.model import Program

GENERIC = catalog().dialect("generic")


@pytest.fixture(scope="module")
def trimmed() -> Program:
    return plan_program(trim())


@pytest.fixture(scope="module")
def text(trimmed: Program) -> str:
    return write_program(trimmed, GENERIC)[0]


def test_the_same_program_gives_the_same_bytes(text: str) -> None:
    assert write_program(plan_program(trim()), GENERIC) == (text,)


def test_everything_a_machine_must_know_comes_before_the_first_move(text: str) -> None:
    before = text[: text.index("\nG0")]
    for word in ("G21", "G17", "G90", "G94", "G40", "G49", "G80", "G55", "M3", "S", "T"):
        assert re.search(rf"(^|\s){word}", before, re.MULTILINE)
    assert text.rstrip().endswith("M5\nM30")


def test_the_first_move_is_up(text: str) -> None:
    first = next(line for line in text.splitlines() if line.startswith("G0"))
    assert re.fullmatch(r"G0 Z\d+\.\d+", first)


def test_every_number_carries_its_point(text: str) -> None:
    for line in text.splitlines():
        if not line.startswith("("):
            for word in re.findall(r"[XYZIJF]-?[\d.]+", line):
                assert "." in word


def test_comments_are_plain_and_not_nested(text: str) -> None:
    assert text.isascii()
    for line in text.splitlines():
        assert re.fullmatch(r"\([^()]*\)|[^()]*", line)
        assert len(line) <= GENERIC.line_longest


def test_the_stop_names_what_to_do(text: str) -> None:
    lines = text.splitlines()
    stop = lines.index("M0")
    assert "screws" in " ".join(lines[stop - 2 : stop])
    assert "M5" in lines[stop - 3 : stop]
    assert any("M3" in line for line in lines[stop : stop + 4])


def test_arc_radii_agree_as_written(trimmed: Program) -> None:
    for name in catalog().names("dialects"):
        words = catalog().dialect(name)
        place = {"X": 0.0, "Y": 0.0}
        worst, count = 0.0, 0
        inch = words.unit.in_mm
        for line in "".join(write_program(trimmed, words)).splitlines():
            found = dict(re.findall(r"([XYIJ])(-?[\d.]+)", line)) if line[0] != "(" else {}
            here = dict(place)
            place |= {k: float(v) for k, v in found.items() if k in place}
            if "I" in found:
                centre = here["X"] + float(found["I"]), here["Y"] + float(found["J"])
                start = np.hypot(float(found["I"]), float(found["J"]))
                end = np.hypot(place["X"] - centre[0], place["Y"] - centre[1])
                worst, count = max(worst, abs(start - end) * inch), count + 1
        assert count > 20
        # NISTIR 6556, 3.5.3.2
        assert worst <= (0.002 if inch == 1 else 0.0002 * inch)


def test_a_controller_without_cutter_change_stops_for_the_hand(trimmed: Program) -> None:
    (text,) = write_program(trimmed, catalog().dialect("small-controller"))
    assert "M6" not in text
    assert "G43" not in text
    assert text.count("M0\n") == 2
    assert "(Put in T5" in text
    # Whoever reads the program back knows what was put in by the T word before the stop.
    assert "\nT5\nM0\n" in text


def test_numbered_lines_in_inches_between_percents(trimmed: Program) -> None:
    lines = write_program(trimmed, catalog().dialect("generic-inch"))[0].splitlines()
    assert lines[0] == lines[-1] == "%"
    assert any(" G20 " in line for line in lines)
    assert all(re.match(r"N\d+ |\(", line) for line in lines[1:-1])


def test_an_offset_unknown_to_the_dialect_is_refused(trimmed: Program) -> None:
    odd = replace(trimmed, setup=replace(trimmed.setup, offset="G59.9"))
    with pytest.raises(InputError, match=r"no work offset G59\.9"):
        write_program(odd, GENERIC)


def test_an_unknown_dialect_is_refused() -> None:
    with pytest.raises(InputError, match="small-controller"):
        catalog().dialect("klingon")


@pytest.mark.parametrize("part", ["end", "feed", "centre"])
def test_a_move_that_is_no_number_is_refused(trimmed: Program, part: str) -> None:
    operation = trimmed.operations[1]
    spoilt = getattr(operation.moves, part).copy()
    spoilt[operation.moves.motion == 3] = np.nan
    moves = replace(operation.moves, **{part: spoilt})
    with pytest.raises(CannotMakeError, match="without a place, a centre or a feed"):
        write_program(replace(trimmed, operations=(replace(operation, moves=moves),)), GENERIC)
