"""Starts a folder with a knife file and a sheath file to edit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.demo import demo_file
from chape.errors import OutputError

if TYPE_CHECKING:
    from pathlib import Path

#: The demo's files, as they are named in a new folder.
SINGLE, DOUBLE = "camp", "slender"


def start_folder(folder: Path, *, double_edged: bool, paired: bool = False) -> list[Path]:
    """Write the two files and return their paths.

    Args:
        folder: new, or without such files.
        double_edged: start from a double-edged knife.
        paired: start from a sheath of two sheets.

    Raises:
        OutputError: one of them is there already, or the folder cannot be written.
    """
    stem = DOUBLE if double_edged else SINGLE
    sheath = f"{stem}-paired-sheath.toml" if paired else f"{stem}-sheath.toml"
    names = {f"{stem}-knife.toml": "knife.toml", sheath: "sheath.toml"}
    paths = [folder / name for name in names.values()]
    for path in paths:
        if path.exists():
            raise OutputError(
                path, "the file is there already", mend="Choose a new folder, or edit it"
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for source, path in zip(names, paths, strict=True):
            text = demo_file(source)
            for old, fresh in names.items():
                text = text.replace(f'"{old}"', f'"{fresh}"')
            path.write_text(text, "utf-8")
    except OSError as error:
        raise OutputError(
            folder,
            f"the folder cannot be written ({error.strerror})",
            mend="Choose a folder you may write to",
        ) from error
    return paths
