"""How the shop's commands open the shop, and what they have in common."""

from __future__ import annotations

from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chape.errors import InputError, OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from chape.shop.store import Shop

#: Where the shop is: in the folder one stands in, unless told.
ShopFolder = Annotated[
    Path, typer.Option("--shop", "-s", envvar="CHAPE_SHOP", help="The shop's folder.")
]
HERE = Path()


@contextmanager
def opened(folder: Path) -> Iterator[Shop]:
    """Open a shop, and let go of its database afterwards."""
    from chape.shop.store import open_shop

    shop = open_shop(folder)
    try:
        yield shop
    finally:
        shop.close()


def now() -> datetime:
    """Return this moment: the only clock the shop's commands read."""
    return datetime.now(UTC)


def today() -> date:
    """Return the day by the clock on the wall."""
    return datetime.now(UTC).astimezone().date()


def day_of(text: str | None) -> date:
    """Return a day as typed, today where none was.

    Raises:
        InputError: it is no day.
    """
    if text is None:
        return today()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f'found the day "{text}"', mend="Write it as 2026-03-14") from None


def moment_of(text: str | None) -> datetime:
    """Return a moment as typed, by the clock on the wall; now where none was.

    Raises:
        InputError: it is no moment.
    """
    if text is None:
        return now().astimezone()
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise InputError(f'found the time "{text}"', mend="Write it as 2026-03-14T08:00") from None
    return found.astimezone()


def write_files(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write files into a folder of their own, and return their paths.

    Raises:
        OutputError: the folder holds something already, or cannot be written.
    """
    try:
        if folder.exists() and any(folder.iterdir()):
            raise OutputError(folder, "the folder is not empty", mend="Choose a new one")
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            (folder / name).write_bytes(content)
    except NotADirectoryError:
        raise OutputError(folder, "this is a file", mend="Choose a new folder") from None
    except OSError as error:
        if isinstance(error, OutputError):
            raise
        raise OutputError(
            folder,
            f"it cannot be written ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error
    return [folder / name for name in files]


def write_new(path: Path, content: bytes) -> None:
    """Write a file that is not there yet.

    Raises:
        OutputError: it is there already, or cannot be written.
    """
    try:
        with path.open("xb") as file:
            file.write(content)
    except FileExistsError:
        raise OutputError(path, "the file is there already", mend="Choose another name") from None
    except OSError as error:
        raise OutputError(
            path,
            f"it cannot be written ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error
