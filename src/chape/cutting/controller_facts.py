"""What a reader of programs must be told of the controller, because no text says it.

Neutral ground: the writer's dialects are turned into these few facts, and a program written by
anyone is read with the widest ones.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class ControllerFacts:
    """How a controller takes what RS-274 leaves open.

    Attributes:
        dwell_seconds: seconds in one unit of the P of G4 and G82 (NISTIR 6556, 3.5.4: 1).
        bracket_comments, semicolon_comments: which ways of writing a comment it reads.
        offsets: work offsets it has, without blanks ("G54.1P4"); None for all there may be.
        changes_at_word: M6 puts the chosen cutter in.
        changes_at_stop: M0 after a T word is a change by hand.
        cutter_in_spindle: the file's T word says which cutter is in the spindle already.
        cycles: whether it knows canned cycles.
        chip_breaking_cycle: whether G73 is one of them.
        spin_up: seconds the spindle takes to come up to speed, where nothing else waits for it.
        skips_marked: whether lines that begin with / are left out; None where it is not known.
    """

    dwell_seconds: float = 1.0
    bracket_comments: bool = True
    semicolon_comments: bool = True
    offsets: frozenset[str] | None = field(default=None)
    changes_at_word: bool = True
    changes_at_stop: bool = False
    cutter_in_spindle: bool = False
    cycles: bool = True
    chip_breaking_cycle: bool = True
    spin_up: float = 0.0
    skips_marked: bool | None = None


#: A controller of which nothing is known but that it reads RS-274.
UNKNOWN = ControllerFacts()
