"""The sheath file: one TOML file that says what to make and what to make it with."""

from __future__ import annotations

import json
import os.path
from dataclasses import dataclass
from operator import attrgetter
from pathlib import PurePath
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.model import Record
from chape.catalog.read import Catalog, catalog, with_workshop
from chape.errors import InputError
from chape.field.grid import Grid
from chape.field.mesh_file import LARGEST_MESH
from chape.fit.model import FitChoices
from chape.forming.model import FormingChoices
from chape.pipeline.lengths import read_tables
from chape.pipeline.trial_book import TRIALS
from chape.sheath.model import SheathChoices
from chape.tooling.figure import LARGEST_FIGURE
from chape.tooling.model import BlankChoices, FixtureChoices, MouldChoices
from chape.units import LengthUnit

if TYPE_CHECKING:
    from pathlib import Path

#: What a knife file may name, by table and key, and how large such a file may be, bytes.
NAMED_BY_KNIFE = (("outline", "drawing", 20_000_000), ("mesh", "file", LARGEST_MESH))

#: A workshop's own catalogue entries stand in this file beside the sheath file.
WORKSHOP = "workshop.toml"

#: Dialects for the workshop's own controllers may stand in a file of their own beside it.
DIALECTS = "dialects.toml"


#: Keys that name an entry of the catalogue, with its kind.
NAMED_IN_CATALOG = {
    "sheath.sheet": "sheets",
    "sheath.eyelets.eyelet": "eyelets",
    "fixture.screw": "screws",
    "fixture.board": "boards",
    "mould.material": "materials",
    "fixture.material": "materials",
    "mould.hold": "holds",
    "mould.hold_back": "holds",
    "fixture.hold": "holds",
    "machine.router": "machines",
    "machine.rack": "cutters",
    "machine.dialect": "dialects",
    "forming.heater": "heaters",
    "forming.strip": "heaters",
    "forming.table": "tables",
    "sheath.clips.clip": "clips",
}

#: Those of them that stand in rows of a table.
NAMED_IN_ROWS = ("sheath.clips.clip",)


class MachineChoices(Record):
    """The ``[machine]`` table.

    Attributes:
        router: name of the machine in the catalogue.
        rack: name of the cutters in it.
        dialect: name of the program dialect; None takes the router's own.
        spring_pass: outlines are cut a second time at full depth.
    """

    router: str = "router-600"
    rack: str = "rack-6"
    dialect: str | None = None
    spring_pass: Annotated[bool, Field(strict=True)] = True


class SheathFile(Record):
    """Everything a sheath file may hold.

    Attributes:
        unit: what every length in this file is written in.
    """

    unit: LengthUnit = LengthUnit.MM
    sheath: SheathChoices
    fit: FitChoices = FitChoices()
    blank: BlankChoices = BlankChoices()
    mould: MouldChoices = MouldChoices()
    fixture: FixtureChoices = FixtureChoices()
    machine: MachineChoices = MachineChoices()
    forming: FormingChoices = FormingChoices()


@dataclass(frozen=True, slots=True)
class Request:
    """A sheath file as read, with what it leans on.

    Attributes:
        path: the sheath file.
        file: its content, lengths in mm.
        knife: the knife file.
        catalog: the catalogue with the workshop's own entries.
        knife_inputs: name -> bytes of the knife file and the drawing or mesh it names.
        inputs: name -> bytes of every file read, for the manifest and the job folder.
        copies: the files are a job's own copies, which lie side by side under their bare names.
        others: the further sheaths on its blank.
    """

    path: Path
    file: SheathFile
    knife: Path
    catalog: Catalog
    knife_inputs: dict[str, bytes]
    inputs: dict[str, bytes]
    copies: bool = False
    others: tuple[Request, ...] = ()


def read_request(
    path: Path,
    *,
    copies: bool = False,
    content: bytes | None = None,
    tables: dict[str, Any] | None = None,
) -> Request:
    """Read a sheath file, its workshop file if there is one, and find its knife file.

    Args:
        path: the sheath file.
        copies: it is the copy in a job folder: what it names is taken from beside it, and from
            nowhere else, under its bare name.
        content: what the sheath file holds, for one that is not on the disk; None reads it.
        tables: the same as tables, for one that is not even written down; None reads ``content``.

    Raises:
        InputError: whatever is wrong with them, by file and key.
        CannotMakeError: the blank would need too fine a grid.
    """
    if tables is None:
        content = read_bytes(path) if content is None else content
        tables = parse_toml(content, path)
    else:
        content = json.dumps(tables).encode()
    file, _ = read_tables(tables, SheathFile, path)
    # The blank's grid is the largest of a job: where it is too large, say so before any work.
    Grid.over(0.0, 0.0, file.blank.width, file.blank.depth, file.sheath.spacing)
    inputs: dict[str, bytes] = {}
    _add(inputs, path, content)
    entries, own = _entries_beside(path)
    for place, own_content in own.items():
        _add(inputs, place, own_content)
    trials = path.parent / TRIALS
    if trials.is_file():
        _add(inputs, trials, read_bytes(trials))
    _check_names(file, entries, path)
    for figure in dict.fromkeys(mark.figure for mark in file.mould.marks):
        if figure is not None:
            drawing = path.parent / _named(figure, copies=copies)
            _add(inputs, drawing, read_bytes(drawing, LARGEST_FIGURE))
    knife = path.parent / _named(file.sheath.knife, copies=copies)
    if not os.path.isfile(knife):  # noqa: PTH113 - Path.is_file raises for a name that is too long
        raise InputError(
            f'there is no knife file "{file.sheath.knife}" beside it',
            mend="Name the knife file as seen from this one",
            file=path,
            field="sheath.knife",
        )
    knife_inputs = _knife_inputs(knife, copies=copies)
    for name, content in knife_inputs.items():
        _add(inputs, knife.parent / name, content)
    others = tuple(
        _other(path, n, other.sheath, inputs, copies=copies)
        for n, other in enumerate(file.blank.others, 1)
    )
    return Request(path, file, knife, entries, knife_inputs, inputs, copies, others)


def catalog_beside(path: Path) -> Catalog:
    """Return the catalogue with the workshop's own entries, as a sheath file there knows it.

    Raises:
        InputError: a file of the workshop's cannot be used.
    """
    return _entries_beside(path)[0]


def _entries_beside(path: Path) -> tuple[Catalog, dict[Path, bytes]]:
    """Return the catalogue with the workshop's own entries, and the files those stand in."""
    entries, files = catalog(), {}
    workshop = path.parent / WORKSHOP
    if workshop.is_file():
        files[workshop] = read_bytes(workshop)
        entries = with_workshop(entries, parse_toml(files[workshop], workshop), workshop)
    own = path.parent / DIALECTS
    if own.is_file():
        files[own] = read_bytes(own)
        entries = with_workshop(entries, {"dialects": parse_toml(files[own], own)}, own)
    return entries, files


def _other(
    path: Path, number: int, name: str, inputs: dict[str, bytes], *, copies: bool
) -> Request:
    """Read the file of a further sheath on the blank, and add what it reads to ``inputs``.

    Raises:
        InputError: whatever is wrong with it; or it names further sheaths itself.
    """
    place = path.parent / _named(name, copies=copies)
    if not os.path.isfile(place):  # noqa: PTH113 - as above
        raise InputError(
            f'number {number} names the sheath file "{name}", and there is none',
            mend="Name the sheath file as seen from this one",
            file=path,
            field="blank.others.sheath",
        )
    if os.path.samefile(place, path) if os.path.isfile(path) else place == path:  # noqa: PTH113, PTH121 - as above
        raise InputError(
            f"number {number} is this file itself",
            mend="Set blank.copies for more of the same sheath",
            file=path,
            field="blank.others.sheath",
        )
    tables = parse_toml(read_bytes(place), place)
    blank = tables.get("blank")
    if isinstance(blank, dict) and blank.get("others"):
        raise InputError(
            "it names further sheaths itself, and is one of another file's",
            mend="Name all of them in the one file that is made",
            file=place,
            field="blank.others",
        )
    other = read_request(place, copies=copies)
    for file_name, content in other.inputs.items():
        if inputs.get(file_name) != content:
            _add(inputs, place.parent / file_name, content)
    return other


def _check_names(file: SheathFile, entries: Catalog, path: Path) -> None:
    """Raise for the first name that is not in the catalogue, before any work is done.

    Raises:
        InputError: naming the key, and the names to choose from.
    """
    sheath, machine = file.sheath, file.machine
    named = [
        (kind, attrgetter(field)(file), field)
        for field, kind in NAMED_IN_CATALOG.items()
        if field not in NAMED_IN_ROWS and attrgetter(field)(file) is not None
    ]
    if sheath.sheet in entries.names("sheets"):
        named.append(("materials", entries.sheet(sheath.sheet).material, "sheath.sheet"))
    for k, choice in enumerate(sheath.clips):
        named.append(("clips", choice.clip, f"sheath.clips.{k}.clip"))
    for kind, name, field in named:
        try:
            entries.entry(kind, name)
        except InputError as error:
            raise InputError(error.problem, mend=error.mend, file=path, field=field) from None
    try:
        words = entries.dialect(machine.dialect or entries.machine(machine.router).dialect)
    except InputError as error:
        raise InputError(
            error.problem, mend=error.mend, file=path, field="machine.dialect"
        ) from None
    if not words.knows_offset(file.mould.offset):
        raise InputError(
            f'the dialect "{words.name}" does not know the work offset {file.mould.offset}',
            mend=f"Choose one of: {words.offsets_in_words}",
            file=path,
            field="mould.offset",
        )
    board = entries.board(file.fixture.board)
    if not words.knows_offset(board.offset):
        raise InputError(
            f'the board "{board.name}" has the work offset {board.offset}, which the dialect '
            f'"{words.name}" does not know',
            mend=f"Give the board one of: {words.offsets_in_words}",
            file=path,
            field="fixture.board",
        )


def _named(name: str, *, copies: bool) -> str:
    return PurePath(name).name if copies else name


def _add(inputs: dict[str, bytes], path: Path, content: bytes) -> None:
    """Add a file to those that are copied side by side into the job folder.

    Raises:
        InputError: it has the name of another file there, or one that cannot be written down.
    """
    # Some disks take "Knife.toml" and "knife.toml" for the same name.
    if path.name.casefold() in {name.casefold() for name in inputs}:
        raise InputError(
            "another file of this job has the same name, and copies of both go into its folder",
            mend="Rename one of them",
            file=path,
        )
    try:
        path.name.encode()
    except UnicodeEncodeError:
        raise InputError(
            f"the file's name {path.name!r} is not UTF-8 text", mend="Rename it"
        ) from None
    inputs[path.name] = content


def _knife_inputs(knife: Path, *, copies: bool) -> dict[str, bytes]:
    """Return the knife file and the drawing or mesh it names, if it names one that is there."""
    inputs: dict[str, bytes] = {}
    _add(inputs, knife, read_bytes(knife))
    tables = parse_toml(inputs[knife.name], knife)
    for table, key, largest in NAMED_BY_KNIFE:
        within = tables.get(table)
        named = within.get(key) if isinstance(within, dict) else None
        if isinstance(named, str):
            path = knife.parent / _named(named, copies=copies)
            if os.path.isfile(path):  # noqa: PTH113 - as above
                _add(inputs, path, read_bytes(path, largest))
    return inputs
