"""Offsets, planes, feeds and home of Kramer, Proctor & Messina, NISTIR 6556 (2000).

The section stands beside each case; figures marked R were recomputed from the geometry.
"""

from __future__ import annotations

from math import inf, nan

import numpy as np
import pytest

from chape.cutting.controller_facts import UNKNOWN, ControllerFacts
from chape.cutting.model import Motion
from chape.cutting.parsed import EventKind, ParsedProgram
from chape.cutting.read import read_program
from chape.errors import ProgramError


def read(text: str, start=(0.0, 0.0, 0.0), facts: ControllerFacts = UNKNOWN) -> ParsedProgram:
    return read_program(text + "\nM2\n", facts, start=start)


def refused(text: str, start=(0.0, 0.0, 0.0), facts: ControllerFacts = UNKNOWN) -> str:
    with pytest.raises(ProgramError) as caught:
        read(text, start, facts)
    return caught.value.problem


def test_g92_calls_the_place_by_other_numbers() -> None:
    """3.5.18: at X4, G92 X7 makes the offset -3; then G92 X9 makes it -5. Nothing moves."""
    program = read("G0 X4\nG92 X7\nX7 Y1\nX0\nX9")
    assert program.end[:, 0].tolist() == [4, 4, -3, 6]
    # The example of 3.5.18: X reads 7 at 4, and then is called 9.
    again = read("G0 X4\nG92 X7\nG92 X9\nX9 Y1\nX0")
    assert again.end[:, 0].tolist() == [4, 4, -5]


def test_g92_1_forgets_and_g92_2_keeps_what_g92_3_brings_back() -> None:
    """3.5.18."""
    assert read("G0 X4\nG92 X7\nG92.2\nX1\nG92.3\nX1").end[:, 0].tolist() == [4, 1, -2]
    assert read("G0 X4\nG92 X7\nG92.1\nX1\nG92.3\nX1").end[:, 0].tolist() == [4, 1, 1]


def test_g92_moves_cycles_and_arcs_with_it() -> None:
    """3.5.18: every coordinate afterwards; I and J are steps and stay."""
    program = read("G0 Z4\nG92 Z14\nG81 X1 Z8 R12 F100")
    assert program.end[:, 2].min() == -2
    arc = read("G0 X10\nG92 X0\nG2 X10 Y0 I5 F100")
    assert arc.centre[-1].tolist() == [15, 0]
    assert arc.end[-1, 0] == 20


def test_g92_in_inches_and_steps_by_increments() -> None:
    program = read("G20 G0 X1\nG92 X0\nX1\nG91 X1")
    assert program.end[:, 0] == pytest.approx([25.4, 50.8, 76.2])


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("G92", "needs X, Y or Z"),
        ("G0 G92 X1", "both use the axis words"),
        ("G1 G28 X1", "both use the axis words"),
        ("G93 G1 X1", "every cutting line needs F"),
        ("G93 G1 X1 F2\nX2", "every cutting line needs F"),
        ("G93 G2 X1 I.5", "every cutting line needs F"),
        ("G18 G2 X1 R.5 F1 J1", "uses J"),
        ("G18 G2 Y1 I1 F1", "needs Z or X"),
        ("G19 G2 Y1 F1", "needs R, or J or K"),
        ("G18 G81 X1 R2 Z-1 F1", "XY plane"),
        ("G20 G19 G3 Y1 J1", "mm apart"),
    ],
)
def test_words_that_do_not_go_together(text: str, problem: str) -> None:
    """3.4, 3.5.3, 3.5.18, 3.5.19."""
    assert problem in refused(text)


def test_g92_where_nothing_is_known_is_refused() -> None:
    assert "not known" in refused("G92 X1", (nan, nan, nan))


def test_inverse_time_feed() -> None:
    """3.5.19: a move of 30 mm at F2 takes half a minute, so 60 mm/min."""
    program = read("G93 G1 X30 F2\nG2 X40 I5 F1\nG94 G1 X50 F100")
    assert program.feed == pytest.approx([60, 5 * np.pi, 100])
    # What F meant before the change means nothing after it.
    assert np.isnan(read("G1 X1 F100\nG93 X2 F1\nG94 X3").feed[2])


@pytest.mark.parametrize(
    ("plane", "text", "middle"),
    [
        ("G17", "G3 X0 Y10 I-10", (10 / 2**0.5, 10 / 2**0.5, 0)),
        ("G18", "G3 Z0 X10 K-10", (10 / 2**0.5, 0, 10 / 2**0.5)),
        ("G19", "G3 Y0 Z10 J-10", (0, 10 / 2**0.5, 10 / 2**0.5)),
    ],
)
def test_arcs_on_edge(plane: str, text: str, middle: tuple[float, ...]) -> None:
    """2.1.2.6 and 3.5.3: G3 turns X to Y, Z to X, Y to Z, seen against the third axis; R."""
    start = {"G17": (10.0, 0.0, 0.0), "G18": (0.0, 0.0, 10.0), "G19": (0.0, 10.0, 0.0)}[plane]
    program = read(f"{plane} {text} F100", start)
    points = np.vstack([program.start[:1], program.end])
    assert np.hypot.reduce(points, axis=1) == pytest.approx(10)
    if plane != "G17":
        assert np.hypot(*(points - middle).T[[0, 1]]).min() < 0.3
        # Chords hold within half a thousandth: R (1 - cos(half the step)).
        chord = np.linalg.norm(np.diff(points, axis=0), axis=1).max()
        assert 10 - np.sqrt(100 - chord**2 / 4) <= 0.0005
        assert program.length.sum() == pytest.approx(5 * np.pi, abs=1e-3)
        assert (program.motion == Motion.LINE).all()


def test_arc_on_edge_rises_along_the_third_axis() -> None:
    """3.5.3: an off-plane word makes a helix."""
    program = read("G18 G2 Z0 X10 Y6 K-10 F100", (0.0, 0.0, 10.0))
    assert program.end[-1].tolist() == [10, 6, 0]
    assert np.all(np.diff(program.end[:, 1]) > 0)


def test_home_is_by_way_of_the_place_given() -> None:
    """3.5.8: a rapid to the place, then to the reference; the top of the travel is known alone."""
    program = read("G91 G28 Z5\nG90 G0 X1 Y2", (1.0, 1.0, 1.0))
    assert program.rapid.all()
    assert program.end[0].tolist() == [1, 1, 6]
    assert program.end[1, 2] == inf
    assert np.isnan(program.end[1, :2]).all()
    assert program.end[2].tolist() == [1, 2, inf]
    assert np.isnan(read("G28 X5").end[-1]).all()
    assert len(read("G28")) == 1


def test_a_motion_in_force_is_suspended_where_another_word_takes_the_axes() -> None:
    """3.4."""
    program = read("G1 X1 F100\nG92 X0\nX1")
    assert program.motion.tolist() == [1, 1]
    assert program.end[:, 0].tolist() == [1, 2]


def test_overrides_and_pallet_stop_are_read() -> None:
    """Table 4: M48, M49 and M60."""
    program = read("M48\nG0 X1\nM60\nM49")
    assert program.events[0].kind is EventKind.STOP


def test_a_program_may_have_a_number() -> None:
    """ISO 6983-1, from memory: O and a number names the program."""
    assert len(read("O1234\nG0 X1")) == 1


def test_block_delete_runs_as_the_switch_stands() -> None:
    """3.1 and 3.3: where the switch is not known, what may or may not run is refused."""
    text = "/G0 X1\nG0 X2"
    assert "unproved" in refused(text)
    on, off = ControllerFacts(skips_marked=True), ControllerFacts(skips_marked=False)
    assert len(read(text, facts=on)) == 1
    assert len(read(text, facts=off)) == 2


def test_comments_after_a_semicolon() -> None:
    """Not in the report; most small controllers read them. Inside brackets it is a letter."""
    assert len(read("G0 X1 ; X2 (")) == 1
    assert len(read("(a; b) G0 X1")) == 1
    only_brackets = ControllerFacts(semicolon_comments=False)
    assert "not a letter" in refused("G0 X1 ; note", facts=only_brackets)
    assert "in brackets" in refused("G0 X1 (a)", facts=ControllerFacts(bracket_comments=False))


def test_a_wait_in_thousandths() -> None:
    program = read("G4 P1500", facts=ControllerFacts(dwell_seconds=0.001))
    assert program.events[0].value == 1.5
    assert read("G4 P1.5").events[0].value == 1.5


def test_after_the_end_nothing_runs() -> None:
    """3.6.1 (M2, M30) and 3.1."""
    with pytest.raises(ProgramError, match="never run"):
        read("M30\nG0 X1")
