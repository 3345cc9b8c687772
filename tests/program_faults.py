"""Ways in which the text of a program goes wrong between its maker and the machine.

Each maker takes the lines of a good program and a source of chance, and returns broken lines, or
None where the program has nothing to break in that way.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from random import Random

    Lines = list[str]
    Fault = Callable[[Lines, Random], Lines | None]

NUMBER = r"(-?\d+\.\d+)"


def _pick(lines: Lines, pattern: str, chance: Random) -> int | None:
    """Return the index of some line of words, not of comment, that the pattern is found in."""
    found = [
        n
        for n, line in enumerate(lines)
        if line[:1] != "(" and re.search(pattern, line) is not None
    ]
    return chance.choice(found) if found else None


def _changed(lines: Lines, n: int | None, *instead: str) -> Lines | None:
    return None if n is None else [*lines[:n], *instead, *lines[n + 1 :]]


def _reworded(
    lines: Lines, chance: Random, pattern: str, word: Callable[[re.Match[str]], str]
) -> Lines | None:
    """Replace one word of one line."""
    n = _pick(lines, pattern, chance)
    if n is None:
        return None
    match = chance.choice(list(re.finditer(pattern, lines[n])))
    return _changed(lines, n, lines[n][: match.start()] + word(match) + lines[n][match.end() :])


def _everywhere(lines: Lines, pattern: str, word: Callable[[re.Match[str]], str]) -> Lines:
    return [line if line[:1] == "(" else re.sub(pattern, word, line) for line in lines]


def shifted(lines: Lines, letter: str, by: float) -> Lines:
    return _everywhere(lines, letter + NUMBER, lambda m: f"{letter}{float(m[1]) + by:.4f}")


def wrong_sign(lines: Lines, chance: Random) -> Lines | None:
    def turned(match: re.Match[str]) -> str:
        return f"{match[1]}{-float(match[2]):.4f}"

    return _reworded(lines, chance, r"([XYZ])(-?\d*[1-9]\d*\.\d+|-?\d+\.\d*[1-9]\d*)", turned)


def wrong_sign_of_centre(lines: Lines, chance: Random) -> Lines | None:
    def turned(match: re.Match[str]) -> str:
        return f"{match[1]}{-float(match[2]):.4f}"

    return _reworded(lines, chance, r"([IJ])(-?\d*[1-9]\d*\.\d+|-?\d+\.\d*[1-9]\d*)", turned)


def dropped_retract(lines: Lines, chance: Random) -> Lines | None:
    """Leave out a rapid that only changes height; the next line keeps its G0."""
    n = _pick(lines, rf"^(G0 )?Z{NUMBER}$", chance)
    if n is None or n + 1 >= len(lines):
        return None
    follower = lines[n + 1]
    if lines[n].startswith("G0") and not re.search(r"G\d|M\d", follower):
        follower = f"G0 {follower}"
    return [*lines[:n], follower, *lines[n + 2 :]]


def inch_for_mm(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"G21\b", lambda _: "G20")


def swapped_centre(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, rf"I{NUMBER} J{NUMBER}", lambda m: f"I{m[2]} J{m[1]}")


def swapped_axes(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, rf"X{NUMBER} Y{NUMBER}", lambda m: f"X{m[2]} Y{m[1]}")


def lost_offset(lines: Lines, _: Random) -> Lines | None:
    """Leave the work offset out wherever it is called."""
    return [line for line in lines if not re.fullmatch(r"G5[4-9]", line)]


def other_offset(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(
        lines, chance, r"G5([45])\b", lambda m: chance.choice(["G5" + "54"[m[1] == "5"], "G58"])
    )


def other_cutter(lines: Lines, chance: Random) -> Lines | None:
    """Call another cutter of the rack, with its own length, as a slip in a table would."""
    n = _pick(lines, r"^T\d+", chance)
    if n is None:
        return None
    own = re.match(r"T(\d+)", lines[n])[1]  # type: ignore[index]  # just matched
    other = chance.choice([k for k in "1234567" if k != own])
    changed = [*lines]
    changed[n] = lines[n].replace(f"T{own}", f"T{other}")
    for k in range(n + 1, min(n + 5, len(lines))):
        changed[k] = changed[k].replace(f"H{own}", f"H{other}")
    return changed


def other_length(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"H(\d+)", lambda m: f"H{int(m[1]) % 7 + 1}")


def moved_point(lines: Lines, chance: Random) -> Lines | None:
    factor = chance.choice([0.1, 10.0, 100.0])

    def moved(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) * factor:.4f}"

    return _reworded(lines, chance, r"([XYZIJ])(-?\d*[1-9]\d*\.\d+|-?\d+\.\d*[1-9]\d*)", moved)


def wrong_digit(lines: Lines, chance: Random) -> Lines | None:
    def other(match: re.Match[str]) -> str:
        text = match[0]
        n = chance.choice([k for k, letter in enumerate(text) if letter.isdigit()])
        digit = chance.choice([d for d in "0123456789" if d != text[n]])
        return text[:n] + digit + text[n + 1 :]

    return _reworded(lines, chance, rf"[XYZIJ]{NUMBER}", other)


def cut_short(lines: Lines, chance: Random) -> Lines | None:
    return lines[: chance.randrange(1, len(lines))]


def lost_piece(lines: Lines, chance: Random) -> Lines | None:
    """Leave out some tens of lines, as a damaged copy does."""
    first = chance.randrange(8, len(lines) - 2)
    last = min(first + chance.randrange(5, 60), len(lines) - 1)
    return [*lines[:first], *lines[last:]]


def other_way_round(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"G([23])\b(?!\d)", lambda m: f"G{5 - int(m[1])}")


def doubled_line(lines: Lines, chance: Random) -> Lines | None:
    n = chance.randrange(len(lines))
    return _changed(lines, n, lines[n], lines[n])


def deleted_line(lines: Lines, chance: Random) -> Lines | None:
    n = _pick(lines, r"\S", chance)
    return _changed(lines, n)


def exchanged_lines(lines: Lines, chance: Random) -> Lines | None:
    n = chance.randrange(len(lines) - 1)
    return [*lines[:n], lines[n + 1], lines[n], *lines[n + 2 :]]


def feed_hundredfold(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, rf"F{NUMBER}", lambda m: f"F{float(m[1]) * 100:.1f}")


def lost_feed(lines: Lines, _: Random) -> Lines | None:
    return _everywhere(lines, rf" ?F{NUMBER}", lambda _: "")


def zero_height_off(lines: Lines, chance: Random) -> Lines | None:
    return shifted(lines, "Z", chance.choice([-1.0, 1.0]))


def zero_aside(lines: Lines, chance: Random) -> Lines | None:
    return shifted(lines, chance.choice("XY"), chance.choice([-1, 1]) * chance.uniform(0.4, 5))


def spindle_stopped(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"M3\b", lambda _: "M5")


def spindle_reversed(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"M3\b", lambda _: "M4")


def mirrored(lines: Lines, chance: Random) -> Lines | None:
    """Turn X over about the piece's middle line, arcs and all, as an unflipped side is."""
    places = [
        float(x) for line in lines if line[:1] != "(" for x in re.findall(rf"X{NUMBER}", line)
    ]
    if not places:
        return None
    middle = min(places) + max(places)
    if chance.random() < 0.5:
        middle = 0.0
    turned = _everywhere(lines, rf"X{NUMBER}", lambda m: f"X{middle - float(m[1]):.4f}")
    turned = _everywhere(turned, rf"I{NUMBER}", lambda m: f"I{-float(m[1]):.4f}")
    return _everywhere(turned, r"G([23])\b(?!\d)", lambda m: f"G{5 - int(m[1])}")


def exchanged_operations(lines: Lines, chance: Random) -> Lines | None:
    heads = [n for n, line in enumerate(lines) if re.match(r"\(\d+\. ", line)]
    if len(heads) < 2:
        return None
    first = chance.randrange(len(heads) - 1)
    a, b = heads[first], heads[first + 1]
    end = heads[first + 2] if first + 2 < len(heads) else lines.index("M5", b)
    return [*lines[:a], *lines[b:end], *lines[a:b], *lines[end:]]


def rapid_for_cut(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"G1\b(?!\d)", lambda _: "G0")


def lost_motion(lines: Lines, chance: Random) -> Lines | None:
    """Leave out a G1, so that the motion in force before goes on."""
    return _reworded(lines, chance, r"G1 ", lambda _: "")


def incremental(lines: Lines, chance: Random) -> Lines | None:
    return _reworded(lines, chance, r"G90\b", lambda _: "G91")


def lost_stop(lines: Lines, chance: Random) -> Lines | None:
    return _changed(lines, _pick(lines, r"^M0$", chance))


def joined_rapids(lines: Lines, chance: Random) -> Lines | None:
    """Make one rapid of a lift or fall and the travel after it."""
    pairs = [
        n
        for n in range(len(lines) - 1)
        if re.fullmatch(rf"G0 Z{NUMBER}", lines[n])
        and re.fullmatch(rf"X{NUMBER}( Y{NUMBER})?|Y{NUMBER}", lines[n + 1])
    ]
    if not pairs:
        return None
    n = chance.choice(pairs)
    return [*lines[:n], f"{lines[n]} {lines[n + 1]}", *lines[n + 2 :]]


def stray_letter(lines: Lines, chance: Random) -> Lines | None:
    n = _pick(lines, r"^[GXYZ]", chance)
    if n is None:
        return None
    at = chance.randrange(len(lines[n]))
    return _changed(lines, n, lines[n][:at] + chance.choice("QX#,-7.") + lines[n][at:])


FAULTS: dict[str, Fault] = {
    fault.__name__: fault
    for fault in (
        wrong_sign, wrong_sign_of_centre, dropped_retract, inch_for_mm, swapped_centre,
        swapped_axes, lost_offset, other_offset, other_cutter, other_length, moved_point,
        wrong_digit, cut_short, lost_piece, other_way_round, doubled_line, deleted_line,
        exchanged_lines, feed_hundredfold, lost_feed, zero_height_off, zero_aside,
        spindle_stopped, spindle_reversed, mirrored, exchanged_operations, rapid_for_cut,
        lost_motion, incremental, lost_stop, joined_rapids, stray_letter,
    )
}  # fmt: skip
