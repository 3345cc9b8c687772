"""Checks a program written by anyone, against what its user says of stock, target and machine."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.read import catalog, with_workshop
from chape.cutting.check import Verdict, check_program
from chape.cutting.dialects import facts_of
from chape.cutting.piece import Piece, piece_setup, zero_of
from chape.errors import InputError
from chape.field.triangles import LARGEST_STL, triangles_of_stl
from chape.pipeline.file import DIALECTS, WORKSHOP
from chape.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from chape.catalog.read import Catalog
    from chape.cutting.model import Setup
    from chape.field.grid import Floats

#: About two million lines; reading them takes some 20 times as much memory.
LARGEST_PROGRAM = 60_000_000
#: A check of this many nodes takes seconds.
NODES = 4_000_000
#: Finest spacing chosen unasked, mm.
SPACING = 0.2
#: Pieces and zeros beyond this are slips of the pen, mm.
LARGEST_SIZE = 10_000.0

_BOX = re.compile(r"\s*([\d.]+)\s*[x×]\s*([\d.]+)\s*[x×]\s*([\d.]+)\s*(mm|in)?\s*", re.IGNORECASE)
_FIRST_OFFSET = re.compile(r"G(5[4-9](?:\.[1-9])?)(?![\d.])(?:\s*P(\d+))?", re.IGNORECASE)
_COMMENT = re.compile(r"\([^()]*\)|;.*")


@dataclass(frozen=True, slots=True)
class LooseProgram:
    """A program without a job folder, and what is said of it.

    Attributes:
        program: its file.
        stock: "300x300x25" (mm, or "12x12x1in"), or the name of an STL file.
        target: STL file of the wanted surface, in the program's own coordinates.
        machine, rack: names in the catalogue, or in a workshop.toml beside the program.
        zero: where the program's zero lies on the stock: three words, or X,Y,Z from its
            front-left-bottom corner, mm; None is front-left-top for a box, and for an STL file that
            it stands in the program's coordinates.
        target_zero: X,Y,Z of the point of the target's file that lies at the program's zero, mm.
        offset: work offset the program should call; None takes the first it calls.
        dialect: name in the catalogue, or in a workshop.toml or dialects.toml beside the program;
            None reads what any controller may take.
        spacing: of the grid, mm; None chooses.
    """

    program: Path
    stock: str
    target: Path | None
    machine: str
    rack: str
    zero: str | None
    target_zero: str
    offset: str | None
    dialect: str | None
    spacing: float | None


def check_loose(asked: LooseProgram, watch: Callable[[str], None]) -> tuple[Setup, Verdict, str]:
    """Return the clamping, what was found, and the program's text.

    Raises:
        InputError: a file, a name or an option cannot be used.
        CannotMakeError: the grid would be too large.
    """
    watch("Read the program")
    text = _text(asked.program)
    entries = _catalogue(asked.program.parent)
    facts = None if asked.dialect is None else facts_of(entries.dialect(asked.dialect))
    piece = _stock(asked)
    width, depth, _ = piece.size
    spacing = asked.spacing or max(SPACING, (width * depth / NODES) ** 0.5)
    watch("Lay stock and target over the grid")
    setup = piece_setup(
        asked.program.name,
        piece,
        _target(asked),
        entries.machine(asked.machine),
        entries.rack(asked.rack).cutters,
        asked.offset.replace(" ", "").upper() if asked.offset else first_offset(text),
        spacing,
    )
    watch("Cut the stock as the text says")
    return setup, check_program(text, setup, facts), text


def first_offset(text: str) -> str:
    """Return the first work offset that a program calls, "G54" where it calls none."""
    for line in text.splitlines():
        found = _FIRST_OFFSET.search(_COMMENT.sub("", line))
        if found:
            page = f"P{found[2]}" if found[2] and found[1] == "54.1" else ""
            return f"G{found[1]}{page}"
    return "G54"


def _text(path: Path) -> str:
    content = read_bytes(path, LARGEST_PROGRAM)
    if b"\0" in content:
        raise InputError(
            "this is no text",
            mend="Name the program's own file, as the machine reads it",
            file=path,
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Comments of older writers; the words of a program are plain letters in either.
        return content.decode("latin-1")


def _catalogue(folder: Path) -> Catalog:
    """Return the catalogue with the entries and dialects that stand in a folder."""
    entries = catalog()
    workshop, own = folder / WORKSHOP, folder / DIALECTS
    if workshop.is_file():
        entries = with_workshop(entries, parse_toml(read_bytes(workshop), workshop), workshop)
    if own.is_file():
        entries = with_workshop(entries, {"dialects": parse_toml(read_bytes(own), own)}, own)
    return entries


def _stock(asked: LooseProgram) -> Piece:
    box = _BOX.fullmatch(asked.stock)
    if box is None:
        from pathlib import Path as AnyPath  # noqa: PLC0415  # only a name of a file needs it

        path = AnyPath(asked.stock)
        if path.suffix.lower() != ".stl":
            raise InputError(
                f'"{asked.stock}" is neither a size nor the name of an STL file',
                mend="Write width x depth x height such as 300x300x25, or name an .stl file",
                field="--stock",
            )
        piece = Piece.of_mesh(_mesh(path))
        return piece if asked.zero is None else piece.zeroed(_zero(asked.zero, piece.size))
    scale = MM_PER_INCH if (box[4] or "").lower() == "in" else 1.0
    try:
        x, y, z = (float(part) * scale for part in box.groups()[:3])
    except ValueError:
        raise InputError(
            f'"{asked.stock}" is no size', mend="Write such as 300x300x25", field="--stock"
        ) from None
    if not all(0 < size <= LARGEST_SIZE for size in (x, y, z)):
        raise InputError(
            f'a stock of "{asked.stock}" is no piece for a router',
            mend="Write its width, depth and height in mm, such as 300x300x25",
            field="--stock",
        )
    piece = Piece((0.0, 0.0, 0.0), (x, y, z))
    return piece.zeroed(_zero(asked.zero or "front-left-top", piece.size))


def _target(asked: LooseProgram) -> Floats | None:
    if asked.target is None:
        return None
    x, y, z = _place(asked.target_zero, "--target-zero")
    moved: Floats = _mesh(asked.target) - [x, y, z]
    return moved


def _mesh(path: Path) -> Floats:
    try:
        return triangles_of_stl(read_bytes(path, LARGEST_STL))
    except InputError as error:
        raise error.in_file(path) if error.file is None else error from None


def _zero(words: str, size: tuple[float, float, float]) -> tuple[float, float, float]:
    return _place(words, "--zero") if "," in words else zero_of(words, size)


def _place(words: str, option: str) -> tuple[float, float, float]:
    """Return three numbers separated by commas."""
    try:
        x, y, z = (float(part) for part in words.split(","))
    except ValueError:
        x = y = z = float("nan")
    if not all(abs(value) <= LARGEST_SIZE for value in (x, y, z)):
        raise InputError(
            f'"{words}" is no place', mend="Write X,Y,Z in mm, such as 0,0,25", field=option
        )
    return x, y, z
