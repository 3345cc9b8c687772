"""The letters and numbers of one line of RS-274, and which of them may stand together.

Source of every rule: Kramer, Proctor & Messina, "The NIST RS274/NGC Interpreter - Version 3",
NISTIR 6556 (2000), sections 3.3 (lines, numbers, comments), 3.4 (modal groups, Table 4).

This is a strict subset: what is not understood in full is refused, never skipped. Parameters,
expressions and block delete are refused, since a program that is to be proved must say its numbers.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from chape.errors import ProgramError

LINE_LENGTH_MOST = 256
LINE_NUMBER_MOST = 99999
#: A value meant as a whole number may be off by this (NISTIR 6556, 3.3.2.1).
WHOLE = 1e-4

NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)"
_WORD = re.compile(rf"([A-Z])({NUMBER})")
_COMMENT = re.compile(r"\(([^()]*)\)")

#: Table 4: words of one group exclude each other on a line. With four groups of M words read here,
#: no line can hold more than the four M words of 3.3.5.
G_GROUPS: dict[str, str] = {
    **dict.fromkeys(("G0", "G1", "G2", "G3", "G80", "G81", "G82", "G83"), "motion"),
    "G17": "plane",
    **dict.fromkeys(("G90", "G91"), "distance mode"),
    "G94": "feed mode",
    **dict.fromkeys(("G20", "G21"), "units"),
    "G40": "radius compensation",
    **dict.fromkeys(("G43", "G49"), "length offset"),
    **dict.fromkeys(("G98", "G99"), "retract mode"),
    **dict.fromkeys(
        ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3", "G54.1"),
        "work offset",
    ),
    **dict.fromkeys(("G61", "G64"), "path mode"),
    **dict.fromkeys(("G4", "G53"), "non-modal"),
}
M_GROUPS: dict[str, str] = {
    **dict.fromkeys(("M0", "M1", "M2", "M30"), "stopping"),
    "M6": "cutter change",
    **dict.fromkeys(("M3", "M4", "M5"), "spindle"),
    **dict.fromkeys(("M7", "M8", "M9"), "coolant"),
}
_REFUSED: dict[str, str] = {
    "G18": "only the XY plane (G17) is read",
    "G19": "only the XY plane (G17) is read",
    "G41": "radius compensation hides the true path; programs carry the cutter's own path",
    "G42": "radius compensation hides the true path; programs carry the cutter's own path",
    "G93": "inverse-time feed is not read; give the feed in length per minute (G94)",
    "G10": "a program may not move the work offsets it was checked against",
    "G92": "a program may not move the work offsets it was checked against",
    "G28": "the reference point is not known here; retract with G53 G0 Z0",
    "G30": "the reference point is not known here; retract with G53 G0 Z0",
}
_LETTERS = frozenset("FGHIJKLMNPQRSTXYZ")


@dataclass(slots=True)
class Block:
    """One line: its G and M words by group, and the number after every other letter.

    Attributes:
        line: 1-based.
        g, m: word by group ("G1" under "motion").
        words: value by letter.
        message: text of a ``(MSG,`` comment.
    """

    line: int
    g: dict[str, str] = field(default_factory=dict)
    m: dict[str, str] = field(default_factory=dict)
    words: dict[str, float] = field(default_factory=dict)
    message: str | None = None

    def whole(self, letter: str) -> int:
        """Return the value after a letter as a whole number.

        Raises:
            ProgramError: it is not one.
        """
        return whole_number(self.words[letter], letter, self.line)


def whole_number(value: float, letter: str, line: int) -> int:
    """Return ``value`` as a whole number, which it must be within ``WHOLE``."""
    nearest = round(value)
    if abs(value - nearest) > WHOLE:
        raise ProgramError(line, f"{letter}{value:g} must be a whole number")
    return nearest


def read_block(text: str, line: int) -> Block:
    """Read one line of a program.

    Raises:
        ProgramError: a letter, number, comment or combination the language does not allow, or
            that this strict reader refuses.
    """
    if len(text) > LINE_LENGTH_MOST:
        raise ProgramError(line, f"the line has {len(text)} characters, more than 256")
    block = Block(line)
    bare = _without_comments(text, block)
    bare = re.sub(r"[ \t]+", "", bare).upper()
    _refuse_signs(bare, line)
    place = 0
    while place < len(bare):
        match = _WORD.match(bare, place)
        if match is None:
            raise ProgramError(line, f"'{bare[place : place + 12]}' is not a letter and a number")
        letter = match.group(1)
        _add_word(block, letter, float(match.group(2)), first=place == 0)
        place = match.end()
    return block


def _add_word(block: Block, letter: str, value: float, *, first: bool) -> None:
    """Put one word into its block."""
    line = block.line
    if letter not in _LETTERS:
        raise ProgramError(line, f"the letter {letter} is not part of the language read here")
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


def _without_comments(text: str, block: Block) -> str:
    """Take the comments out of a line, keeping its message."""
    for match in _COMMENT.finditer(text):
        content = match.group(1)
        if re.match(r"\s*msg\s*,", content, re.IGNORECASE):
            block.message = content.split(",", 1)[1].strip()
    bare = _COMMENT.sub(" ", text)
    if "(" in bare:
        raise ProgramError(block.line, "a comment is not closed, or stands inside another")
    if ")" in bare:
        raise ProgramError(block.line, "a comment ends that never began, or holds another")
    return bare


def _refuse_signs(bare: str, line: int) -> None:
    """Refuse the signs of parts of the language that a proved program may not use."""
    if any(sign in bare for sign in "#[]="):
        raise ProgramError(line, "parameters and expressions are refused; write plain numbers")
    if bare.startswith("/"):
        raise ProgramError(line, "block delete is refused; what may or may not run is not proved")
    if "%" in bare:
        raise ProgramError(line, "a percent sign must stand alone on the first or last line")


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
