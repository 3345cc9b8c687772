"""Which knife of the bench a sheath is made for."""

from __future__ import annotations

import os.path
from pathlib import Path
from typing import TYPE_CHECKING

from chape.bench.place import Kind

if TYPE_CHECKING:
    from chape.bench.place import Place
    from chape.bench.records import Record


def knife_of_sheath(sheath: Record, place: Place) -> str | None:
    """Return the name of a sheath's knife; None for one that is no knife of this bench."""
    own = sheath.tables.get("sheath")
    named = own.get("knife") if isinstance(own, dict) else None
    if not isinstance(named, str) or "\0" in named:
        return None
    file = Path(os.path.normpath(sheath.path.parent / named))
    if file == place.folder / Kind.KNIFE.file:
        return place.bare
    shelf = place.folder / Kind.KNIFE.shelf
    within = file.relative_to(shelf).parts if file.is_relative_to(shelf) else ()
    return within[0] if within[1:] == (Kind.KNIFE.file,) else None
