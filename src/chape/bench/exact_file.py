"""Where the exact figures of a sheath are kept that were worked out last."""

from __future__ import annotations

import json
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from chape.bench.place import Place


def exact_file(place: Place, name: str) -> Path:
    """Return the file of a sheath's exact figures; it need not be there."""
    return place.own / "exact" / f"{name}.json"


def found_depth(place: Place, name: str) -> float | None:
    """Return the snap depth that was found last for the hold a sheath asks for, mm.

    None where none was searched for yet.
    """
    with suppress(OSError, ValueError, KeyError, TypeError):
        solved = json.loads(exact_file(place, name).read_bytes())["fit"]["solved"]
        return None if solved is None else float(solved["snap_depth"])
    return None
