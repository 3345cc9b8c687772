"""A family of sheaths on one page: what differs between its members, and what comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.documents.to_pdf import pdf_of

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from chape.units import LengthUnit

HEADS = ("Member", "What differs", "Hold", "Sheet", "Holes", "On a blank", "Router", "Programs")


def family_pdf(figures: Mapping[str, Any], paper: str, unit: LengthUnit, day: date | None) -> bytes:
    """Return the overview of a family as PDF.

    Args:
        figures: of the family, as ``pipeline.family.family_figures`` gives them.
        paper: "a4" or "letter".
        unit: lengths are told in.
        day: printed, if there is one.
    """
    members = figures["members"]
    asked, computed = figures["stages_asked"], figures["stages_computed"]
    page = {
        "paper": paper,
        "title": str(figures["name"]),
        "said": f"{_number(members)}, {_released(members)}.",
        "heads": HEADS,
        "rows": [_row(member, unit) for member in members],
        "troubles": [[member["name"], member["reason"]] for member in members if member["reason"]],
        "shared": f"{asked} stages were needed, and {computed} had to be computed: what members "
        "share was worked out once, and what an earlier run left was used.",
        "date": "" if day is None else day.isoformat(),
    }
    return pdf_of("family.typ", page, {}, day)


def _number(members: list[Mapping[str, Any]]) -> str:
    return "1 member" if len(members) == 1 else f"{len(members)} members"


def _released(members: list[Mapping[str, Any]]) -> str:
    released = sum(member["released"] for member in members)
    missing = sum(not member["made"] for member in members)
    held = len(members) - released - missing
    parts = [f"{released} with programs released"]
    if held:
        parts.append(f"{held} held back")
    if missing:
        parts.append(f"{missing} not made")
    return ", ".join(parts)


def _row(member: Mapping[str, Any], unit: LengthUnit) -> list[str]:
    differs = ", ".join(f"{_words(key)} {_shown(v)}" for key, v in member["changes"].items())
    figures = member["figures"]
    if figures is None:
        return [member["name"], differs, *["–"] * 5, "not made"]
    seconds = sum(program["seconds"] for program in figures["programs"].values())
    area = sum(piece["area"] for piece in figures["sheath"]["pieces"]) / unit.in_mm**2
    area_words = f"{area / 100:.0f} cm²" if unit.in_mm == 1 else f"{area:.1f} in²"
    return [
        member["name"],
        differs or "the base as it is",
        f"{figures['fit']['hold']:.0f} N",
        area_words,
        str(sum(figures["sheath"]["holes"].values())),
        str(figures["blank"]["copies"]),
        f"{seconds / 60:.0f} min",
        "released" if member["released"] else "held back",
    ]


def _words(key: str) -> str:
    """Return a key as words: "hand" for "sheath.hand", "blank width" for "blank.width"."""
    return key.removeprefix("sheath.").replace(".", " ").replace("_", " ")


def _shown(value: object) -> str:
    if isinstance(value, list):
        clips = [str(part.get("clip", part)) for part in value if isinstance(part, dict)]
        return " + ".join(clips) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value)
