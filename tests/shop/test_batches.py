"""Stock and batches: full blanks, urgent pieces first, never more than the shelf holds."""

from datetime import date, timedelta
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from chape.errors import CannotMakeError, InputError
from chape.shop import batches as batch_module
from chape.shop.batches import Wish, choose_batches, needs_of, wishes_of
from chape.shop.in_work import seats
from chape.shop.model import PieceState
from chape.shop.money import Wanted as Quoted
from chape.shop.money import quote
from chape.shop.orders import Wanted, cancel_order, check_line, list_orders, move_piece
from chape.shop.stock import Good, Reason, Shelf, good_of, move_stock, set_shelf, shelves, to_buy
from chape.shop.tables import STOCK, STOCK_MOVES
from chape.shop.take import take_batch
from small_shop import CATALOG, DUE, NOW, TEXT, enter, order_line, small_shop

BLACK = Good("sheet", "acrylic-pvc-2.0 300x300", "black")
TAN = Good("sheet", "acrylic-pvc-2.0 300x300", "tan")
EYELETS = Good("eyelet", "eyelet-6.4")
CLIPS = Good("clip", "flat-clip-2")
FULL = tuple(Shelf(good, 10_000, 5, 10, 1000) for good in (BLACK, TAN, EYELETS, CLIPS))


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    yield made
    made.close()


def _stock(shop, *rows):
    shop.change(lambda c: [set_shelf(c, row, NOW) for row in rows])


def _wishes(count, model="camp", colour="black", due=DUE, clip=None, start=0):
    return [
        Wish(f"{model}-{colour}-{n + start}", n, model, "acrylic-pvc-2.0", colour, clip, due)
        for n in range(count)
    ]


def _shelf(**counts):
    names = {"black": BLACK, "tan": TAN, "eyelets": EYELETS, "clips": CLIPS}
    return tuple(Shelf(names[name], count, 0, 10, 100) for name, count in counts.items())


def test_blanks_are_filled_with_what_is_not_urgent(shop):
    later = DUE + timedelta(days=9)
    wishes = [*_wishes(5), *_wishes(4, due=later, start=10)]
    choice = choose_batches(shop.file, wishes, FULL, DUE)
    (batch,) = choice.batches
    assert (batch.blanks, batch.empty, len(batch.wishes)) == (2, 0, 8)
    assert {wish.serial for wish in _wishes(5)} <= {wish.serial for wish in batch.wishes}
    assert choice.gap == 0


def test_what_shares_no_blank_makes_a_batch_of_its_own(shop):
    wishes = [*_wishes(4), *_wishes(4, colour="tan"), *_wishes(6, model="slim")]
    choice = choose_batches(shop.file, wishes, FULL, DUE)
    assert [(b.model, b.colour, b.blanks) for b in choice.batches] == [
        ("camp", "black", 1), ("camp", "tan", 1), ("slim", "black", 1),
    ]  # fmt: skip


def test_stock_is_never_overdrawn_and_the_rest_is_named(shop):
    choice = choose_batches(
        shop.file, _wishes(12, clip="flat-clip-2"), _shelf(black=2, eyelets=40, clips=50), DUE
    )
    (batch,) = choice.batches
    assert len(batch.wishes) == 6  # 40 eyelets close six
    assert len(choice.left_out) == 6
    bought = {row.good: row.packs * row.pack for row in choice.buy}
    assert bought[EYELETS] >= 12 * 6 - 40
    assert bought[BLACK] >= 1


def test_nothing_on_the_shelf_makes_nothing(shop):
    choice = choose_batches(shop.file, _wishes(3), (), DUE)
    assert choice.batches == ()
    assert len(choice.left_out) == 3
    assert {row.good for row in choice.buy} == {BLACK, EYELETS}


def test_the_choice_is_the_best_of_all(shop):
    """Every way to fill up to three blanks is tried by hand, on a stock that is too small."""
    later = DUE + timedelta(days=3)
    wishes = [*_wishes(3), *_wishes(3, due=later, start=9), *_wishes(5, "slim", due=later)]
    rows = _shelf(black=2, eyelets=50)
    choice = choose_batches(shop.file, wishes, rows, DUE)
    best = 0
    for first, second, slim in product(range(4), range(4), range(6)):
        camp = -(-(first + second) // 4)
        blanks = camp + -(-slim // 6)
        if blanks > 2 or 6 * (first + second) + 5 * slim > 50:
            continue
        empty = 4 * camp - first - second + 6 * -(-slim // 6) - slim
        worth = batch_module.WORTH * first + (batch_module.SOON_WORTH - 2) * (second + slim)
        tools = 2 * (camp > 0) + 2 * (slim > 0)
        best = max(best, worth - batch_module.EMPTY * empty - batch_module.SET_UP * tools)
    assert (choice.value, choice.bound) == (best, best)


def test_taking_a_batch_moves_goods_and_pieces_together(shop):
    enter(shop, order_line(quantity=5, clip="flat-clip-2"))
    _stock(shop, *_shelf(black=3, eyelets=100, clips=9))
    orders, rows = shop.read(lambda c: (list_orders(c, Wanted()), shelves(c)))
    (batch,) = choose_batches(shop.file, wishes_of(orders), rows, DUE).batches
    number = shop.change(lambda c: take_batch(c, shop.file, batch, DUE, NOW))
    left = {row.good: row.on_hand for row in shop.read(shelves)}
    assert left == {BLACK: 1, EYELETS: 70, CLIPS: 4}
    taken = shop.read(lambda c: seats(c, shop.file))
    assert [seat.work.blank for seat in taken] == [f"B{number}.1"] * 4 + [f"B{number}.2"]
    assert {seat.work.state for seat in taken} == {PieceState.BATCHED}
    with pytest.raises(CannotMakeError, match=r"in work already|on hand"):
        shop.change(lambda c: take_batch(c, shop.file, batch, DUE, NOW))
    assert {row.good: row.on_hand for row in shop.read(shelves)} == left


def test_a_batch_with_a_piece_that_was_cancelled_meanwhile_is_not_taken(shop):
    enter(shop, order_line(), order_line())
    _stock(shop, *_shelf(black=3, eyelets=100))
    orders, rows = shop.read(lambda c: (list_orders(c, Wanted()), shelves(c)))
    (batch,) = choose_batches(shop.file, wishes_of(orders), rows, DUE).batches
    shop.change(lambda c: cancel_order(c, "2026-0002"))
    with pytest.raises(CannotMakeError, match="2026-0002-1"):
        shop.change(lambda c: take_batch(c, shop.file, batch, DUE, NOW))
    assert {row.on_hand for row in shop.read(shelves)} == {3, 100}


def test_a_shelf_that_does_not_cover_says_what_to_buy(shop):
    enter(shop, order_line(quantity=4))
    _stock(shop, *_shelf(black=1, eyelets=23))
    orders = shop.read(lambda c: list_orders(c, Wanted()))
    (batch,) = choose_batches(shop.file, wishes_of(orders), FULL, DUE).batches
    with pytest.raises(CannotMakeError, match=r"24 of eyelet-6.4, and 23 .* Buy 10 of eyelet-6.4"):
        shop.change(lambda c: take_batch(c, shop.file, batch, DUE, NOW))


def test_own_knives_wait_for_a_model(shop):
    enter(shop, order_line(model=None, knife="old friend"))
    assert wishes_of(shop.read(lambda c: list_orders(c, Wanted()))) == ()


def test_scrapped_pieces_are_wished_for_again(shop):
    enter(shop, order_line())
    shop.change(lambda c: move_piece(c, "2026-0001-1", PieceState.SCRAPPED))
    (wish,) = wishes_of(shop.read(lambda c: list_orders(c, Wanted())))
    assert wish.serial == "2026-0001-2"


@pytest.mark.parametrize("wrong", [{"on_hand": -1}, {"pack": 0}, {"pack_cents": -1}])
def test_a_shelf_that_cannot_be_is_refused(shop, wrong):
    with pytest.raises(InputError):
        _stock(shop, Shelf(**{"good": BLACK, "on_hand": 1, "reorder_at": 0, "pack": 1,
                              "pack_cents": 0, **wrong}))  # fmt: skip


def test_what_nobody_set_up_cannot_be_moved(shop):
    with pytest.raises(InputError, match="not kept"):
        shop.change(lambda c: move_stock(c, BLACK, 1, Reason.BOUGHT, NOW))


@given(
    on_hand=st.integers(0, 50), at=st.integers(0, 50), pack=st.integers(1, 20),
    wanted=st.integers(0, 200),
)  # fmt: skip
@settings(max_examples=60)
def test_what_is_bought_passes_the_reorder_point_and_no_package_is_too_many(
    on_hand, at, pack, wanted
):
    rows = to_buy((Shelf(BLACK, on_hand, at, pack, 7),), {BLACK: wanted})
    packs = sum(row.packs for row in rows)
    # A reorder point of 0 is none: then only what is wanted is bought.
    least = at + 1 if at else 0
    assert on_hand + packs * pack - wanted >= least
    assert packs == 0 or on_hand + (packs - 1) * pack - wanted < least


def test_a_count_is_the_sum_of_its_moves(shop):
    _stock(shop, *_shelf(black=7, tan=3))
    for change, good in ((5, BLACK), (-2, TAN), (-11, BLACK)):
        shop.change(lambda c, g=good, n=change: move_stock(c, g, n, Reason.USED, NOW))
    with pytest.raises(CannotMakeError, match="on hand"):
        shop.change(lambda c: move_stock(c, TAN, -2, Reason.USED, NOW))
    _stock(shop, *_shelf(black=4))
    sums = shop.read(
        lambda c: c.execute(
            select(STOCK.c.on_hand, func.sum(STOCK_MOVES.c.change))
            .join(STOCK_MOVES)
            .group_by(STOCK.c.id)
        ).all()
    )
    assert [(a, b) for a, b in sums] == [(4, 4), (1, 1)]


def test_needs_count_eyelets_and_clips_of_the_pieces_only(shop):
    (batch,) = choose_batches(shop.file, _wishes(5, clip="flat-clip-2"), FULL, DUE).batches
    assert needs_of(shop.file, batch) == {BLACK: 2, EYELETS: 30, CLIPS: 5}


def test_a_model_for_one_hand_refuses_the_other(tmp_path):
    made = small_shop(tmp_path / "left", TEXT.replace("per_blank = 4", 'hand = "left"'))
    check_line(order_line(hand="left", due=date(2026, 4, 1)), made.file, CATALOG)
    with pytest.raises(InputError, match="left hand"):
        check_line(order_line(), made.file, CATALOG)
    made.close()


def test_consumables_leave_the_shelf_with_a_batch(tmp_path):
    """One release sheet's worth for a blank, one box for a piece; what is short is named."""
    text = TEXT.replace(
        "per_blank = 4\n",
        'per_blank = 4\nuses = { "release sheet" = 1 }\nuses_each = { box = 1 }\n',
    )
    made = small_shop(tmp_path / "own", text)
    box, release = Good("consumable", "box"), Good("consumable", "release sheet")
    few = (*FULL, Shelf(box, 5, 0, 10, 400), Shelf(release, 50, 0, 50, 2000))
    choice = choose_batches(made.file, _wishes(8), few, DUE)
    (batch,) = choice.batches
    assert len(batch.wishes) == 5
    assert (choice.takes[box], choice.takes[release]) == (5, 2)
    assert [each.good for each in choice.buy] == [box]
    quoted = quote(made.file, Quoted("camp", "acrylic-pvc-2.0", "black"), few, {})
    parts = dict(quoted.parts)
    assert parts["box"] == pytest.approx(0.40)
    assert parts["release sheet"] == pytest.approx(0.10)
    assert good_of(CATALOG, "consumable", "release sheet", "") == release
    for name, colour in (("", ""), ("box", "red"), ("a\nb", "")):
        with pytest.raises(InputError, match="consumable"):
            good_of(CATALOG, "consumable", name, colour)
    made.close()
