"""Measures a knife from a file that came in: work in a process of its own."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from chape.bench.uploads import Sort

if TYPE_CHECKING:
    from pathlib import Path

    from chape.bench.work_process import Tell
    from chape.knife.measured import Measured
    from chape.pipeline.measure import Asked
    from chape.pipeline.measured import Measurement

#: Shown of the picture round the outline, mm.
ROUND = 15.0

#: Pixels of the picture per mm and along the knife, at most.
FINEST, WIDEST = 8.0, 3200.0

PHOTO, PLACE = "photo.jpg", "photo.json"

#: Of a JPEG; common practice, no source.
QUALITY = 88


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """What is to be measured.

    Attributes:
        path: the file that came in.
        sort: what it is.
        asked: what the person says of the knife.
        unit: a drawing or mesh is drawn in; None takes its own word.
        headings: where tip and edge of a mesh point, along its axes.
        folder: of the new knife.
    """

    path: Path
    sort: Sort
    asked: Asked
    unit: str | None
    headings: dict[str, str]
    folder: Path


def measure_upload(tell: Tell, wanted: ToMeasure) -> dict[str, Any]:
    """Measure a knife and write its files, all or none; return what was found.

    Raises:
        InputError: no knife is found in the file, or what was said does not fit it.
        OutputError: the folder holds a knife already, or cannot be written.
    """
    from chape.bench.finding import finding_answers  # noqa: PLC0415 - the process's own work
    from chape.pipeline.measured import KNIFE, OVERLAY, write_measured  # noqa: PLC0415 - as above

    tell("Find the knife", None)
    found = _measured(wanted)
    tell("Write its files", None)
    files = dict(found.files)
    knife = files.pop(KNIFE)
    del files[OVERLAY]  # the page lays the outline over the picture itself
    if wanted.sort is not Sort.DRAWING:
        files |= flat_picture(found.measured)
    # The knife file comes last: once it is there, the knife is on the shelf.
    write_measured(wanted.folder, {**files, KNIFE: knife})
    return {
        "length": found.knife.length,
        "uncertainty": found.knife.uncertainty,
        "to_measure": list(found.guesses),
        "doubts": list(found.measured.laid.doubts),
        "findings": [each.model_dump() for each in finding_answers(found.findings)],
    }


def _measured(wanted: ToMeasure) -> Measurement:
    from chape.pipeline.measure import measure_file  # noqa: PLC0415 - the process's own work
    from chape.pipeline.measure_drawing import measure_drawing_file  # noqa: PLC0415 - as above
    from chape.pipeline.measure_mesh import measure_mesh_file  # noqa: PLC0415 - as above

    asked = wanted.asked
    if wanted.sort is Sort.DRAWING:
        return measure_drawing_file(wanted.path, asked, wanted.unit)
    if wanted.sort is not Sort.MESH:
        return measure_file(wanted.path, asked)
    said: dict[str, str | float] = dict(wanted.headings)
    if asked.turn:
        said["turn"] = asked.turn
    if wanted.unit is not None:
        said["unit"] = wanted.unit
    if asked.blade_length is not None:
        said["blade_length"] = asked.blade_length
    return measure_mesh_file(wanted.path, asked.name, asked.day, asked.edges, said, asked.unit)


def flat_picture(measured: Measured) -> dict[str, bytes]:
    """Return the picture laid flat in the knife frame, and where it lies there, as files."""
    import io  # noqa: PLC0415 - the process's own work

    import numpy as np  # noqa: PLC0415 - as above
    from PIL import Image  # noqa: PLC0415 - as above

    from chape.documents.picture_overlay import rectified  # noqa: PLC0415 - as above

    x_min, y_min, x_max, y_max = measured.outline.bounds
    box = (x_min - ROUND, y_min - ROUND, x_max + ROUND, y_max + ROUND)
    x, y = (x_min + x_max) / 2, (y_min + y_max) / 2
    seen = measured.to_pixels(np.array([[x, y], [x + 1.0, y]]))
    own = float(np.hypot(*(seen[1] - seen[0])))
    per_mm = min(FINEST, max(own, 1.0), WIDEST / (box[2] - box[0]))
    picture = io.BytesIO()
    Image.fromarray(rectified(measured, box, per_mm)).save(picture, "JPEG", quality=QUALITY)
    place = {"mm_per_pixel": 1 / per_mm, "left": box[0], "top": box[3]}
    return {PHOTO: picture.getvalue(), PLACE: json.dumps(place).encode()}
