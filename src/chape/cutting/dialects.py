"""What a dialect says of its controller, for whoever reads its programs back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.catalog.dialect import CutterChange
from chape.cutting.controller_facts import ControllerFacts

if TYPE_CHECKING:
    from chape.catalog.dialect import Dialect


def facts_of(dialect: Dialect) -> ControllerFacts:
    """Return the facts a reader must be told."""
    further = (f"G54.1P{number}" for number in range(1, dialect.extended_offsets + 1))
    return ControllerFacts(
        dwell_seconds=dialect.dwell_unit.seconds,
        bracket_comments=dialect.comment.startswith("("),
        semicolon_comments=dialect.comment.startswith(";"),
        offsets=frozenset({*(word.replace(" ", "") for word in dialect.offsets), *further}),
        changes_at_word=dialect.cutter_change is CutterChange.WORD,
        changes_at_stop=dialect.cutter_change is CutterChange.STOP,
        cutter_in_spindle=dialect.cutter_change is CutterChange.FILE,
        cycles=dialect.cycles,
        chip_breaking_cycle=dialect.chip_breaking_cycle,
        spin_up=dialect.spin_up,
    )
