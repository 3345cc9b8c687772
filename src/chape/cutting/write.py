"""Programs as text: RS-274 words in the order and the form a dialect asks for.

A program is one text, or one for each cutter where the machine cannot wait for a change. Each
operation begins with every mode it needs, so that a person can start again there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.catalog.dialect import CutterChange
from chape.cutting.write_comments import comments, messages, short_comment
from chape.cutting.write_moves import Pen
from chape.errors import CannotMakeError, InputError
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.catalog.dialect import Dialect
    from chape.cutting.model import Operation, Program, Setup

CAUTION = (
    "CAUTION: before the start, check the zero, the cutter lengths, the hold-down "
    "and the way to the safe height. Wear eye protection. Clear chips with the spindle stopped."
)
RESTART = (
    "To start again after a break, put in the cutter named there, see that the way to the safe "
    "height is free, let the spindle come up to speed, and start at one of these lines:"
)

#: Operations with their numbers in the program.
Numbered = tuple[tuple[int, "Operation"], ...]


def write_program(program: Program, dialect: Dialect) -> tuple[str, ...]:
    """Return the texts of a program, to be run one after the other; mostly there is one.

    The same program gives the same texts.

    Raises:
        InputError: the dialect does not know the setup's work offset.
        CannotMakeError: a move is not finite, mixes height with travel in a rapid, or an arc's
            radii differ.
    """
    offset = program.setup.offset
    if not dialect.knows_offset(offset):
        raise InputError(
            f'the dialect "{dialect.name}" has no work offset {offset}',
            mend=f"Choose one of: {dialect.offsets_in_words}",
            field="offset",
        )
    parts = _parts(program, dialect)
    return tuple(
        _text(program.setup, part, _part_words(number, len(parts)), dialect)
        for number, part in enumerate(parts, start=1)
    )


def _parts(program: Program, dialect: Dialect) -> list[Numbered]:
    """Return the operations by text: a new one at each cutter where every cutter has its own."""
    parts: list[list[tuple[int, Operation]]] = [[]]
    for number, operation in enumerate(program.operations, start=1):
        part = parts[-1]
        fresh = part and part[-1][1].cutter.number != operation.cutter.number
        if fresh and dialect.cutter_change is CutterChange.FILE:
            parts.append([])
        parts[-1].append((number, operation))
    return [tuple(part) for part in parts]


def _part_words(number: int, count: int) -> str:
    return f"Part {number} of {count}: run them in this order" if count > 1 else ""


def _text(setup: Setup, part: Numbered, part_words: str, dialect: Dialect) -> str:
    """Return one whole text, from its header to its end."""
    body = list(_body(setup, part, dialect))
    restarts = [n for n, line in enumerate(body) if line.startswith("G17 ")]
    lines = ["%"] if dialect.percent else []
    for words in _header(setup, part, part_words, dialect):
        lines += comments(words, dialect)
    if dialect.restart_points:
        lines += comments(RESTART, dialect)
        first = len(lines) + len(part) + 1
        for at, (number, operation) in zip(restarts, part, strict=True):
            words = f"Line {first + at}: T{operation.cutter.number}, {number}. {operation.title}"
            lines.append(short_comment(words, dialect))
    lines += body
    if dialect.line_numbers:
        # Numbers start again past the largest that RS-274 allows.
        lines = [
            line if line[0] in "%(;" else f"N{number % 100000} {line}"
            for number, line in enumerate(lines, start=1)
        ]
    if dialect.percent:
        lines.append("%")
    _refuse_long(lines, dialect)
    return "\n".join(lines) + "\n"


def _refuse_long(lines: list[str], dialect: Dialect) -> None:
    longest = max(lines, key=len)
    if len(longest) > dialect.line_longest:
        raise CannotMakeError(
            f'a line of {len(longest)} characters is too long for the dialect "{dialect.name}"',
            mend=f"Let the dialect take lines longer than {dialect.line_longest}",
        )


def _header(setup: Setup, part: Numbered, part_words: str, dialect: Dialect) -> Iterator[str]:
    """Yield what a person at the machine must know before the start."""
    yield f"{setup.name}: {setup.title}"
    if part_words:
        yield part_words
    yield f"Lengths in {dialect.unit.value}, work offset {setup.offset}, {setup.machine.title}"
    if setup.fixture:
        yield f"For {setup.fixture}"
    top = float(setup.stock.z.max())
    width, depth, low, high = (
        show_length(length, dialect.unit)
        for length in (setup.width, setup.depth, setup.z_bottom, top)
    )
    yield (
        f"Piece {width} x {depth}, from Z {low} to {high}. Zero: front left corner; Z zero "
        + ("at the face that lies up" if setup.flipped else "at the flange plane")
    )
    seen: set[int] = set()
    for _, operation in part:
        cutter = operation.cutter
        if cutter.number not in seen:
            seen.add(cutter.number)
            reach = show_length(cutter.stick_out, dialect.unit)
            yield f"T{cutter.number}: {cutter.name}, stick-out {reach}"
    yield CAUTION


def _body(setup: Setup, part: Numbered, dialect: Dialect) -> Iterator[str]:
    """Yield every line that is more than a remark."""
    pen = Pen(dialect)
    loaded = turning = None
    for number, operation in part:
        yield from comments(f"{number}. {operation.title}", dialect)
        # A person may have moved the machine, or start here: every mode is called again.
        pen.forget()
        units = "G20" if dialect.unit is LengthUnit.INCH else "G21"
        yield f"G17 {units} G40 G49 G80 G90 G94"
        yield setup.offset
        yield from _change(operation, dialect, loaded, turning)
        loaded, turning = operation.cutter.number, operation.spindle
        yield from pen.moves(operation)
    yield "M5"
    yield dialect.end


def _change(
    operation: Operation, dialect: Dialect, loaded: int | None, turning: float | None
) -> Iterator[str]:
    """Yield a cutter change or a stop for the hand, where there is one, and the spindle's start.

    Nobody waits for a spindle that goes on turning as fast as before.
    """
    cutter, change = operation.cutter, dialect.cutter_change
    fresh = cutter.number != loaded
    by_hand = fresh and change is CutterChange.STOP
    stops = operation.stop_before or by_hand
    if loaded is not None and (fresh or stops):
        yield "M5"
    if operation.stop_before:
        yield from messages(operation.stop_message, dialect)
    if by_hand:
        yield from messages(f"Put in T{cutter.number}, {cutter.name}, and set its zero", dialect)
    if fresh and change is not CutterChange.WORD:
        # Moves nothing, and says to whoever reads the program which cutter is in the spindle.
        yield f"T{cutter.number}"
    if stops:
        yield "M0"
    if fresh and change is CutterChange.WORD:
        yield f"T{cutter.number} M6"
    yield f"S{operation.spindle:.0f} M3"
    if dialect.spin_up and (fresh or stops or operation.spindle != turning):
        yield f"G4 P{dialect.spin_up / dialect.dwell_unit.seconds:.6g}"
    if dialect.cutter_lengths:
        yield f"G43 H{cutter.number}"
