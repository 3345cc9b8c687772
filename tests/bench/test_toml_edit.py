"""A file is changed as a person would: what was not changed keeps its line and its remark."""

import copy
import tomllib

import pytest

from chape.bench.toml_edit import edited, plain
from chape.demo import demo_file

TEXT = demo_file("camp-knife.toml")
HELD = plain(tomllib.loads(TEXT))
PLACES = [(key,) for key in HELD] + [(table, key) for table in HELD for key in HELD[table]]


def without(place):
    held = copy.deepcopy(HELD)
    table = held
    for key in place[:-1]:
        table = table[key]
    del table[place[-1]]
    return held


@pytest.mark.parametrize("place", PLACES, ids=".".join)
def test_what_is_taken_out_and_put_back_is_there_and_the_rest_never_moved(place):
    shorter = edited(TEXT, without(place))
    assert plain(tomllib.loads(shorter)) == without(place)
    lines = TEXT.splitlines()
    left = [line for line in shorter.splitlines() if line]
    assert all(line in lines for line in left)
    assert plain(tomllib.loads(edited(shorter, HELD))) == HELD


def test_what_is_not_changed_is_the_same_to_the_byte():
    assert edited(TEXT, HELD) == TEXT


def test_a_row_more_and_a_row_less_leave_the_others_their_remarks():
    held = copy.deepcopy(HELD)
    rows = held["outline"]["stations"]
    rows.insert(10, [108, 0.0, 28.9])
    del rows[4]
    before, after = TEXT.splitlines(), edited(TEXT, held).splitlines()
    assert [line for line in after if line not in before] == ["  [108, 0.0, 28.9],"]
    assert [line for line in before if line not in after] == ["  [24, 3.1, 25.8],"]


def test_a_day_stays_a_day_and_figures_are_rounded():
    held = copy.deepcopy(HELD)
    held["knife"]["measured"] = "2026-04-01"
    held["blade"]["length"] = 0.1 + 0.2
    text = edited(TEXT, held)
    assert "measured = 2026-04-01" in text
    assert "length = 0.3 " in text
