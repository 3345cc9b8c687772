"""Blanks cut from whole sheets and rolls for what waits."""

from dataclasses import replace

import pytest
from sqlalchemy import select

from chape.errors import CannotMakeError, InputError
from chape.shop.sheets import cuts_for, put_cut_blanks, waiting_cuts
from chape.shop.stock import Good, Reason, Shelf, set_shelf, shelves
from chape.shop.tables import STOCK_MOVES
from small_shop import NOW, TEXT, enter, order_line, small_shop

#: Widths and demands of the encyclopaedia's worked example (from memory): 73 rolls of 5600 are
#: proved to be the fewest. The blanks are a tenth as wide, to be such as a shop could form.
ROLLS = {1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12,
         2100: 14, 2140: 16, 2150: 18, 2200: 20}  # fmt: skip

WHOLE = Good("sheet", "acrylic-pvc-2.0 910x610", "black")
BLANK = Good("sheet", "acrylic-pvc-2.0 300x300", "black")
SHEETS = '[sheets."acrylic-pvc-2.0"]\nwidth = 910.0\ndepth = 610.0\nkerf = 2.0\n'


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop", TEXT + SHEETS)
    yield made
    made.close()


def test_seventy_three_rolls_for_the_orders_of_a_shop(tmp_path):
    """Orders, batches, their blanks and the rolls to take: 73, and no plan takes fewer."""
    models = "".join(
        f'[models.m{width}]\ntitle = "m"\nmould = "m{width}"\nfixture = "f"\n'
        f"blank = [{width // 10}, 250]\n"
        for width in ROLLS
    )
    roll = '[sheets."acrylic-pvc-2.0"]\nwidth = 560.0\n'
    shop = small_shop(tmp_path / "shop", f'[shop]\nname = "Rolls"\n{models}{roll}')
    enter(shop, *(order_line(model=f"m{width}", quantity=n) for width, n in ROLLS.items()))
    (cut,) = waiting_cuts(shop)
    shop.close()
    assert (cut.plan.used, cut.plan.bound, cut.short) == (73, 73, 73)
    assert cut.whole == Good("sheet", "acrylic-pvc-2.0 560x250", "black")
    assert cut.plan.share == pytest.approx(1 - 0.004012, abs=5e-7)
    assert sorted(cut.blanks.values()) == sorted(ROLLS.values())


def test_sheets_leave_the_shelf_and_blanks_come_onto_it(shop):
    """Six blanks of 300 lie on a sheet of 910 x 610 with a kerf of 2."""
    enter(shop, order_line(quantity=30), order_line(colour="tan", quantity=1))
    shop.change(lambda c: set_shelf(c, Shelf(WHOLE, 3, 0, 1, 0), NOW))
    shop.change(lambda c: set_shelf(c, Shelf(BLANK, 1, 0, 1, 0), NOW))
    black, tan = waiting_cuts(shop)
    assert (black.plan.used, black.on_hand, black.short, black.blanks) == (2, 3, 0, {BLANK: 7})
    assert (tan.plan.used, tan.short) == (1, 1)
    shop.change(lambda c: put_cut_blanks(c, (black,), NOW))
    counts = {shelf.good: shelf.on_hand for shelf in shop.read(shelves)}
    assert counts == {WHOLE: 1, BLANK: 8}
    reasons = shop.read(lambda c: c.execute(select(STOCK_MOVES.c.reason)).scalars().all())
    assert reasons.count(Reason.CUT) == 2
    assert waiting_cuts(shop) == (tan,)


def test_what_is_not_there_is_not_cut(shop):
    enter(shop, order_line(quantity=30))
    (cut,) = waiting_cuts(shop)
    with pytest.raises(CannotMakeError, match="is kept in stock"):
        shop.change(lambda c: put_cut_blanks(c, (cut,), NOW))
    shop.change(lambda c: set_shelf(c, Shelf(WHOLE, 1, 0, 1, 0), NOW))
    with pytest.raises(CannotMakeError, match="1 are on hand, and 2 are wanted"):
        shop.change(lambda c: put_cut_blanks(c, (cut,), NOW))
    assert {shelf.good: shelf.on_hand for shelf in shop.read(shelves)} == {WHOLE: 1}


def test_a_shop_without_whole_sheets_is_told_where_to_write_them(shop):
    file = shop.file.model_copy(update={"sheets": {}})
    with pytest.raises(InputError, match="what a whole one measures"):
        cuts_for(file, (), ())
    narrow = {"acrylic-pvc-2.0": shop.file.sheets["acrylic-pvc-2.0"].model_copy(
        update={"width": 250.0}
    )}  # fmt: skip
    enter(shop, order_line())
    small = replace(shop, file=shop.file.model_copy(update={"sheets": narrow}))
    with pytest.raises(CannotMakeError, match="larger than the stock"):
        waiting_cuts(small)
