"""A shop's folder: started, kept safe in one file, and brought back from it."""

from __future__ import annotations

import json
import os
import re
import tempfile
import zipfile
from contextlib import contextmanager
from hashlib import sha256
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chape.errors import InputError, OutputError
from chape.shop.migrate import unopened, upgrade
from chape.shop.rows import load_tables, table_texts
from chape.shop.shop_file import SHOP_FILE, WORKSHOP
from chape.shop.store import REVISION, Shop, database_url, revision_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

#: What a backup holds besides the tables and the shop's own files.
CONTENTS = "contents.json"


def new_shop(folder: Path, text: str | None = None) -> Shop:
    """Start a shop: write its file, and its database with empty tables.

    Args:
        folder: new, or without a shop.
        text: of the shop file; None for the one to start from.

    Raises:
        OutputError: a shop is there already, or the folder cannot be written.
    """
    path = folder / SHOP_FILE
    if path.exists():
        raise OutputError(folder, "a shop is there already", mend="Choose a new folder")
    if text is None:
        text = (resources.files("chape.shop") / "data" / "new-shop.toml").read_text("utf-8")
    _write(path, text.encode("utf-8"))
    with _undone(folder, [SHOP_FILE]) as shop:
        upgrade(shop)
    return shop


def backup(shop: Shop, target: Path) -> None:
    """Write everything of a shop into one zip file, as of one moment.

    The tables are JSON lines, so that a backup can be read without chape, and brought back into
    another kind of database.

    Raises:
        OutputError: the file is there already, or cannot be written.
    """
    if target.exists():
        raise OutputError(target, "the file is there already", mend="Choose another name")
    files = {name: (shop.folder / name).read_bytes() for name in _own_files(shop.folder)}
    files |= {f"tables/{name}.jsonl": text for name, text in shop.read(table_texts).items()}
    contents = {
        "revision": revision_of(shop),
        "hashes": {name: sha256(content).hexdigest() for name, content in files.items()},
    }
    files[CONTENTS] = json.dumps(contents, indent=2, sort_keys=True).encode("utf-8")
    _write_zip(target, files)


def restore(source: Path, folder: Path, database: str | None = None) -> Shop:
    """Bring a shop back from a backup into a new folder, and up to this chape's tables.

    Args:
        source: the backup.
        folder: new, or without a shop.
        database: put in place of the one in the shop file: this is how a shop moves.

    Raises:
        InputError: the file is no whole backup, or of a newer chape.
        OutputError: a shop is there already, or the folder or database cannot be written.
    """
    files, revision = _unpacked(source)
    if (folder / SHOP_FILE).exists():
        raise OutputError(folder, "a shop is there already", mend="Choose a new folder")
    if database is not None:
        files[SHOP_FILE] = _with_database(files[SHOP_FILE], database)
    own = [name for name in files if "/" not in name]
    for name in own:
        _write(folder / name, files[name])
    with _undone(folder, own) as shop:
        load_tables(shop, revision, {n: t for n, t in files.items() if n not in own})
        if revision != REVISION:
            upgrade(shop)
    return shop


def bring_up(folder: Path) -> Path | None:
    """Bring an older shop's tables up to this chape, after a backup; return the backup.

    Raises:
        InputError: no shop, or its tables are newer than this chape.
        OutputError: the backup cannot be written, or the database refuses.
    """
    shop = unopened(folder)
    try:
        return _brought_up(shop)
    finally:
        shop.close()


def _brought_up(shop: Shop) -> Path | None:
    found = revision_of(shop)
    if found == REVISION:
        return None
    if found is None:
        raise InputError(
            "the database is empty",
            mend="Bring the shop back with chape shop restore, or start a new one",
            file=shop.folder,
        )
    if found > REVISION:
        raise InputError(
            "its tables are newer than this chape", mend="Update chape", file=shop.folder
        )
    kept = shop.folder / f"before-{REVISION}.zip"
    backup(shop, kept)
    upgrade(shop)
    return kept


@contextmanager
def _undone(folder: Path, own: list[str]) -> Iterator[Shop]:
    """Open a shop that is being made in an empty database; where that fails, leave no shop file."""
    try:
        shop = unopened(folder)
        try:
            _refuse_used(shop)
            yield shop
        except BaseException:
            shop.close()
            raise
    except BaseException:
        for name in own:
            (folder / name).unlink()
        raise


def _own_files(folder: Path) -> list[str]:
    return [name for name in (SHOP_FILE, WORKSHOP) if (folder / name).is_file()]


def _refuse_used(shop: Shop) -> None:
    """Refuse a database that holds a shop's tables already."""
    url = database_url(shop.folder, shop.file)
    if url.get_backend_name() == "sqlite" and url.database and Path(url.database).exists():
        raise OutputError(
            url.database, "a database is there already", mend="Choose another name or folder"
        )
    if revision_of(shop) is not None:
        raise OutputError(
            shop.folder, "the database holds a shop already", mend="Name an empty database"
        )


def _unpacked(source: Path) -> tuple[dict[str, bytes], str]:
    """Return the files of a whole backup, and the revision of its tables."""
    broken = InputError(
        "this is no whole backup of a shop", mend="Take another backup", file=source
    )
    try:
        with zipfile.ZipFile(source) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
        contents: dict[str, Any] = json.loads(files.pop(CONTENTS))
        hashes: Mapping[str, str] = contents["hashes"]
        revision = str(contents["revision"])
    except FileNotFoundError:
        raise InputError("there is no such file", mend="Check the name", file=source) from None
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, OSError):
        raise broken from None
    names = [n for n in files if "/" not in n and n not in (SHOP_FILE, WORKSHOP)]
    if {n: sha256(c).hexdigest() for n, c in files.items()} != hashes or names:
        raise broken
    if SHOP_FILE not in files:
        raise broken
    if revision > REVISION:
        raise InputError(
            "the backup is of a newer chape", mend="Update chape, and restore again", file=source
        )
    return files, revision


def _with_database(content: bytes, database: str) -> bytes:
    text = content.decode("utf-8")
    line = f"database = {json.dumps(database)}"
    changed, count = re.subn(r"(?m)^[ \t]*database[ \t]*=.*$", lambda _: line, text, count=1)
    if not count:
        changed = re.sub(r"(?m)^[ \t]*\[shop\].*$", lambda m: f"{m[0]}\n{line}", text, count=1)
    return changed.encode("utf-8")


def _write(path: Path, content: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise OutputError(
            path,
            f"it cannot be written ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error


def _write_zip(target: Path, files: Mapping[str, bytes]) -> None:
    """Write beside the target, flush, and rename: a backup is whole or not there."""
    try:
        handle, name = tempfile.mkstemp(prefix=".backup-", dir=target.parent)
        beside = Path(name)
        try:
            with os.fdopen(handle, "wb") as raw:
                with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED) as archive:
                    for entry, content in sorted(files.items()):
                        archive.writestr(entry, content)
                raw.flush()
                os.fsync(raw.fileno())
            os.link(beside, target)
        finally:
            beside.unlink()
    except FileExistsError:
        raise OutputError(target, "the file is there already", mend="Choose another name") from None
    except OSError as error:
        raise OutputError(
            target,
            f"the backup cannot be written ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error
