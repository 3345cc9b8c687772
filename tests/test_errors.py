"""Errors cross from one process to another whole, or the one that waits for them never wakes."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from chape.errors import CannotMakeError, ChapeError, InputError, OutputError, ProgramError


@pytest.mark.parametrize(
    "error",
    [
        InputError("found 3", mend="Write 4", file="a.toml", field="sheath.fillet"),
        CannotMakeError("no cutter makes it", mend="Add one"),
        ProgramError(7, "G53 needs a straight move"),
        OutputError(Path("job"), "a file is there", mend="Choose another name"),
    ],
    ids=lambda error: type(error).__name__,
)
def test_an_error_survives_the_way_between_processes(error: ChapeError) -> None:
    again = pickle.loads(pickle.dumps(error))  # noqa: S301 - what this test wrote itself
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert again.__dict__ == error.__dict__
