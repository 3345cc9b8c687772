"""Numbers, parameters and expressions of RS-274 (NISTIR 6556, 3.3.2).

A value is a number, a parameter (#5, ##1), an expression in square brackets, or a function of one.
Operators bind in three groups: ** before * / MOD before + - OR XOR AND; within a group from left to
right. Angles are degrees. A parameter that the program never set is an error, where the report
would take what some file says: a program that is to be proved must say its numbers.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING

from chape.errors import ProgramError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
#: A value meant as a whole number may be off by this (3.3.2.1).
WHOLE = 1e-4
#: Parameters a program may use; those above hold the machine's own state (3.2.1, Table 2).
PARAMETERS = range(1, 5001)
#: Brackets in brackets beyond this are no sum that a person wrote.
DEEPEST = 30

_NUMBER = re.compile(NUMBER)
_OPERATOR = re.compile(r"\*\*|[*/+-]|MOD|OR|XOR|AND")
_FUNCTION = re.compile("ABS|ACOS|ASIN|ATAN|COS|EXP|FIX|FUP|LN|ROUND|SIN|SQRT|TAN")
_GROUPS = (("**",), ("*", "/", "MOD"), ("+", "-", "OR", "XOR", "AND"))


def whole_number(value: float, name: str, line: int) -> int:
    """Return ``value`` as a whole number, which it must be within ``WHOLE``."""
    nearest = round(value)
    if abs(value - nearest) > WHOLE:
        raise ProgramError(line, f"{name}{value:g} must be a whole number")
    return nearest


class Values:
    """Reads the values of one line, without its blanks and in capitals.

    Args:
        text: of the line.
        parameters: number -> value, as they stand before the line.
        line: 1-based, for errors.
    """

    def __init__(self, text: str, parameters: Mapping[int, float], line: int) -> None:
        self.text = text
        self.place = 0
        self._parameters = parameters
        self._line = line
        self._depth = 0

    def value(self) -> float:
        """Return the value that begins here, and stand behind it.

        Raises:
            ProgramError: no value begins here, or it cannot be worked out.
        """
        number = self._match(_NUMBER)
        if number is not None:
            return self._finite(float(number))
        if self._skip("#"):
            return self._parameter()
        if self.text.startswith("[", self.place):
            return self._expression()
        function = self._match(_FUNCTION)
        if function is not None:
            return self._function(function)
        rest = self.text[self.place : self.place + 12]
        raise self.refused("a number is missing" + (f" before '{rest}'" if rest else ""))

    def assignment(self) -> tuple[int, float]:
        """Return number and value of "#3=15", and stand behind it."""
        self.place += 1
        number = self._index(self.value())
        if not self._skip("="):
            raise self.refused("a parameter stands alone; write a letter before it, or = behind it")
        return number, self.value()

    def refused(self, problem: str) -> ProgramError:
        """Return an error for this line."""
        return ProgramError(self._line, problem)

    def _match(self, pattern: re.Pattern[str]) -> str | None:
        found = pattern.match(self.text, self.place)
        if found is None:
            return None
        self.place = found.end()
        return found.group()

    def _skip(self, sign: str) -> bool:
        there = self.text.startswith(sign, self.place)
        self.place += len(sign) * there
        return there

    def _index(self, value: float) -> int:
        number = whole_number(value, "#", self._line)
        if number not in PARAMETERS:
            raise self.refused(
                f"parameter #{number} is not one a program may use here (#1 to #{PARAMETERS[-1]})"
            )
        return number

    def _parameter(self) -> float:
        number = self._index(self.value())
        if number not in self._parameters:
            raise self.refused(f"parameter #{number} is used before the program sets it")
        return self._parameters[number]

    def _expression(self) -> float:
        """Return the value of what stands in square brackets."""
        self._depth += 1
        if self._depth > DEEPEST:
            raise self.refused(f"brackets stand more than {DEEPEST} deep in each other")
        self.place += 1
        values, operators = [self.value()], list[str]()
        while not self._skip("]"):
            operator = self._match(_OPERATOR)
            if operator is None:
                raise self.refused("an expression is not closed, or lacks an operator")
            operators.append(operator)
            values.append(self.value())
        self._depth -= 1
        for group in _GROUPS:
            at = 0
            while at < len(operators):
                if operators[at] in group:
                    values[at : at + 2] = [self._joined(operators.pop(at), *values[at : at + 2])]
                else:
                    at += 1
        return values[0]

    def _joined(self, operator: str, left: float, right: float) -> float:
        if operator in ("/", "MOD") and right == 0:
            raise self.refused("a division by nothing")
        joined: dict[str, Callable[[], float]] = {
            "**": lambda: math.pow(left, right),
            "*": lambda: left * right,
            "/": lambda: left / right,
            # The remainder is never negative, as in the report's own interpreter (from memory).
            "MOD": lambda: math.fmod(left, right) + abs(right) * (math.fmod(left, right) < 0),
            "+": lambda: left + right,
            "-": lambda: left - right,
            "OR": lambda: float(left != 0 or right != 0),
            "XOR": lambda: float((left != 0) != (right != 0)),
            "AND": lambda: float(left != 0 and right != 0),
        }
        return self._worked_out(joined[operator], f"{left:g} {operator} {right:g}")

    def _function(self, name: str) -> float:
        if not self.text.startswith("[", self.place):
            raise self.refused(f"{name} needs its value in square brackets")
        value = self._expression()
        if name == "ATAN":
            if not (self._skip("/") and self.text.startswith("[", self.place)):
                raise self.refused("ATAN needs two values: ATAN[1]/[2]")
            other = self._expression()
            return math.degrees(math.atan2(value, other))
        functions: dict[str, Callable[[], float]] = {
            "ABS": lambda: abs(value),
            "ACOS": lambda: math.degrees(math.acos(value)),
            "ASIN": lambda: math.degrees(math.asin(value)),
            "COS": lambda: math.cos(math.radians(value)),
            "EXP": lambda: math.exp(value),
            "FIX": lambda: float(math.floor(value)),
            "FUP": lambda: float(math.ceil(value)),
            "LN": lambda: math.log(value),
            "ROUND": lambda: math.copysign(math.floor(abs(value) + 0.5), value) + 0.0,
            "SIN": lambda: math.sin(math.radians(value)),
            "SQRT": lambda: math.sqrt(value),
            "TAN": lambda: math.tan(math.radians(value)),
        }
        return self._worked_out(functions[name], f"{name}[{value:g}]")

    def _worked_out(self, work: Callable[[], float], what: str) -> float:
        try:
            return self._finite(work())
        except (ValueError, OverflowError):
            raise self.refused(f"{what} has no value") from None

    def _finite(self, value: float) -> float:
        if not math.isfinite(value):
            raise self.refused("a number is too large")
        return value
