"""What the job sheet says where a blank gives several different sheaths: all of them by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.page_template import shortened
from chape.units import show_length

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.sheath.model import Sheath
    from chape.tooling.model import Layout

HEADS = ("Sheath", "On the blank", "Hand", "Style", "For the knife", "Snap depth", "Clips")


def copies_of(layout: Layout, number: int) -> int:
    """Return how many of one sheath a blank gives."""
    return sum(part.sheath == number and part.piece == 0 for part in layout.parts)


def job_title(results: JobResults) -> str:
    """Return the job's name: that of every sheath it makes."""
    others = [sheath.choices.name for sheath in results.layout.sheaths[1:]]
    if not others:
        return results.name
    return f"{', '.join([results.name, *others[:-1]])} and {others[-1]}"


def job_said(results: JobResults) -> str:
    """Return one line about what the job makes."""
    made, more = results.sheath, len(results.layout.sheaths) - 1
    if more:
        return f"{more + 1} different sheaths formed, trimmed and kept together on one blank"
    return (
        f"A {made.choices.style} sheath for the {made.choices.hand} hand, "
        f"for {shortened(made.knife.name, 70)}"
    )


def copies_words(layout: Layout) -> str:
    """Return how many sheaths a blank gives, by name if several, in how many pieces if not one."""
    copies, parts = layout.copies, len(layout.parts)
    words = f"{copies} {'sheath' if copies == 1 else 'sheaths'}"
    if len(layout.sheaths) > 1:
        each = (
            f"{copies_of(layout, number)} of {shortened(sheath.choices.name, 40)}"
            for number, sheath in enumerate(layout.sheaths)
        )
        words += f" ({', '.join(each)})"
    return words if parts == copies else f"{words}, {parts} pieces,"


def of_which(results: JobResults, said: str) -> str:
    """Return what a page says, with the sheath it is about where there are several."""
    if len(results.layout.sheaths) == 1:
        return said
    return f"{shortened(results.sheath.choices.name, 60)}. {said}"


def sheath_rows(results: JobResults) -> list[list[str]]:
    """Return a row for each sheath under ``HEADS``; none where all are alike."""
    sheaths = results.layout.sheaths
    if len(sheaths) == 1:
        return []
    return [_row(results, number, sheath) for number, sheath in enumerate(sheaths)]


def _row(results: JobResults, number: int, sheath: Sheath) -> list[str]:
    return [
        shortened(sheath.choices.name, 50),
        str(copies_of(results.layout, number)),
        sheath.choices.hand.value,
        sheath.choices.style.value,
        shortened(sheath.knife.name, 40),
        show_length(sheath.choices.snap_depth, results.unit),
        "; ".join(placed.clip.title for placed in sheath.clips) or "none",
    ]
