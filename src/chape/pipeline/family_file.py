"""The family file: one model of sheath in several hands, clips and gauges, from one base.

A member is the base's sheath file with some of its keys changed. ``[grid]`` makes a member of every
combination of the values it lists; each ``[[member]]`` adds one more.
"""

from __future__ import annotations

import json
import re
from copy import deepcopy
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, ValidationError

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.model import Record
from chape.catalog.sentences import first_problem
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

#: More members than this are likely a slip in the grid.
MEMBERS_MOST = 200

#: A member's name is the name of its folder.
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ._-]{0,79}")

#: A key that TOML takes as it stands.
_BARE = re.compile(r"[A-Za-z0-9_-]+")


class MemberChoices(Record):
    """One ``[[member]]`` table.

    Attributes:
        name: of the member and its folder.
        change: tables and keys of the sheath file that differ from the base; None for none.
    """

    name: str
    change: dict[str, Any] | None = None


class FamilyFile(Record):
    """Everything a family file may hold.

    Attributes:
        name: of the family.
        base: the sheath file beside this one that the members differ from.
        grid: tables of the sheath file, with a list of values for each key: one member for each
            combination.
        member: further members.
    """

    name: str
    base: str
    grid: dict[str, Any] | None = None
    member: Annotated[tuple[MemberChoices, ...], Field(max_length=MEMBERS_MOST)] = ()


@dataclass(frozen=True, slots=True)
class Member:
    """A member: its name, the sheath file it is made from, and what differs from the base.

    Attributes:
        path: where its sheath file would lie, beside the base.
        content: of that file.
        changes: "sheath.hand" -> value, in the order of the family file.
    """

    name: str
    path: Path
    content: bytes
    changes: dict[str, Any]


def read_family(path: Path) -> tuple[str, tuple[Member, ...]]:
    """Read a family file and its base.

    Returns:
        The family's name and its members.

    Raises:
        InputError: whatever is wrong with them, by file and key.
    """
    tables = parse_toml(read_bytes(path), path)
    try:
        file = FamilyFile.model_validate(tables)
    except ValidationError as error:
        raise first_problem(error, file=path) from None
    base = path.parent / file.base
    if not base.is_file():
        raise InputError(
            f'there is no sheath file "{file.base}" beside it',
            mend="Name the base as seen from this file",
            file=path,
            field="base",
        )
    base_tables = parse_toml(read_bytes(base), base)
    members: dict[str, Member] = {}
    for name, changes in _wanted(file, path):
        if not _NAME.fullmatch(name) or name.rstrip(" .") != name:
            raise InputError(
                f'"{name}" cannot be the name of a folder',
                mend="Use letters, digits, spaces, dots and hyphens",
                file=path,
                field="member.name",
            )
        if name.casefold() in {known.casefold() for known in members}:
            raise InputError(
                f'two members have the name "{name}"',
                mend="Give each member a name of its own",
                file=path,
                field="member.name",
            )
        content = toml_of(_merged(base_tables, changes)).encode()
        members[name] = Member(name, base.with_name(f"{name}.toml"), content, dict(_flat(changes)))
    if not 0 < len(members) <= MEMBERS_MOST:
        raise InputError(
            f"the family has {len(members)} members, and 1 to {MEMBERS_MOST} are made",
            mend="Give values in [grid] or [[member]] tables",
            file=path,
        )
    return file.name, tuple(members.values())


def _wanted(file: FamilyFile, path: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the name and the changed tables of every member."""
    axes = list(_flat(file.grid or {}))
    for key, values in axes:
        if not isinstance(values, list) or not values:
            raise InputError(
                "a key of the grid has no list of values",
                mend=f"Write {key} = [first, second]",
                file=path,
                field=f"grid.{key}",
            )
    if axes:
        for values in product(*(values for _, values in axes)):
            changes: dict[str, Any] = {}
            for (key, _), value in zip(axes, values, strict=True):
                _put(changes, key.split("."), value)
            yield "-".join(_word(value) for value in values), changes
    for member in file.member:
        yield member.name, member.change or {}


def _word(value: Any) -> str:  # noqa: ANN401 - any TOML value
    """Return a value as a word of a member's name; clips by their names."""
    if isinstance(value, list):
        words = [str(part.get("clip", "")) for part in value if isinstance(part, dict)]
        return "+".join(filter(None, words)).replace("+", " ") or "none"
    if isinstance(value, dict):
        return " ".join(_word(part) for part in value.values()) or "none"
    return str(value)


def _flat(tables: dict[str, Any], lead: str = "") -> Iterator[tuple[str, Any]]:
    for key, value in tables.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{lead}{key}.")
        else:
            yield f"{lead}{key}", value


def _put(tables: dict[str, Any], keys: list[str], value: Any) -> None:  # noqa: ANN401 - TOML
    for key in keys[:-1]:
        tables = tables.setdefault(key, {})
    tables[keys[-1]] = value


def _merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    """Return the base's tables with what is changed in its place."""
    merged = deepcopy(base)
    for key, value in changes.items():
        old = merged.get(key)
        if isinstance(old, dict) and isinstance(value, dict):
            merged[key] = _merged(old, value)
        else:
            merged[key] = deepcopy(value)
    return merged


def toml_of(tables: dict[str, Any]) -> str:
    """Write tables as TOML: plain keys first, then tables, then lists of tables.

    >>> print(toml_of({"a": 1, "b": {"c": [1, 2]}}))
    a = 1
    <BLANKLINE>
    [b]
    c = [1, 2]
    <BLANKLINE>
    """
    return "\n".join([*_lines(tables, "")]).lstrip("\n") + "\n"


def _lines(tables: dict[str, Any], lead: str) -> Iterator[str]:
    nested = {k: v for k, v in tables.items() if isinstance(v, dict) or _is_tables(v)}
    yield from (f"{_key(k)} = {_value(v)}" for k, v in tables.items() if k not in nested)
    for key, value in nested.items():
        name = f"{lead}{_key(key)}"
        for part in value if isinstance(value, list) else [value]:
            yield ""
            yield f"[[{name}]]" if isinstance(value, list) else f"[{name}]"
            yield from _lines(part, f"{name}.")


def _is_tables(value: Any) -> bool:  # noqa: ANN401 - any TOML value
    return isinstance(value, list) and bool(value) and all(isinstance(v, dict) for v in value)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)


def _value(value: Any) -> str:  # noqa: ANN401 - any TOML value
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return f"[{', '.join(_value(part) for part in value)}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{_key(k)} = {_value(v)}' for k, v in value.items())} }}"
    return str(value)
