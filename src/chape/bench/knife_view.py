"""A knife as the page draws it; worked out in the warm process."""

from __future__ import annotations

import json
import time
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from chape.bench.finding import finding_answers
from chape.bench.knife_answers import (
    GivenThickness,
    KnifeView,
    KnifeViewAnswer,
    Landmark,
    PhotoView,
)
from chape.bench.problem import problem_of
from chape.errors import ChapeError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.knife.file import KnifeFile
    from chape.knife.file_mesh import MeshKnifeFile
    from chape.knife.model import Knife

#: Grid a knife is drawn from, mm.
SPACING = 0.5

#: The thickness as used is told this finely, mm.
STEP = 1.0

#: Where the photograph lies, and the photograph, beside a knife file.
PHOTO_PLACE, PHOTOS = "photo.json", ("photo.jpg", "photo.png")


@dataclass(frozen=True, slots=True)
class LookAtKnife:
    """What is to be looked at.

    Attributes:
        path: the knife file.
        name: of the record.
        sequence: of the page's wishes; handed back.
        tables: what the file would hold, lengths in mm; None reads it.
    """

    path: Path
    name: str
    sequence: int = 0
    tables: dict[str, Any] | None = None


def look_at_knife(look: LookAtKnife) -> str:
    """Return a knife as the JSON of a ``KnifeViewAnswer``."""
    begun = time.process_time()
    answer = KnifeViewAnswer(sequence=look.sequence)
    try:
        answer.view = _view(look)
    except ChapeError as error:
        answer.problem = problem_of(error)
    answer.seconds = round(time.process_time() - begun, 4)
    return answer.model_dump_json()


def _view(look: LookAtKnife) -> KnifeView:
    import numpy as np  # noqa: PLC0415 - numerics

    from chape.bench.corners import corners, outline, rings  # noqa: PLC0415 - as above
    from chape.knife.check import check_knife  # noqa: PLC0415 - as above
    from chape.knife.read import knife_of, parsed_knife, read_knife_file  # noqa: PLC0415 - as above

    file = read_knife_file(look.path)
    if look.tables is not None:
        file = parsed_knife(look.tables, look.path)
    knife = knife_of(file, SPACING, folder=look.path.parent)
    thick = knife.half.z.max(axis=0)
    used = np.column_stack([knife.half.grid.x, 2 * thick])[thick > 0]
    return KnifeView(
        length=knife.length,
        thickness=knife.thickness,
        blade_length=knife.blade_length,
        uncertainty=knife.uncertainty,
        outline=outline(knife.outline),
        edge=rings(knife.edge_band),
        landmarks=_landmarks(knife, file),
        given=_given(file),
        used=corners(used[:: round(STEP / SPACING)]),
        photo=_photo(look),
        findings=finding_answers(check_knife(knife)),
    )


def _landmarks(knife: Knife, file: KnifeFile | MeshKnifeFile) -> list[Landmark]:
    """Return the places of a knife that have names, and say which a file's value moves."""
    from chape.bench.corners import across  # noqa: PLC0415 - numerics
    from chape.knife.file import KnifeFile  # noqa: PLC0415 - as above

    stations = isinstance(file, KnifeFile)
    end = "blade.length" if stations else "mesh.blade_length"
    places: list[tuple[str, str | None, float]] = [
        ("Tip", None, 0.0),
        ("End of the blade", end, knife.blade_length),
        ("Butt", None, knife.length),
    ]
    if isinstance(file, KnifeFile) and file.guard is not None:
        scale = file.knife.unit.in_mm
        places += [
            ("Guard begins", "guard.from", file.guard.start * scale),
            ("Guard ends", "guard.to", file.guard.to * scale),
        ]
    found = []
    for label, path, x in places:
        low, high = across(knife.outline, min(max(x, 0.01), knife.length - 0.01))
        found.append(Landmark(label=label, path=path, x=x, y=(low + high) / 2))
    return found


def _given(file: KnifeFile | MeshKnifeFile) -> list[GivenThickness]:
    from chape.knife.file import KnifeFile  # noqa: PLC0415 - numerics

    if not isinstance(file, KnifeFile):
        return []
    in_mm = file.in_mm()
    guesses = in_mm.knife.unmeasured or ()
    tables = (
        ("blade.spine_thickness", "Blade, at its spine", in_mm.blade.spine_thickness),
        ("handle.thickness", "Handle", in_mm.handle.thickness),
    )
    return [
        GivenThickness(path=path, label=label, rows=list(rows), guessed=path in guesses)
        for path, label, rows in tables
    ]


def photo_of(folder: Path) -> Path | None:
    """Return the photograph beside a knife file, if its place is known too."""
    if not (folder / PHOTO_PLACE).is_file():
        return None
    return next((folder / name for name in PHOTOS if (folder / name).is_file()), None)


def _photo(look: LookAtKnife) -> PhotoView | None:
    folder = look.path.parent
    if photo_of(folder) is None:
        return None
    with suppress(OSError, ValueError, KeyError, TypeError):
        held = json.loads((folder / PHOTO_PLACE).read_text("utf-8"))
        place = {key: float(held[key]) for key in ("mm_per_pixel", "left", "top")}
        return PhotoView(url=f"/api/knives/{look.name}/photo", **place)
    return None
