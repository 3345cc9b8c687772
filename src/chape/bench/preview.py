"""A sheath while it is dragged, as the page is told of it; worked out in the warm process.

The numerics are loaded where they are used, so that the server itself stays light.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from chape.bench.finding import finding_answers
from chape.bench.problem import problem_of
from chape.bench.sheath_answers import FiguresView, PreviewAnswer
from chape.errors import ChapeError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.pipeline.glance import Glancer


@cache
def _glancer() -> Glancer:
    from chape.pipeline.glance import Glancer  # noqa: PLC0415 - numerics

    return Glancer()


@dataclass(frozen=True, slots=True)
class Look:
    """What is to be looked at.

    Attributes:
        path: the sheath file.
        sequence: of the page's wishes; handed back.
        tables: what the file would hold, lengths in mm; None reads it.
        station: x of the section wanted, mm; None for none.
        dragging: more of the same is to come: holes planned before may serve.
        depth: that was found last for the hold the file asks for, mm; None takes the file's own.
    """

    path: Path
    sequence: int = 0
    tables: dict[str, Any] | None = None
    station: float | None = None
    dragging: bool = False
    depth: float | None = None


def preview(look: Look) -> str:
    """Return how a sheath would look, as the JSON of a ``PreviewAnswer``."""
    begun = time.process_time()
    try:
        answer = _looked(look)
    except ChapeError as error:
        answer = PreviewAnswer(sequence=look.sequence, problem=problem_of(error))
    answer.seconds = round(time.process_time() - begun, 4)
    return answer.model_dump_json()


def _looked(look: Look) -> PreviewAnswer:
    from chape.bench.sheath_view import plan_view, section_view  # noqa: PLC0415 - numerics

    glance = _glancer().look(look.path, look.tables, dragging=look.dragging, depth=look.depth)
    sheath = glance.sheath
    return PreviewAnswer(
        sequence=look.sequence,
        carried=glance.carried,
        figures=FiguresView.model_validate(glance.figures),
        plan=plan_view(sheath),
        section=None if look.station is None else section_view(sheath, look.station),
        findings=finding_answers(glance.findings, sheath),
    )
