"""Blanks from stock: nothing overlaps, every cut goes through, and the bound is one."""

from itertools import combinations

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.errors import CannotMakeError, InputError
from chape.tooling.stock import CutWay, Size, StockSheet, plan_stock


def boxes(sheet):
    return [shapely.box(p.x, p.y, p.x + p.width, p.y + p.depth) for p in sheet.laid if p.size >= 0]


def made(plan):
    return [
        sum(s.times * sum(p.size == n for p in s.laid) for s in plan.sheets)
        for n in range(len(plan.sizes))
    ]


SIZES = st.lists(
    st.tuples(st.integers(12, 40), st.integers(12, 40), st.integers(1, 6)), min_size=1, max_size=3
)


@settings(max_examples=25, deadline=None)
@given(SIZES, st.sampled_from([0.0, 3.0]), st.booleans())
def test_a_plan_gives_what_is_wanted_and_cuts_nothing_in_two(sizes, kerf, turn):
    stock = StockSheet(width=1220, depth=600, kerf=kerf, edge=5, turn=turn)
    wanted = [Size(f"{n}", 10.0 * w, 10.0 * d, c) for n, (w, d, c) in enumerate(sizes)]
    plan = plan_stock(stock, wanted)
    assert made(plan) == [size.count for size in wanted]
    assert plan.bound <= plan.used
    inside = shapely.box(5, 5, 1215, 595)
    for sheet in plan.sheets:
        placed = boxes(sheet)
        assert all(inside.buffer(1e-6).covers(box) for box in placed)
        assert all(a.distance(b) >= kerf - 1e-6 for a, b in combinations(placed, 2))
        assert all(a.intersection(b).area < 1e-6 for a, b in combinations(placed, 2))
        goes_through(sheet, inside, kerf)


def goes_through(sheet, inside, kerf):
    """Cut piece after piece in order: each cut parts one piece from edge to edge, and no blank."""
    pieces = [inside.buffer(kerf / 2, join_style="mitre")]
    for cut in sheet.cuts:
        start, end = cut.start - kerf / 2, cut.end + kerf / 2
        ends = [(cut.at, start), (cut.at, end)] if cut.upright else [(start, cut.at), (end, cut.at)]
        line = shapely.LineString(ends)
        (mine,) = [p for p in pieces if p.intersection(line).length > line.length - 1e-6]
        x_min, y_min, x_max, y_max = mine.bounds
        side = (y_min, y_max) if cut.upright else (x_min, x_max)
        assert (start, end) == pytest.approx(side)
        pieces.remove(mine)
        if cut.upright:
            halves = (x_min, y_min, cut.at, y_max), (cut.at, y_min, x_max, y_max)
        else:
            halves = (x_min, y_min, x_max, cut.at), (x_min, cut.at, x_max, y_max)
        pieces += [shapely.box(*half) for half in halves]
    for blank in boxes(sheet):
        assert sum(piece.buffer(1e-6).covers(blank) for piece in pieces) == 1


def test_a_whole_plan_is_found_where_the_worthiest_patterns_alone_need_more():
    stock = StockSheet(width=1220, depth=2440, kerf=3, edge=5)
    plan = plan_stock(stock, [Size("camp", 300, 300, 22), Size("small", 180, 260, 13)])
    assert (plan.used, plan.bound) == (1, 1)


def test_free_cutting_packs_what_through_cuts_cannot():
    """The squared rectangle of 33 x 32 (Moron, 1925): no cut goes right through it."""
    sides = [10.0 * side for side in (1, 4, 7, 8, 9, 10, 14, 15, 18)]
    sizes = [Size(f"{side:g}", side, side, 1) for side in sides]
    through = plan_stock(StockSheet(width=330, depth=320), sizes)
    free = plan_stock(StockSheet(width=330, depth=320, cut=CutWay.FREE), sizes)
    assert (through.used, free.used) == (2, 1)
    assert made(free) == [1] * 9


def test_a_roll_is_cut_along_its_length():
    plan = plan_stock(StockSheet(width=5600), [Size("a", 1380, 300, 22), Size("b", 1520, 300, 25)])
    assert (plan.used, plan.bound) == (14, 14)
    assert made(plan) == [22, 25]


def test_what_cannot_be_cut_is_refused():
    stock = StockSheet(width=1000, depth=1000, kerf=3)
    with pytest.raises(CannotMakeError, match="larger than the stock"):
        plan_stock(stock, [Size("long", 1200, 10, 1)])
    few = stock.model_copy(update={"sheets": 1})
    with pytest.raises(CannotMakeError, match="there are 1; no plan takes fewer"):
        plan_stock(few, [Size("large", 501, 501, 2)])
    with pytest.raises(InputError, match="no blank"):
        plan_stock(stock, [])
    with pytest.raises(InputError, match="all be as deep"):
        plan_stock(StockSheet(width=900), [Size("a", 9, 9, 1), Size("b", 9, 8, 1)])
