"""From an outline drawing to the files of a knife: laid, its landmarks found, the rest to measure.

A drawing says no thickness, so the knife file holds guesses for it, and says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from pydantic import ValidationError

from chape.catalog.sentences import first_problem
from chape.knife.caliper import caliper_rows
from chape.knife.file import OutlineTable
from chape.knife.from_drawing import outline_of_drawing
from chape.knife.laying import Said, lay_outline
from chape.knife.measured import Measured
from chape.knife.picture import Picture
from chape.knife.write import Told
from chape.pipeline.measure import whole
from chape.units import LengthUnit

if TYPE_CHECKING:
    from pathlib import Path

    from chape.field.grid import Floats
    from chape.pipeline.measure import Asked
    from chape.pipeline.measured import Measurement

#: A drawing is true to the knife within this, mm; common practice, no source.
DRAWN = 0.2

#: Paper round the outline in the overlay, mm.
ROUND = 10.0


def measure_drawing_file(path: Path, asked: Asked, unit: str | None) -> Measurement:
    """Make the files of a knife from the drawing of its outline.

    Args:
        path: a .dxf or .svg file, whose largest closed line is the knife's outline.
        asked: what the person says of the knife; what belongs to a picture is not looked at.
        unit: the drawing is drawn in, "mm", "cm" or "inch"; None takes its own word.

    Raises:
        InputError: the drawing cannot be read, or is no knife's outline.
    """
    try:
        table = OutlineTable.model_validate({"drawing": path.name, "unit": unit})
    except ValidationError as error:
        raise first_problem(error, file=path, within="outline") from None
    drawn = outline_of_drawing(table, LengthUnit.MM, path.parent)
    said = Said(
        None if asked.tip is None else np.array(asked.tip.vector),
        None if asked.edge is None else np.array(asked.edge.vector),
        asked.blade_length,
        float(np.radians(asked.turn)),
        asked.edges,
    )
    # It comes with its tip left and its edge down: as it was drawn, since nothing else was said.
    laid = lay_outline(shapely.get_coordinates(drawn.exterior)[:-1], said)
    measured = Measured("drawing", laid, _paper(laid.outline.bounds), _on_paper, 0.0, DRAWN)
    marks = laid.landmarks
    spine = caliper_rows(asked.spine_rows, 0.0, marks.blade_length, "blade")
    handle = caliper_rows(asked.handle_rows, marks.blade_length, marks.butt, "handle")
    told = Told(
        " ".join((asked.name or path.stem).split())[:80],
        f"drawing {path.name}"[:200],
        asked.day,
        asked.edges,
        spine or None,
        handle or None,
    )
    return whole(measured, told, asked.unit, (), ())


def _paper(bounds: tuple[float, float, float, float]) -> Picture:
    """Return white paper under the outline, a pixel for each mm."""
    size = (round(bounds[3] + 2 * ROUND), round(bounds[2] + 2 * ROUND), 3)
    return Picture(np.full(size, 255, np.uint8), None, None)


def _on_paper(points: Floats) -> Floats:
    return points + ROUND
