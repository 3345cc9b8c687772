"""That no more pieces go than are proved to: small cases whose answer is known."""

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.tooling.bounding import Proofs
from chape.tooling.model import BlankChoices, Most
from chape.tooling.nesting import Wanted, at_most, bound, lay_all
from chape.tooling.room import Room, Shape

SQUARE = shapely.box(0, 0, 50, 50)
TROMINO = shapely.Polygon([(0, 0), (60, 0), (60, 30), (30, 30), (30, 60), (0, 60)])
HOOK = shapely.Polygon([(0, 0), (60, 0), (60, 15), (15, 15), (15, 60), (0, 60)])
BAR = shapely.box(0, 0, 80, 20)

#: Between outlines, mm: the room that is granted for the tables' step is much less.
GAP = 4.0

#: Enough work for what is proved here; what is not provable uses it up.
WORK = 300_000_000


def room_of(outline, step=1.0):
    return Room([Shape(outline, outline.buffer(-4), 2.0)], GAP, 2.0, step)


def blank_of(width, depth):
    return BlankChoices(width=width, depth=depth, clamp_border=0, gap=GAP)


def bound_of_area(outline, blank):
    return at_most(Wanted((Shape(outline, outline, 2.0),), (1,), 1), blank)


@pytest.mark.parametrize(("outline", "size", "most"), [
    # Squares of 50 and gaps of 4: two in a row take 104, three 158.
    (SQUARE, (150, 150), 4), (SQUARE, (104, 104), 4), (SQUARE, (101, 150), 2),
    # Two trominoes hooked into each other make a brick of 64 x 94, and no narrower one.
    (TROMINO, (64, 94), 2), (TROMINO, (61, 95), 1),
    # Four bars of 80 x 20 lie over each other in 80 x 92, and a fifth stands beside them.
    (BAR, (104, 104), 5), (BAR, (78, 78), 0),
])  # fmt: skip
def test_the_most_that_go_is_proved(outline, size, most):
    proofs = Proofs(room_of(outline), blank_of(*size), WORK)
    assert proofs.least(most, most + 3) == most
    assert most == 0 or not proofs.impossible(most)


def test_the_proof_says_more_than_the_area():
    """Squares of 50 and gaps on 150 x 150: by their area eight would do, by their sides four."""
    blank = blank_of(150, 150)
    assert bound_of_area(SQUARE, blank) == 8
    assert Proofs(room_of(SQUARE), blank, WORK).least(4, bound_of_area(SQUARE, blank)) == 4


@settings(max_examples=10, deadline=None)
@given(
    outline=st.sampled_from([SQUARE, TROMINO, HOOK, BAR]),
    width=st.integers(60, 170),
    depth=st.integers(60, 130),
    pieces=st.integers(1, 5),
)
def test_what_is_laid_was_not_proved_impossible(outline, width, depth, pieces):
    room, blank = room_of(outline, 2.0), blank_of(width, depth)
    if Proofs(room, blank, WORK).impossible(pieces):
        assert lay_all(room, blank, [pieces], shares=(0.0,), rounds=20) is None


def test_a_bound_says_how_it_is_known():
    room, blank = room_of(SQUARE), blank_of(150, 150)
    wanted = Wanted(room.shapes, (4,), 4)
    searched, given_up = bound(wanted, blank, room, 4, WORK), bound(wanted, blank, room, 4, 0)
    assert (searched, given_up) == (Most(4, searched=True), Most(8, searched=False))
    assert "that is the most: proved by a search" in searched.said(4)
    assert "no more than 8" in given_up.said(4)
    two = Wanted((*room.shapes, *room.shapes), (2, 2), 2)
    assert not bound(two, blank, room, 2, WORK).searched


def test_a_proof_without_work_to_do_it_is_no_proof():
    room, blank = room_of(SQUARE), blank_of(150, 150)
    assert not Proofs(room, blank, 0).impossible(5)
    assert Proofs(room, blank, 0).least(4, 7) == 7
