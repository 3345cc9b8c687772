"""Cases of Kramer, Proctor & Messina, NISTIR 6556 (2000), against the strict reader.

The section stands beside each case; figures marked R were recomputed from the geometry.
"""

from __future__ import annotations

from math import nan

import numpy as np
import pytest

from chape.cutting.model import Motion
from chape.cutting.parsed import EventKind, ParsedProgram
from chape.cutting.read import read_program
from chape.errors import ProgramError

Place = tuple[float, float, float]


def read(text: str, start: Place = (0.0, 0.0, 0.0)) -> ParsedProgram:
    return read_program(text + "\nM2\n", start=start)


def refused(text: str, start: Place = (0.0, 0.0, 0.0)) -> str:
    with pytest.raises(ProgramError) as caught:
        read(text, start)
    return caught.value.problem


# ---- arcs (3.5.3) ---------------------------------------------------------------------------


def test_arc_by_its_centre() -> None:
    """3.5.3.2; radius, sweep and length R."""
    program = read("G17 G2 X10 Y16 I3 J4 Z9 F100", (7, 7, 9))
    assert program.centre[0] == pytest.approx([10, 11])
    assert program.end[0] == pytest.approx([10, 16, 9])
    assert np.degrees(program.sweep[0]) == pytest.approx(-143.1301, abs=5e-5)
    assert program.length[0] == pytest.approx(12.4905, abs=5e-5)


def test_helix() -> None:
    """3.5.3; length R."""
    assert read("G17 G2 X10 Y16 I3 J4 Z9 F100", (7, 7, 0)).length[0] == pytest.approx(
        15.3952, abs=5e-5
    )


@pytest.mark.parametrize(
    ("radius", "centre", "sweep", "length"),
    [
        (20, (19.85507, -2.40338), 53.5764, 18.7017),
        (-20, (-9.85507, 17.40338), 306.4236, 106.962),
    ],
)
def test_arc_by_its_radius(radius: float, centre: Place, sweep: float, length: float) -> None:
    """3.5.3.1: a negative R is the longer arc; figures R."""
    program = read(f"G17 G2 X10 Y15 R{radius} Z5 F100", (0, 0, 5))
    assert program.centre[0] == pytest.approx(centre, abs=5e-6)
    assert np.degrees(-program.sweep[0]) == pytest.approx(sweep, abs=5e-5)
    assert program.length[0] == pytest.approx(length, abs=5e-4)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("G2 X10 Y0 R4.9 F1", "too small to reach"),
        ("G2 X0 Y0 R5 F1", "end elsewhere"),
        ("G2 R5 F1", "needs X, Y or Z"),
        ("G2 Z1 R5 F1", "needs X or Y"),
        ("G2 X10 F1", "needs R, or I or J"),
        ("G2 Z1 I5 F1", "needs X or Y"),
        ("G2 X10 R5 I5 F1", "either R or I and J"),
        ("G21 G2 X10 Y0 I5.0011 J0", "more than 0.002 mm"),
        ("G20 G2 X10 Y0 I5.0009 J0", "mm apart"),
        ("G20 G2 X10 Y0 I5.0011 J0", "mm apart"),
        ("G2 X0 Y0 I0 J0 F1", "centre is its start"),
    ],
)
def test_arcs_that_are_errors(line: str, problem: str) -> None:
    """3.5.3.1 and 3.5.3.2; the 0.002 mm and 0.0002 inch rule."""
    assert problem in refused(line)


def test_radii_within_the_tolerance() -> None:
    """3.5.3.2: 0.0018 mm apart is accepted."""
    assert read("G21 G2 X10 Y0 I5.0009 J0 F1").end[0] == pytest.approx([10, 0, 0])


def test_end_at_start_is_a_full_circle() -> None:
    """3.5.3.2."""
    assert read("G3 X0 Y0 I5 F1").sweep[0] == pytest.approx(2 * np.pi)
    assert read("G2 X0 Y0 I5 F1").sweep[0] == pytest.approx(-2 * np.pi)


def test_centres_are_increments_in_both_distance_modes() -> None:
    """3.5.17."""
    here = (7.0, 7.0, 9.0)
    absolute = read("G90 G2 X10 Y16 I3 J4 F1", here)
    incremental = read("G91 G2 X3 Y9 I3 J4 F1", here)
    assert absolute.centre[0] == pytest.approx(incremental.centre[0])
    assert absolute.end[0] == pytest.approx(incremental.end[0])


# ---- canned cycles (3.5.16) -----------------------------------------------------------------


def test_first_drilling_example() -> None:
    """3.5.16, first G81 example."""
    program = read("G90 G81 G98 X4 Y5 Z1.5 R2.8 F100", (1, 2, 3))
    assert program.end == pytest.approx(np.array([[4, 5, 3], [4, 5, 2.8], [4, 5, 1.5], [4, 5, 3]]))
    assert program.motion.tolist() == [0, 0, 1, 0]


def test_second_drilling_example() -> None:
    """3.5.16, second G81 example, with repeats in incremental mode."""
    program = read("G91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 F100", (1, 2, 3))
    expected = [[1, 2, 4.8]]
    for x, y in ((5, 7), (9, 12), (13, 17)):
        expected += [[x, y, 4.8], [x, y, 4.2], [x, y, 4.8]]
    assert program.end == pytest.approx(np.array(expected, dtype=float))
    assert program.motion.tolist() == [0, *([0, 1, 0] * 3)]


def test_cycle_words_stay_and_g99_returns_to_r() -> None:
    """3.5.16: Z and R stay in force; 3.5.20."""
    program = read("G90 G99 G81 X1 Y0 Z-1 R2 F100\nX5\nG80", (0, 0, 10))
    assert program.end[-1] == pytest.approx([5, 0, 2])
    assert program.end[:, 2].min() == -1
    assert (program.motion == Motion.LINE).sum() == 2


def test_dwell_at_the_bottom() -> None:
    """3.5.16.2."""
    program = read("G82 X1 Y0 Z-1 R2 P0.5 F100", (0, 0, 5))
    (dwell,) = (event for event in program.events if event.kind is EventKind.DWELL)
    assert dwell.value == 0.5
    assert program.end[dwell.move - 1, 2] == -1


def test_pecks() -> None:
    """3.5.16.3: back to R after each peck, and down again to a little above it."""
    program = read("G83 X0 Y0 Z-5 R1 Q2 F100", (0, 0, 5))
    cuts = program.end[program.motion == Motion.LINE, 2]
    assert cuts.tolist() == [-1, -3, -5]
    assert (program.end[program.motion == Motion.RAPID, 2] == 1).sum() == 3


def test_pecks_that_only_break_the_chip() -> None:
    """G73 is no cycle of the report; it backs off by what G83 stays clear by (from memory)."""
    program = read("G0 X0 Y0\nG98 G73 X0 Y0 Z-5 R1 Q2 F100\nZ-8 R-4.5 Q3\nG80", (0, 0, 5))
    cuts = program.end[program.motion == Motion.LINE, 2]
    assert cuts == pytest.approx([-1, -3, -5, -7.5, -8])
    after = program.end[np.flatnonzero(program.motion == Motion.LINE) + 1, 2]
    assert after == pytest.approx([-1 + 0.254, -3 + 0.254, 5, -7.5 + 0.254, 5])


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("G81 X1 Z-1", "needs Z and R"),
        ("G81 X1 Z3 R2", "above its R plane"),
        ("G81 X1 Z-1 R2 L0", "1 or more"),
        ("G81 X1 Z-1 R2 L1.5", "whole number"),
        ("G83 X1 Z-1 R2", "needs Q"),
        ("G73 X1 Z-1 R2", "needs Q"),
        ("G82 X1 Z-1 R2", "needs P"),
        ("G81 Z-1 R2 G4 P1", "shares its P"),
        ("G81", "needs X, Y or Z"),
    ],
)
def test_cycles_that_are_errors(line: str, problem: str) -> None:
    """3.5.16."""
    assert problem in refused(line, (0, 0, 5))


# ---- lines, numbers, comments (3.1 to 3.3) --------------------------------------------------


@pytest.mark.parametrize(
    ("number", "value"), [("7.", 7), (".5", 0.5), ("+4", 4), ("-.25", -0.25), ("007", 7)]
)
def test_numbers(number: str, value: float) -> None:
    """3.3.2.1."""
    assert read(f"G0 X{number}").end[0, 0] == value


@pytest.mark.parametrize("number", ["", ".", "1e3", "1.2.3", "--3", "[1+2", "[]", "#3", "-[1]"])
def test_what_is_no_number(number: str) -> None:
    """3.3.2: numbers, and parameters that were never set."""
    assert refused(f"G0 X{number}")


def test_white_space_and_case_do_not_matter() -> None:
    """3.3: 'g0x +0. 12 34y 7' is x 0.1234, y 7."""
    assert read("g0x +0. 12 34y 7").end[0, :2] == pytest.approx([0.1234, 7])


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("G0 (one (two) X1", "inside another"),
        ("G0 (open X1", "not closed"),
        ("G0 X1)", "never began"),
        ("G0 X1 X2", "comes twice"),
        ("G0 X1 N5", "must come first"),
        ("N100000 G0 X1", "0 to 99999"),
        ("/G0 X1", "block delete"),
        ("#3", "stands alone"),
        ("#5220=1", "not one a program may use"),
        ("#0=1", "not one a program may use"),
        ("#3=", "a number is missing"),
        ("G0 X[1+2", "not closed"),
        ("G0 X[1SIN[2]]", "lacks an operator"),
        ("G0 X" + "1" * 256, "more than 256"),
        ("G0 A1", "A turns the piece"),
        ("O1000 CALL", "C turns the piece"),
        ("G0 X1\nO1000", "subprograms"),
        ("G0 X1 % ", "percent"),
    ],
)
def test_lines_that_are_errors(line: str, problem: str) -> None:
    """3.3, 3.3.4, 3.3.5."""
    assert problem in refused(line)


def test_messages_are_kept() -> None:
    """3.3.4."""
    assert read("(msg, change the screws)\n(a remark)").messages == ((1, "change the screws"),)


@pytest.mark.parametrize(
    ("text", "good"),
    [
        ("%\nG0 X1\n%\n", True),
        ("\n%\nG0 X1\nM2\n%\n\n", True),
        ("G0 X1\nM30\n", True),
        ("%\nG0 X1\n", False),
        ("G0 X1\n", False),
        ("G0 X1\n%\n", False),
        ("%\nG0 X1\n%\nG0 X2\n", False),
        ("M2\nG0 X1\n", False),
        ("", False),
    ],
)
def test_percent_lines_and_the_end(text: str, good: bool) -> None:  # noqa: FBT001 -- a table
    """3.1; words after the end never run, so the strict reader refuses them."""
    if good:
        assert len(read_program(text, start=(0, 0, 0))) == 1
    else:
        with pytest.raises(ProgramError):
            read_program(text)


# ---- modal groups (3.4, Table 4) ------------------------------------------------------------


@pytest.mark.parametrize(
    "line",
    [
        "G0 G1 X1", "G2 G81 X1", "G90 G91", "G20 G21", "G43 H1 G49", "G98 G99", "G54 G55",
        "G54 G54.1 P1", "G61 G64", "M3 M4", "M0 M30", "M7 M9", "M7 M8", "G80 G1 X1",
        "G17 G19", "G93 G94", "G61 G61.1", "M48 M49", "G4 P1 G92 X1", "G28 G30",
    ],
)  # fmt: skip
def test_words_of_one_group_exclude_each_other(line: str) -> None:
    """Table 4 and 3.3.5."""
    assert "exclude each other" in refused(line)


@pytest.mark.parametrize(
    "word",
    ["G10", "G38.2", "G41", "G42", *(f"G{n}" for n in range(84, 90)), "M97", "M98", "M99"],
)
def test_refused_words_say_why(word: str) -> None:
    assert f"{word} is refused: " in refused(word)


@pytest.mark.parametrize("word", [*(f"G{n}" for n in range(54, 60)), "G59.1", "G59.2", "G59.3"])
def test_nine_work_offsets_are_told_apart(word: str) -> None:
    """3.5.13."""
    program = read(f"{word} G0 X1")
    assert program.states[program.state[0]].offset == word


def test_a_number_within_a_ten_thousandth_of_a_whole_one_is_that() -> None:
    """3.3.2.1."""
    program = read("T1.00009 M6\nG0 X1")
    assert program.cutter[0] == 1
    assert "whole number" in refused("T1.0002 M6")


@pytest.mark.parametrize("word", ["G5", "G59.4", "G187", "M47", "M61", "G1.5", "M3.2"])
def test_unknown_words_are_errors(word: str) -> None:
    assert "not a word" in refused(word)


def test_five_m_words_are_too_many() -> None:
    """3.3.5: four groups are read, so a fifth word always meets one of its own."""
    assert "exclude each other" in refused("T1 M6 M3 M8 M0 M5 S1")


def test_axes_after_g80_are_an_error() -> None:
    """3.5.15."""
    assert "no motion is in force" in refused("G0 X1\nG80\nX2")
    assert "no motion is in force" in refused("G80 X2")


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("G4", "needs P"),
        ("G4 P-1", "no time"),
        ("S-1", "negative"),
        ("F-1", "negative"),
        ("G43", "needs H"),
        ("G54.1", "needs P"),
        ("G54.1 P301", "P1 to P300"),
        ("G53", "needs a straight move"),
        ("G53 G2 X1 I1", "needs a straight move"),
        ("M6", "T is missing"),
        ("G0 X1 I3", "uses I"),
        ("G1 X1 R3", "uses R"),
        ("T1.5", "whole number"),
        ("F100 G20", "may mean either"),
    ],
)
def test_words_that_lack_or_do_not_fit(line: str, problem: str) -> None:
    """3.5.4, 3.5.10, 3.5.12, 3.7."""
    assert problem in refused(line)


def test_order_of_execution() -> None:
    """Table 8: units before motion, feed and cutter before it, the stop after it."""
    program = read("G1 X1 G20 M0 T3 M6\nM3 S5000 X2 F10")
    assert program.end[:, 0] == pytest.approx([25.4, 50.8])
    assert program.cutter.tolist() == [3, 3]
    assert program.feed[1] == pytest.approx(254)
    assert program.spindle.tolist() == [0, 5000]
    (stop,) = (event for event in program.events if event.kind is EventKind.STOP)
    assert stop.move == 1


def test_a_cutter_change_stops_the_spindle() -> None:
    """3.6.3."""
    assert read("S100 M3\nT1 M6\nG0 X1").spindle[0] == 0


def test_places_are_unknown_until_they_are_given() -> None:
    program = read_program("G0 Z5\nX1\nY2\nM2\n")
    assert program.end[0, 2] == 5
    assert np.isnan(program.end[0, :2]).all()
    assert np.isnan(program.end[1, 1])
    assert program.end[2].tolist() == [1, 2, 5]
    assert "no place" in refused("G2 X1 I1 F1", (nan, nan, nan))
