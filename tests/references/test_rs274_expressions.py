"""The expressions of NISTIR 6556 (2000), appendix C.2, and its rules for parameters."""

from __future__ import annotations

import pytest

from chape.cutting.read import read_program
from chape.errors import ProgramError


def x_of(text: str) -> float:
    return float(read_program(text + "\nM2\n", start=(0, 0, 0)).end[-1, 0])


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("[1 + 2]", 3), ("[1 - 2]", -1), ("[1 --3]", 4), ("[2/5]", 0.4), ("[3.0 * 5]", 15),
        ("[0 OR 0]", 0), ("[0 OR 1]", 1), ("[2 or 2]", 1), ("[0 AND 0]", 0), ("[0 AND 1]", 0),
        ("[2 and 2]", 1), ("[0 XOR 0]", 0), ("[0 XOR 1]", 1), ("[2 xor 2]", 0),
        ("[15 MOD 4.0]", 3), ("[1 + 2 * 3 - 4 / 5]", 6.2), ("sin[30]", 0.5), ("cos[0.0]", 1),
        ("tan[60.0]", 1.7321), ("sqrt[3]", 1.7321), ("atan[1.7321]/[1.0]", 60.0),
        ("asin[1.0]", 90), ("acos[0.707107]", 45.0), ("abs[20.0]", 20), ("abs[-1.23]", 1.23),
        ("round[-0.499]", 0), ("round[-0.5001]", -1), ("round[2.444]", 2), ("round[9.975]", 10),
        ("fix[-0.499]", -1), ("fix[-0.5001]", -1), ("fix[2.444]", 2), ("fix[9.975]", 9),
        ("fup[-0.499]", 0), ("fup[-0.5001]", 0), ("fup[2.444]", 3), ("fup[9.975]", 10),
        ("exp[2.3026]", 10), ("ln[10.0]", 2.3026), ("[2 ** 3.0]", 8),
        ("sqrt[3**2 + 4**2]", 5),
    ],
)  # fmt: skip
def test_expressions_of_appendix_c2(value: str, expected: float) -> None:
    """C.2; what goes in and comes out is printed there to four places."""
    assert x_of(f"G0 X{value}") == pytest.approx(expected, abs=1e-3)


def test_parameters_of_appendix_c2() -> None:
    """C.2, its last lines: a parameter named by a parameter, and settings that wait."""
    start = "G0 X0\n#1=2.0\n##1=0.375\n"
    assert x_of(f"{start}X#2") == 0.375
    assert x_of("G0 X0\n#3=7.0\n#3=5.0 X#3") == 7
    assert x_of("G0 X0\n#3=7.0\n#3=5.0 X#3\nX#3 #3=1.1") == 5


def test_the_order_of_operators() -> None:
    """3.3.2.3."""
    assert x_of("G0 X[2.0 / 3 * 1.5 - 5.5 / 11.0]") == pytest.approx(0.5)
    assert x_of("G0 X[2 ** 3 ** 2]") == 64
    assert x_of("G0 X[10 - 2 - 3]") == 5


@pytest.mark.parametrize(
    ("value", "expected"), [("FIX[2.8]", 2), ("FIX[-2.8]", -3), ("FUP[2.8]", 3), ("FUP[-2.8]", -2)]
)
def test_rounding_down_and_up(value: str, expected: float) -> None:
    """3.3.2.4."""
    assert x_of(f"G0 X{value}") == expected


def test_settings_act_after_their_whole_line_and_the_last_one_wins() -> None:
    """3.3.3."""
    assert x_of("#3=15\n#3=6 G1 X#3 F100") == 15
    assert x_of("#3=15\n#3=6 G1 X#3 F100\nX#3") == 6
    assert x_of("#3=1 #3=2\nG0 X#3") == 2
    assert x_of("#3=1\n#3=2 #4=#3\nG0 X#4") == 1


def test_words_of_every_kind_may_be_worked_out() -> None:
    """3.3.2: a value may stand wherever a number may."""
    assert x_of("#1=0\nG#1 X[#1+4]") == 4
    assert x_of("G[0.5*2] X3 F[10*10]") == 3


@pytest.mark.parametrize(
    ("value", "problem"),
    [
        ("[1/0]", "division by nothing"),
        ("[1 MOD 0]", "division by nothing"),
        ("[[0-8] ** 0.5]", "has no value"),
        ("[10 ** 400]", "has no value"),
        ("EXP[1000]", "has no value"),
        ("SQRT[-1]", "has no value"),
        ("LN[0]", "has no value"),
        ("ASIN[2]", "has no value"),
        ("ATAN[1]", "two values"),
        ("SIN 3", "in square brackets"),
        ("#7", "before the program sets it"),
        ("#1.5", "whole number"),
        ("#5221", "not one a program may use"),
        ("[" * 40 + "1" + "]" * 40, "deep"),
        ("9" * 200 + "e", "not part of the language"),
        ("[1+2", "not closed"),
        ("1]", "not a letter"),
    ],
)
def test_what_has_no_value_is_refused(value: str, problem: str) -> None:
    with pytest.raises(ProgramError, match=problem):
        x_of(f"G0 X{value}")
