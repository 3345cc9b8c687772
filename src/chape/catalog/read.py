"""Reads the catalogue's data files, and a workshop's own entries beside them."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import ValidationError

from chape.catalog.dialect import Dialect
from chape.catalog.hardware import Clip, Eyelet
from chape.catalog.holds import Hold, NumberedFixture
from chape.catalog.model import (
    Board,
    CutMaterial,
    Heater,
    Machine,
    Rack,
    Record,
    Screw,
    SheetStock,
    VacuumTable,
)
from chape.catalog.sentences import first_problem
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

Entry = TypeVar("Entry", bound=Record)

#: What an entry may be called: it goes into sentences and onto job sheets.
NAME = re.compile(r"[\w.-]{1,60}")

#: Every kind of entry, its data file's stem and its record.
KINDS: dict[str, type[Record]] = {
    "sheets": SheetStock,
    "eyelets": Eyelet,
    "screws": Screw,
    "clips": Clip,
    "cutters": Rack,
    "machines": Machine,
    "boards": Board,
    "materials": CutMaterial,
    "dialects": Dialect,
    "heaters": Heater,
    "tables": VacuumTable,
    "holds": Hold,
    "fixtures": NumberedFixture,
}


@dataclass(frozen=True, slots=True)
class Catalog:
    """Every entry by kind and name."""

    entries: Mapping[str, Mapping[str, Record]]

    def names(self, kind: str) -> tuple[str, ...]:
        """Return the names of a kind's entries, sorted.

        Raises:
            InputError: there is no such kind.
        """
        if kind not in self.entries:
            raise InputError(
                f'the catalogue has no kind "{kind}"', mend=f"Choose one of: {', '.join(KINDS)}"
            )
        return tuple(sorted(self.entries[kind]))

    def entry(self, kind: str, name: str) -> Record:
        """Return one entry of any kind.

        Raises:
            InputError: there is no such kind, or no such entry in it.
        """
        known = self.names(kind)
        if name not in known:
            raise InputError(
                f'the catalogue has no "{name}" among its {kind}',
                mend=f"Choose one of: {', '.join(known)}",
            )
        return self.entries[kind][name]

    def as_json(self) -> str:
        """Return every entry as one JSON text, the same for the same entries."""
        plain = {
            kind: {name: entry.model_dump(mode="json") for name, entry in entries.items()}
            for kind, entries in self.entries.items()
        }
        return json.dumps(plain, sort_keys=True)

    def _find(self, kind: str, name: str, record: type[Entry]) -> Entry:
        found = self.entry(kind, name)
        if not isinstance(found, record):
            raise TypeError(f"{kind} holds a {type(found).__name__}")
        return found

    def sheet(self, name: str) -> SheetStock:
        """Return a sheet; raises InputError for an unknown name, as every method here."""
        return self._find("sheets", name, SheetStock)

    def eyelet(self, name: str) -> Eyelet:
        """Return an eyelet."""
        return self._find("eyelets", name, Eyelet)

    def other_lengths(self, eyelet: Eyelet) -> tuple[Eyelet, ...]:
        """Return the other eyelets of an eyelet's family, by name; they share its hole."""
        own = (self._find("eyelets", name, Eyelet) for name in sorted(self.entries["eyelets"]))
        return tuple(
            other
            for other in own
            if eyelet.family
            and other.family == eyelet.family
            and other.name != eyelet.name
            and other.hole.value == eyelet.hole.value
        )

    def screw(self, name: str) -> Screw:
        """Return a hold-down screw."""
        return self._find("screws", name, Screw)

    def clip(self, name: str) -> Clip:
        """Return a belt clip."""
        return self._find("clips", name, Clip)

    def rack(self, name: str) -> Rack:
        """Return a set of cutters."""
        return self._find("cutters", name, Rack)

    def machine(self, name: str) -> Machine:
        """Return a router."""
        return self._find("machines", name, Machine)

    def board(self, name: str) -> Board:
        """Return a location board."""
        return self._find("boards", name, Board)

    def heater(self, name: str) -> Heater:
        """Return a press, an oven or another heater."""
        return self._find("heaters", name, Heater)

    def table(self, name: str) -> VacuumTable:
        """Return a vacuum table."""
        return self._find("tables", name, VacuumTable)

    def dialect(self, name: str) -> Dialect:
        """Return how programs are written for a controller."""
        return self._find("dialects", name, Dialect)

    def hold(self, name: str) -> Hold:
        """Return a way to hold a plate."""
        return self._find("holds", name, Hold)

    def fixtures(self) -> tuple[NumberedFixture, ...]:
        """Return the workshop's numbered fixtures, by name."""
        held = self.entries["fixtures"]
        return tuple(self._find("fixtures", name, NumberedFixture) for name in sorted(held))

    def material(self, name: str) -> CutMaterial:
        """Return feeds and speeds of a material."""
        return self._find("materials", name, CutMaterial)


def _entries(
    tables: Mapping[str, Any], record: type[Record], file: str | Path
) -> dict[str, Record]:
    found: dict[str, Record] = {}
    for name, table in tables.items():
        if not NAME.fullmatch(name):
            raise InputError(
                f"{name!r} is no name of a catalogue entry",
                mend="Use letters, digits, dots and hyphens",
                file=file,
            )
        try:
            found[name] = record.model_validate({**table, "name": name})
        except (ValidationError, TypeError) as error:
            raise first_problem(error, file=file, within=name) from error
    return found


@cache
def catalog() -> Catalog:
    """Return the catalogue that comes with chape."""
    folder = resources.files("chape.catalog") / "data"
    entries = {}
    for kind, record in KINDS.items():
        file = folder / f"{kind}.toml"
        entries[kind] = _entries(tomllib.loads(file.read_text("utf-8")), record, file.name)
    return Catalog(entries)


def with_workshop(base: Catalog, tables: Mapping[str, Any], file: Path) -> Catalog:
    """Return ``base`` with a workshop's own entries added or replaced.

    An entry may say ``like = "name"``: what it leaves out is taken from that entry of ``base``.

    Args:
        base: the catalogue so far.
        tables: kind → name → entry, as read from the workshop's TOML file.
        file: named in errors.

    Raises:
        InputError: an unknown kind or ``like``, or an entry that does not validate.
    """
    unknown = sorted(set(tables) - set(KINDS))
    if unknown:
        raise InputError(
            f'"{unknown[0]}" is no kind of catalogue entry',
            mend=f"Use one of: {', '.join(KINDS)}",
            file=file,
            field=unknown[0],
        )
    for kind, table in tables.items():
        if not isinstance(table, dict):
            raise InputError(
                "a table was expected here",
                mend=f"Write [{kind}.NAME] and key = value lines below it",
                file=file,
                field=kind,
            )
    entries = {
        kind: {
            **base.entries[kind],
            **_entries(_completed(tables.get(kind, {}), base, kind, file), record, file),
        }
        for kind, record in KINDS.items()
    }
    return Catalog(entries)


def _completed(tables: Mapping[str, Any], base: Catalog, kind: str, file: Path) -> dict[str, Any]:
    """Return entries with what they leave out, where they say which other one they are like."""
    completed = {}
    for name, table in tables.items():
        if isinstance(table, dict) and "like" in table:
            try:
                model = base.entry(kind, table["like"])
            except InputError as error:
                raise InputError(
                    error.problem, mend=error.mend, file=file, field=f"{kind}.{name}.like"
                ) from None
            own = {key: value for key, value in table.items() if key != "like"}
            completed[name] = {**model.model_dump(exclude_unset=True), **own}
        else:
            completed[name] = table
    return completed
