"""The letters and numbers of one line of RS-274, and which of them may stand together.

Source of every rule: Kramer, Proctor & Messina, "The NIST RS274/NGC Interpreter - Version 3",
NISTIR 6556 (2000), sections 3.3 (lines, numbers, comments), 3.4 (modal groups, Table 4).

What is not understood in full is refused, never skipped.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from chape.cutting.read_values import WHOLE, Values, whole_number
from chape.errors import ProgramError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.cutting.controller_facts import ControllerFacts

LINE_LENGTH_MOST = 256
LINE_NUMBER_MOST = 99999

_COMMENT = re.compile(r"\(([^()]*)\)")
_MESSAGE = re.compile(r"\s*msg\s*,", re.IGNORECASE)

#: Table 4: words of one group exclude each other on a line. With five groups of M words read here,
#: no line can hold more than the M words that are read together.
G_GROUPS: dict[str, str] = {
    **dict.fromkeys(("G0", "G1", "G2", "G3", "G73", "G80", "G81", "G82", "G83"), "motion"),
    **dict.fromkeys(("G17", "G18", "G19"), "plane"),
    **dict.fromkeys(("G90", "G91"), "distance mode"),
    **dict.fromkeys(("G93", "G94"), "feed mode"),
    **dict.fromkeys(("G20", "G21"), "units"),
    "G40": "radius compensation",
    **dict.fromkeys(("G43", "G49"), "length offset"),
    **dict.fromkeys(("G98", "G99"), "retract mode"),
    **dict.fromkeys(
        ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3", "G54.1"),
        "work offset",
    ),
    **dict.fromkeys(("G61", "G61.1", "G64"), "path mode"),
    **dict.fromkeys(("G4", "G28", "G30", "G53", "G92", "G92.1", "G92.2", "G92.3"), "non-modal"),
}
M_GROUPS: dict[str, str] = {
    **dict.fromkeys(("M0", "M1", "M2", "M30", "M60"), "stopping"),
    "M6": "cutter change",
    **dict.fromkeys(("M3", "M4", "M5"), "spindle"),
    **dict.fromkeys(("M7", "M8", "M9"), "coolant"),
    **dict.fromkeys(("M48", "M49"), "override"),
}
_COMPENSATION = "radius compensation hides the true path; programs carry the cutter's own path"
_SUBPROGRAM = "subprograms are not read; write their lines out"
_REFUSED: dict[str, str] = {
    "G10": "a program may not move the work offsets it was checked against",
    "G38.2": "what a probe finds is not known before it is run",
    "G41": _COMPENSATION,
    "G42": _COMPENSATION,
    "G84": "tapping needs a spindle that keeps step with the feed, which a router has not",
    "G85": "the boring cycles are not read; write their moves out",
    "G86": "the boring cycles are not read; write their moves out",
    "G87": "back boring needs a spindle that stops at an angle, which a router has not",
    "G88": "it leaves the retract to the hand, which no check can follow",
    "G89": "the boring cycles are not read; write their moves out",
    "M97": _SUBPROGRAM,
    "M98": _SUBPROGRAM,
    "M99": _SUBPROGRAM,
}
_LETTERS = frozenset("FGHIJKLMNOPQRSTXYZ")
_ROTARY = frozenset("ABC")


@dataclass(slots=True)
class Block:
    """One line: its G and M words by group, and the number after every other letter.

    Attributes:
        line: 1-based.
        g, m: word by group ("G1" under "motion").
        words: value by letter.
        settings: parameter -> value, in force from the next line on (3.3.3).
        message: text of a ``(MSG,`` comment.
    """

    line: int
    g: dict[str, str] = field(default_factory=dict)
    m: dict[str, str] = field(default_factory=dict)
    words: dict[str, float] = field(default_factory=dict)
    settings: dict[int, float] = field(default_factory=dict)
    message: str | None = None

    def whole(self, letter: str) -> int:
        """Return the value after a letter as a whole number.

        Raises:
            ProgramError: it is not one.
        """
        return whole_number(self.words[letter], letter, self.line)


def read_block(
    text: str, line: int, facts: ControllerFacts, parameters: Mapping[int, float]
) -> Block:
    """Read one line of a program.

    Args:
        text: of the line.
        line: 1-based.
        facts: how the controller writes comments, and whether it skips marked lines.
        parameters: as they stand before the line.

    Raises:
        ProgramError: a letter, number, comment or combination the language does not allow, or
            that this strict reader refuses.
    """
    if len(text) > LINE_LENGTH_MOST:
        raise ProgramError(line, f"the line has {len(text)} characters, more than 256")
    block = Block(line)
    bare = re.sub(r"[ \t]+", "", _without_comments(text, block, facts)).upper()
    if bare.startswith("/"):
        if facts.skips_marked is None:
            raise ProgramError(line, "block delete is refused; what may or may not run is unproved")
        if facts.skips_marked:
            return Block(line)
        bare = bare[1:]
    if "%" in bare:
        raise ProgramError(line, "a percent sign must stand alone on the first or last line")
    values = Values(bare, parameters, line)
    while values.place < len(bare):
        letter, first = bare[values.place], values.place == 0
        if letter == "#":
            block.settings.update([values.assignment()])
            continue
        if not "A" <= letter <= "Z":
            rest = bare[values.place : values.place + 12]
            raise ProgramError(line, f"'{rest}' is not a letter and a number")
        values.place += 1
        _add_word(block, letter, values, first=first)
    return block


def _add_word(block: Block, letter: str, values: Values, *, first: bool) -> None:
    """Put one word into its block."""
    line = block.line
    if letter in _ROTARY:
        raise ProgramError(line, f"{letter} turns the piece; only X, Y and Z are read here")
    if letter not in _LETTERS:
        raise ProgramError(line, f"the letter {letter} is not part of the language read here")
    value = values.value()
    if letter == "G":
        _add_coded(block.g, "G", value, line)
    elif letter == "M":
        _add_coded(block.m, "M", value, line)
    elif letter == "N":
        if not first:
            raise ProgramError(line, "a line number must come first on its line")
        if not 0 <= whole_number(value, "N", line) <= LINE_NUMBER_MOST:
            raise ProgramError(line, "line numbers run from 0 to 99999")
    elif letter in block.words:
        raise ProgramError(line, f"the letter {letter} comes twice")
    else:
        block.words[letter] = value


def _without_comments(text: str, block: Block, facts: ControllerFacts) -> str:
    """Take the comments out of a line, keeping its message."""
    if facts.semicolon_comments:
        # A semicolon inside brackets belongs to their comment.
        cut = re.match(r"(?:[^(;]|\([^()]*\)?)*", text)
        text = text if cut is None else cut.group()
    for match in _COMMENT.finditer(text):
        content = match.group(1)
        if _MESSAGE.match(content):
            block.message = content.split(",", 1)[1].strip()
    bare = _COMMENT.sub(" ", text)
    if "(" in bare:
        raise ProgramError(block.line, "a comment is not closed, or stands inside another")
    if ")" in bare:
        raise ProgramError(block.line, "a comment ends that never began, or holds another")
    if bare != text and not facts.bracket_comments:
        raise ProgramError(block.line, "this controller reads no comments in brackets")
    return bare


def _add_coded(groups: dict[str, str], letter: str, value: float, line: int) -> None:
    """Put a G or M word into its modal group, which must be free."""
    known = G_GROUPS if letter == "G" else M_GROUPS
    tenths = round(value * 10)
    name = f"{letter}{tenths // 10}" + (f".{tenths % 10}" if tenths % 10 else "")
    if abs(value * 10 - tenths) > WHOLE * 10 or name not in known:
        reason = _REFUSED.get(name)
        raise ProgramError(
            line,
            f"{name} is refused: {reason}"
            if reason
            else f"{letter}{value:g} is not a word that is read here",
        )
    group = known[name]
    if group in groups:
        raise ProgramError(line, f"{groups[group]} and {name} exclude each other ({group} group)")
    groups[group] = name
