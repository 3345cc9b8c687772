"""Packing and cutting-stock optima from outside.

Squared rectangles: Z. Moron, 1925 (33 x 32); A. J. W. Duijvestijn, J. Comb. Theory B 25 (1978) 240
(112 x 112, 21 squares). Smallest rectangles of squares 1 to n: R. E. Korf, ICAPS 2003. Strip: E.
Hopper and B. Turton, EJOR 128 (2001) 34, C1P1. Rolls: the worked example of the encyclopaedia's
article on cutting stock. All from memory; the optima were proved again by the solver.
"""

import pytest
import shapely

from chape.solve.cutting_stock import best_length_pattern, fewest, full_patterns
from chape.solve.packing import pack

MORON = [1, 4, 7, 8, 9, 10, 14, 15, 18]
DUIJVESTIJN = [2, 4, 6, 7, 8, 9, 11, 15, 16, 17, 18, 19, 24, 25, 27, 29, 33, 35, 37, 42, 50]
SMALLEST = {5: (5, 12), 6: (9, 11), 7: (7, 22), 8: (14, 15)}
STRIP = [(2, 12), (7, 12), (8, 6), (3, 6), (3, 5), (5, 5), (3, 12), (3, 7), (5, 7), (2, 6), (3, 2),
         (4, 2), (3, 4), (4, 4), (9, 2), (11, 2)]  # fmt: skip
ROLLS = {1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12,
         2100: 14, 2140: 16, 2150: 18, 2200: 20}  # fmt: skip


def squares(sides):
    return [(side, side) for side in sides]


def check(items, wide, deep, answer):
    """Every rectangle inside, and none on another, by an independent library."""
    assert answer.placed is not None
    boxes = [shapely.box(p.x, p.y, p.x + p.wide, p.y + p.deep) for p in answer.placed]
    whole = shapely.union_all(boxes)
    assert whole.area == sum(w * d for w, d in items)
    assert shapely.box(0, 0, wide, deep).covers(whole)
    for item, placed in zip(items, answer.placed, strict=True):
        assert sorted(item) == sorted((placed.wide, placed.deep))


@pytest.mark.parametrize(("sides", "wide", "deep"), [(MORON, 33, 32), (DUIJVESTIJN, 112, 112)])
def test_perfect_squared_rectangles(sides, wide, deep):
    items = squares(sides)
    check(items, wide, deep, pack(items, wide, deep))


@pytest.mark.parametrize("count", SMALLEST)
def test_smallest_rectangles_of_consecutive_squares(count):
    items = squares(range(1, count + 1))
    wide, deep = SMALLEST[count]
    check(items, wide, deep, pack(items, wide, deep))
    area = sum(w * d for w, d in items)
    for smaller in range(count, 60):
        for other in range(smaller, 200):
            if area <= smaller * other < wide * deep:
                answer = pack(items, smaller, other)
                assert (answer.placed, answer.proved) == (None, True), (smaller, other)


@pytest.mark.parametrize("turn", [False, True])
def test_the_strip_packs_at_its_bound_and_its_twin_does_not(turn):
    check(STRIP, 20, 20, pack(STRIP, 20, 20, turn=turn))
    answer = pack([*STRIP, (1, 1)], 20, 20, turn=turn)
    assert (answer.placed, answer.proved) == (None, True)


def test_a_twin_of_the_right_area_that_cannot_pack_is_proved_so():
    """Two 11 x 11 squares in a 20 x 20 one: area alone does not tell."""
    answer = pack(squares([11, 11]), 20, 20)
    assert (answer.placed, answer.proved) == (None, True)


def test_seventy_three_rolls():
    lengths = [length // 10 for length in ROLLS]
    patterns = full_patterns(lengths, 560)
    assert len(patterns) == 213
    plan = fewest(list(ROLLS.values()), best_length_pattern(lengths, 560), lambda _: patterns)
    assert (plan.pieces, plan.bound) == (73, 73)
    for n, wanted in enumerate(ROLLS.values()):
        assert sum(p[n] * t for p, t in zip(plan.patterns, plan.times, strict=True)) >= wanted
    assert all(sum(c * w for c, w in zip(p, lengths, strict=True)) <= 560 for p in plan.patterns)
