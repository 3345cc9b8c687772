"""Fixtures, their work offsets and their zeros."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path

import pytest

from chape.catalog.read import catalog, with_workshop
from chape.cutting.offsets import check_zero, holders, known_fixture, require_free
from chape.errors import InputError

SEVEN = """
[fixtures.seven]
title = "Trim fixture"
number = 7
machine = "router-600"
board = "board-300"
offset = "G56"
checked = 2026-03-01
method = "indicator"
drift = 0.01
"""
EIGHT = SEVEN.replace("seven", "eight").replace("= 7", "= 8")


def workshop(text: str):
    return with_workshop(catalog(), tomllib.loads(text), Path("workshop.toml"))


def test_a_fixture_holds_its_offset():
    held = holders(workshop(SEVEN), "router-600")
    assert held["G56"].words == 'fixture 7 "seven"'
    assert holders(workshop(SEVEN), "router-1200") == {}


def test_two_fixtures_cannot_claim_one_offset():
    with pytest.raises(InputError, match=r"eight.*seven.*G56"):
        holders(workshop(SEVEN + EIGHT), "router-600")
    elsewhere = EIGHT.replace("router-600", "router-1200")
    assert len(holders(workshop(SEVEN + elsewhere), "router-600")) == 1


def test_two_fixtures_cannot_share_a_number():
    twin = SEVEN.replace("seven", "twin").replace("G56", "G57")
    with pytest.raises(InputError, match="number 7"):
        holders(workshop(SEVEN + twin), "router-600")


@pytest.mark.parametrize(("key", "value"), [("machine", "lathe"), ("board", "plank")])
def test_a_fixture_names_what_is_there(key, value):
    wrong = SEVEN.replace("router-600" if key == "machine" else "board-300", value)
    with pytest.raises(InputError, match=value):
        holders(workshop(wrong), "router-600")


def test_no_program_is_written_for_an_offset_another_holds():
    entries = workshop(SEVEN)
    held = holders(entries, "router-600")
    seven = known_fixture(entries, "seven", "router-600", "board-300")
    require_free("G56", held, seven, "fixture.board")
    require_free("G54", held, None, "mould.offset")
    with pytest.raises(InputError, match='held by fixture 7 "seven"'):
        require_free("G56", held, None, "mould.offset")


def test_a_fixture_belongs_to_its_machine_and_board():
    entries = workshop(SEVEN)
    assert known_fixture(entries, None, "router-600", "board-300") is None
    for name, machine, board in (
        ("nine", "router-600", "board-300"),
        ("seven", "router-1200", "board-300"),
        ("seven", "router-600", "board-200x160"),
    ):
        with pytest.raises(InputError, match="fixture"):
            known_fixture(entries, name, machine, board)


@pytest.mark.parametrize(
    ("change", "day", "code"),
    [
        (("", ""), dt.date(2026, 5, 30), None),
        (("", ""), dt.date(2026, 5, 31), "zero-check-overdue"),
        (("", ""), None, None),
        (("drift = 0.01", "drift = 0.06"), None, "zero-drift-high"),
        (("checked = 2026-03-01\n", ""), None, "zero-unchecked"),
    ],
)
def test_a_zero_that_cannot_be_trusted_is_found(change, day, code):
    fixture = known_fixture(workshop(SEVEN.replace(*change)), "seven", "router-600", "board-300")
    assert [finding.code for finding in check_zero(fixture, day)] == ([code] if code else [])
    assert check_zero(None, day) == ()


@pytest.mark.parametrize("line", ["drift = nan", "drift = -1", "checked = 'soon'", "number = 0"])
def test_impossible_entries_are_refused(line):
    key = line.split(" ")[0]
    rest = "\n".join(row for row in SEVEN.splitlines() if not row.startswith(f"{key} "))
    with pytest.raises(InputError):
        workshop(f"{rest}\n{line}\n")
