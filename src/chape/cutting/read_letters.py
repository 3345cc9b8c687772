"""Which letters a line may carry: every one must be used by a word on it, and by one alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.errors import ProgramError

if TYPE_CHECKING:
    from chape.cutting.read_arcs import Plane
    from chape.cutting.read_words import Block

AXES = frozenset("XYZ")
STRAIGHT = ("G0", "G1")
ARCS = ("G2", "G3")
#: Those of NISTIR 6556, 3.5.16, and G73, which other controllers have beside them.
CYCLES = ("G73", "G81", "G82", "G83")
#: Words that take the axis words of their line for themselves.
HOME = ("G28", "G30")
#: Words that need a letter of their own.
_NEEDS = {
    "G4": ("P", "how long to wait"),
    "G43": ("H", "the number of the length offset"),
    "G54.1": ("P", "the number of the offset"),
}


def use_of_axes(block: Block, motion: str | None) -> str:
    """Return what the axis words of a line are for: a motion, "home", "preset" or "none".

    Args:
        block: the line.
        motion: the motion in force before it.

    Raises:
        ProgramError: two words of the line use them (3.4), or G92 has none.
    """
    word = block.g.get("motion", motion)
    taker = block.g.get("non-modal")
    there = bool(AXES & block.words.keys())
    if taker in HOME or taker == "G92":
        if block.g.get("motion", "G80") != "G80":
            raise ProgramError(
                block.line, f"{block.g['motion']} and {taker} both use the axis words of the line"
            )
        if taker == "G92" and not there:
            raise ProgramError(block.line, "G92 needs X, Y or Z")
        return "preset" if taker == "G92" else "home"
    if not there:
        return "none"
    if word in STRAIGHT:
        return "straight"
    if word in ARCS:
        return "arc"
    return "cycle" if word in CYCLES else "none"


def check_letters(block: Block, motion: str | None, plane: Plane) -> str:
    """Refuse letters that nothing on the line uses; return the use of the axis words.

    Raises:
        ProgramError: naming the letters.
    """
    use = use_of_axes(block, motion)
    given = block.g.get("motion")
    if use == "none" and given not in (None, "G80", *STRAIGHT):
        raise ProgramError(block.line, f"{given} needs X, Y or Z")
    if use == "none" and AXES & block.words.keys():
        raise ProgramError(block.line, "X, Y or Z stand on a line where no motion is in force")
    letters = {
        "straight": AXES,
        "arc": AXES | {*plane.offsets, "R"},
        "cycle": AXES | set("RLPQ"),
        "home": AXES,
        "preset": AXES,
        "none": frozenset[str](),
    }
    unused = sorted(block.words.keys() - set("FSTO") - letters[use] - _needed(block, use))
    if unused:
        raise ProgramError(block.line, f"nothing on the line uses {', '.join(unused)}")
    if block.g.get("non-modal") == "G53" and use != "straight":
        raise ProgramError(block.line, "G53 needs a straight move (G0 or G1)")
    return use


def _needed(block: Block, use: str) -> set[str]:
    """Return the letters that words of the line need, all of which must be there."""
    words = [block.g.get("non-modal"), block.g.get("length offset"), block.g.get("work offset")]
    users = [word for word in words if word in _NEEDS]
    for word in users:
        letter, what = _NEEDS[str(word)]
        if letter not in block.words:
            raise ProgramError(block.line, f"{word} needs {letter}, {what}")
    wanting_p = [word for word in users if _NEEDS[str(word)][0] == "P"]
    if wanting_p and len(wanting_p) + (use == "cycle") > 1:
        raise ProgramError(block.line, f"{wanting_p[0]} shares its P with another word")
    return {_NEEDS[str(word)][0] for word in users}
