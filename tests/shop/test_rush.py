"""A rush order: what it displaces, what it takes and what it costs."""

from datetime import UTC, date, datetime, timedelta

import pytest
from typer.testing import CliRunner

from chape.cli.main import app
from chape.errors import InputError
from chape.shop.orders import Wanted, count_orders
from chape.shop.rush import rush_of
from chape.shop.schedule import Effort
from chape.shop.stock import Good, Shelf, set_shelf
from small_shop import NOW, TEXT, enter, order_line, small_shop

QUICK = Effort(seconds=0.2, workers=1, rounds=10)
DAY = date(2026, 3, 4)
#: Two hours before parcels are collected.
LATE_START = datetime(2026, 3, 4, 14, 0, tzinfo=UTC)


def _shop(folder, text=TEXT):
    made = small_shop(folder, text)
    goods = [Good("sheet", "acrylic-pvc-2.0 300x300", c) for c in ("black", "tan")]
    goods += [Good("eyelet", "eyelet-6.4"), Good("clip", "flat-clip-2")]
    made.change(lambda c: [set_shelf(c, Shelf(good, 500, 1, 10, 1000), NOW) for good in goods])
    return made


@pytest.fixture
def shop(tmp_path):
    made = _shop(tmp_path / "shop")
    yield made
    made.close()


def test_a_quiet_shop_displaces_nothing(shop):
    found = rush_of(shop, order_line(due=DAY), LATE_START, QUICK)
    assert found.in_time
    assert found.leaves == DAY
    assert found.displaced == ()
    assert found.goods == {
        Good("sheet", "acrylic-pvc-2.0 300x300", "black"): 1, Good("eyelet", "eyelet-6.4"): 6
    }  # fmt: skip
    # A whole blank for one piece, and set-ups: more than a piece of a full blank.
    assert found.price > found.usual
    assert shop.read(lambda c: count_orders(c, Wanted())) == 0


def test_a_seat_that_is_empty_anyway_costs_no_sheet(shop):
    enter(shop, order_line(quantity=3, due=DAY + timedelta(days=2)))
    found = rush_of(shop, order_line(due=DAY), LATE_START, QUICK)
    assert found.goods == {Good("eyelet", "eyelet-6.4"): 6}
    assert found.displaced == ()


def test_what_is_due_today_and_no_longer_fits_is_named(shop, tmp_path):
    """Two hours of hands are left: six pieces fit, twenty-four more do not: both are late.

    Nothing is searched here, so that the same comes out however slow the machine is.
    """
    line, once = order_line(quantity=24, due=DAY), Effort(seconds=0)
    dear = _shop(tmp_path / "dear", TEXT + "\n[money]\nlate_day = 100.0\n")
    for each in (shop, dear):
        enter(each, order_line(model="slim", quantity=6, due=DAY, customer="c7"))
    later = rush_of(shop, order_line(due=DAY + timedelta(days=9)), LATE_START, once)
    assert later.displaced == ()
    free, charged = (rush_of(each, line, LATE_START, once) for each in (shop, dear))
    assert free.displaced == charged.displaced
    assert [(each.reference, each.days) for each in free.displaced] == [("2026-0001", 1)]
    assert not free.in_time
    late = sum(each.days for each in charged.displaced)
    assert charged.cost - free.cost == pytest.approx(100.0 * late, abs=0.01)
    dear.close()


def test_what_the_shelf_does_not_cover_is_to_be_bought(shop):
    found = rush_of(shop, order_line(colour="green", due=DAY), LATE_START, QUICK)
    assert [str(each.good) for each in found.buy] == ["acrylic-pvc-2.0 300x300 green"]


def test_a_rush_of_an_own_knife_or_an_unknown_model_is_refused(shop):
    with pytest.raises(InputError, match="own knife"):
        rush_of(shop, order_line(model=None, knife="own"), LATE_START, QUICK)
    with pytest.raises(InputError, match='no model "axe"'):
        rush_of(shop, order_line(model="axe"), LATE_START, QUICK)


def test_the_command_tells_it_plainly(shop):
    given = ["shop", "rush", "camp", "--due", "2026-03-04", "--at", "2026-03-04T08:00"]
    given += ["--seconds", "0.2", "--shop", str(shop.folder)]
    said = CliRunner().invoke(app, given)
    assert said.exit_code == 0, said.output
    for words in ("leaves on 2026-03-04.", "No other order", "price that keeps the margin", "EUR"):
        assert words in said.output
    wrong = CliRunner().invoke(app, [*given, "--clip", "no-such-clip"])
    assert wrong.exit_code != 0
