"""Reads the small text files a person writes."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from chape.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

#: A file a person writes is never larger; whatever is, is something else.
LARGEST_FILE = 1_000_000


def read_bytes(path: Path, largest: int = LARGEST_FILE) -> bytes:
    """Return the bytes of a file of at most ``largest`` bytes.

    Raises:
        InputError: missing, a folder, unreadable, or far too large.
    """
    try:
        with path.open("rb") as file:
            content = file.read(largest + 1)
    except FileNotFoundError:
        raise InputError(
            "there is no such file", mend="Check the name and folder", file=path
        ) from None
    except IsADirectoryError:
        raise InputError(
            "this is a folder", mend="Name the .toml file inside it", file=path
        ) from None
    except OSError as error:
        raise InputError(
            f"the file cannot be read ({error.strerror})",
            mend="Check that you may read it",
            file=path,
        ) from error
    if len(content) > largest:
        raise InputError(
            f"the file is larger than {largest // 1000} kB",
            mend="Check that it is the right file",
            file=path,
        )
    return content


def parse_toml(content: bytes, path: Path) -> dict[str, Any]:
    """Return the tables of a TOML file.

    Raises:
        InputError: empty, not UTF-8 text, or not TOML.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            "the file is not UTF-8 text", mend="Save it as UTF-8 text", file=path
        ) from None
    if not text.strip():
        raise InputError("the file is empty", mend='Start from one "chape new" makes', file=path)
    try:
        return tomllib.loads(text)
    # A number of thousands of digits is a plain ValueError, of which TOMLDecodeError is one kind.
    except (ValueError, RecursionError) as error:
        raise InputError(
            f"the file breaks a rule of TOML ({error})", mend="Correct that line", file=path
        ) from None
