"""What of a knife is a guess yet, and must be measured before anything is cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.knife.file import Guessable, KnifeTable

#: How each is measured, for the person.
HOW: dict[Guessable, str] = {
    "blade.length": "Measure from the tip to the front of guard or handle",
    "blade.spine_thickness": "Measure the spine's full thickness at the handle, in the middle and "
    "near the tip",
    "handle.thickness": "Measure the handle's full thickness at its front, waist, swell and butt",
}


def unmeasured(table: KnifeTable) -> tuple[Finding, ...]:
    """Return a finding for everything that a knife file says was guessed."""
    return tuple(
        Finding(
            "knife-unmeasured",
            Severity.ERROR,
            key,
            "This is a guess: no picture tells it.",
            f'{HOW[key]}, write it in, and take "{key}" out of knife.unmeasured.',
            unit="",
        )
        for key in table.unmeasured or ()
    )
