"""Turns a validator's report into one sentence a maker can act on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from chape.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

#: How to mend a problem, by the validator's own name for it.
MENDS = {
    "missing": "Add it",
    "extra_forbidden": "Remove it, or correct its spelling",
    "finite_number": "Write a plain number",
    "float_type": "Write a plain number",
    "float_parsing": "Write a plain number",
    "int_type": "Write a whole number",
    "string_type": "Write text between quotes",
}


def first_problem(
    error: ValidationError | TypeError, *, file: Path | str, within: str = ""
) -> InputError:
    """Return the first problem of a failed validation as an ``InputError``.

    Args:
        error: what the validator raised.
        file: the file that was read.
        within: the table the value stands in, put before its key.
    """
    if not isinstance(error, ValidationError):
        return InputError(
            "a table was expected here", mend="Write key = value lines", file=file, field=within
        )
    problem = error.errors(include_url=False)[0]
    parts = [within, *(str(part) for part in problem["loc"])]
    field = ".".join(part for part in parts if part) or None
    kind = problem["type"]
    said = problem["msg"].removeprefix("Value error, ").rstrip(".")
    if kind == "missing":
        text = "this key is missing"
    elif kind == "extra_forbidden":
        text = "chape does not know this key"
    else:
        shown = repr(problem["input"])
        shown = shown if len(shown) <= 60 else shown[:57] + "..."
        # What is wrong with a whole table is said without the table.
        lead = "" if isinstance(problem["input"], dict) else f"found {shown}, but "
        text = lead + said[0].lower() + said[1:]
    others = error.error_count() - 1
    if others:
        text += f" ({others} more after it)"
    return InputError(text, mend=MENDS.get(kind, "Correct the value"), file=file, field=field)
