"""What deserves a look is found, and nothing else."""

from datetime import timedelta

import pytest
from sqlalchemy import insert

from chape.errors import InputError
from chape.shop.check import check_shop
from chape.shop.stock import Good, Shelf, set_shelf
from chape.shop.store import open_shop
from chape.shop.tables import BATCHES
from small_shop import DUE, NOW, TEXT, enter, order_line, small_shop


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    yield made
    made.close()


def _codes(shop, day=DUE):
    findings = shop.read(lambda c: check_shop(c, shop.file, day))
    return [(finding.code, finding.measured) for finding in findings]


def test_a_shop_in_order_has_no_findings(shop):
    enter(shop, order_line())
    eyelets = Shelf(Good("eyelet", "eyelet-6.4"), 101, 100, 500, 1)
    shop.change(lambda c: set_shelf(c, eyelets, NOW))
    assert _codes(shop) == []


def test_late_orders_low_stock_and_orders_without_a_model_are_found(shop):
    enter(shop, order_line(), order_line(model=None, knife="old friend", due=DUE + timedelta(9)))
    eyelets = Shelf(Good("eyelet", "eyelet-6.4"), 100, 100, 500, 1)
    shop.change(lambda c: set_shelf(c, eyelets, NOW))
    assert _codes(shop, DUE + timedelta(days=2)) == [
        ("order-late", 2), ("order-without-model", None), ("stock-low", 100),
    ]  # fmt: skip


def test_a_model_that_was_taken_out_is_found(shop):
    enter(shop, order_line(model="slim"))
    path = shop.folder / "shop.toml"
    path.write_text(TEXT.split("[models.slim]")[0])
    assert _codes(open_shop(shop.folder)) == [("model-unknown", None)]


@pytest.mark.parametrize(("blanks", "found"), [(1799, False), (1800, True)])
def test_moulds_near_their_life_are_found(shop, blanks, found):
    row = {
        "model": "camp", "sheet": "s", "colour": "black", "mould": "camp-4up",
        "fixture": "camp-4up", "blanks": blanks, "day": DUE, "taken": NOW,
    }  # fmt: skip
    shop.change(lambda c: c.execute(insert(BATCHES).values(row)))
    assert (("mould-worn", blanks) in _codes(shop)) == found


@pytest.mark.parametrize("text", ["[stations.anvil]\n", "[times.glue]\nhands = 3.0\n"])
def test_a_station_or_step_nobody_knows_is_refused(shop, text):
    path = shop.folder / "shop.toml"
    path.write_text(TEXT + text)
    with pytest.raises(InputError, match="there is no"):
        open_shop(shop.folder)
