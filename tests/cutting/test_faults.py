"""Programs broken on purpose: none that spoils the piece may pass."""

from __future__ import annotations

from functools import cache

import pytest

import naive_machine
from chape.catalog.read import catalog
from chape.cutting.plan import plan_program
from chape.cutting.write import write_program
from fault_boards import BOARDS
from fault_run import MOST, Tally, run_faults
from program_faults import shifted

#: Tries of each kind; boards with long programs are broken less often.
SEEDS = {"mould": 2, "back": 26, "fixture": 4, "trim": 9}
#: Faults that the text shows whatever the piece.
ALWAYS_SEEN = {
    "inch_for_mm", "lost_offset", "other_offset", "other_length", "cut_short", "feed_hundredfold",
    "lost_feed", "zero_height_off", "zero_aside", "spindle_stopped", "spindle_reversed",
    "incremental", "lost_stop",
}  # fmt: skip


@cache
def good(board: str):
    setup = BOARDS[board]()
    (text,) = write_program(plan_program(setup), catalog().dialect("generic"))
    return text, setup


@cache
def tally() -> Tally:
    found = Tally()
    for board, seeds in SEEDS.items():
        run_faults(board, *good(board), seeds, found, trust=8)
    return found


def test_a_thousand_faults_are_made_in_thirty_ways():
    assert tally().faults >= 1000
    assert len(tally().kinds) >= 30
    assert all(counts.total() >= 5 for counts in tally().kinds.values())


def test_none_that_gouges_passes():
    assert tally().missed == []


@pytest.mark.parametrize("kind", sorted(ALWAYS_SEEN))
def test_what_the_text_shows_is_always_seen(kind):
    counts = tally().kinds[kind]
    assert counts["caught"] == counts.total()


def test_few_faults_that_change_the_piece_pass():
    """They leave it within every tolerance; those that change nothing do not count."""
    counts = list(tally().kinds.values())
    caught, harmless = (sum(kind[word] for kind in counts) for word in ("caught", "harmless"))
    assert caught / (caught + harmless) > 0.93


@pytest.mark.parametrize("board", BOARDS)
def test_the_careless_machine_makes_the_good_piece_and_spoils_it_at_a_lower_zero(board):
    """The truth that faults are judged by can tell good from bad, without the checker."""
    text, setup = good(board)
    assert naive_machine.gouge(naive_machine.carve(text, setup), setup) <= MOST / 2

    lower = "\n".join(shifted(text.splitlines(), "Z", -1.0))
    depth = naive_machine.gouge(naive_machine.carve(lower, setup), setup)
    assert depth > MOST
