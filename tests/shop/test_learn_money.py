"""What the log teaches is proposed, not used; what a piece costs adds up."""

from statistics import median

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import insert

from chape.errors import CannotMakeError, InputError
from chape.shop.demo import PACE, demo_shop
from chape.shop.in_work import learned_figures
from chape.shop.learn import accept, median_range, proposals, unlearn
from chape.shop.money import Wanted, pays_from, quote, rounded_up
from chape.shop.route import routes
from chape.shop.stock import Good, Shelf
from chape.shop.tables import BATCHES, RUNS
from small_shop import NOW, TEXT, small_shop

SHEET = Good("sheet", "acrylic-pvc-2.0 300x300", "black")
SHELVES = (
    Shelf(SHEET, 1, 0, 8, 3200), Shelf(Good("eyelet", "eyelet-6.4"), 1, 0, 500, 2500),
    Shelf(Good("clip", "flat-clip-2"), 1, 0, 10, 1500),
)  # fmt: skip
CAMP = Wanted("camp", "acrylic-pvc-2.0", "black", "flat-clip-2")


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    yield made
    made.close()


def _ticks(shop, step, seconds):
    batch = {
        "id": 1, "model": "camp", "sheet": "s", "colour": "black", "mould": "m", "fixture": "f",
        "blanks": 1, "day": NOW.date(), "taken": NOW,
    }  # fmt: skip
    rows = [
        {"task": f"{n}.{step}", "step": step, "model": "camp", "sheet": "s", "batch_id": 1,
         "seconds": each, "ended": NOW}
        for n, each in enumerate(seconds)
    ]  # fmt: skip
    shop.change(lambda c: (c.execute(insert(BATCHES).values(batch)), c.execute(insert(RUNS), rows)))


def _proposed(shop):
    return {each.what: each for each in shop.read(lambda c: proposals(c, shop.file))}


def test_the_demo_shop_is_told_what_its_hands_do_differently(tmp_path):
    """The log was made with known factors: those steps are found, near their truth, no other."""
    demo = demo_shop(tmp_path / "demo", NOW.date())
    found = _proposed(demo)
    usual = {step.name: step.hands for step in routes().steps}
    assert set(PACE) <= set(found)
    for step, factor in PACE.items():
        assert found[step].value == pytest.approx(usual[step] * factor, rel=0.05)
    assert demo.read(learned_figures) == {}
    demo.close()


def test_a_forgotten_tick_does_not_teach(shop):
    _ticks(shop, "check", [80] * 15 + [9000] * 5)
    assert _proposed(shop)["check"].value == 80


@pytest.mark.parametrize("seconds", [[80] * 9, [58, 60, 62] * 5, [1, 300] * 8])
def test_too_little_the_same_or_too_wild_is_not_proposed(shop, seconds):
    _ticks(shop, "check", seconds)
    assert _proposed(shop) == {}


def test_a_figure_is_used_once_accepted_and_until_forgotten(shop):
    _ticks(shop, "check", [80] * 20)
    before = quote(shop.file, CAMP, SHELVES, shop.read(learned_figures))
    shop.change(lambda c: accept(c, shop.file, "check", NOW))
    assert _proposed(shop) == {}
    after = quote(shop.file, CAMP, SHELVES, shop.read(learned_figures))
    assert after.hands == before.hands + 20
    shop.change(lambda c: unlearn(c, "check"))
    assert shop.read(learned_figures) == {}
    for act in (lambda c: accept(c, shop.file, "pack", NOW), lambda c: unlearn(c, "pack")):
        with pytest.raises(InputError, match="pack"):
            shop.change(act)


@given(st.lists(st.floats(1, 1e4), min_size=6, max_size=200))
@settings(max_examples=60)
def test_a_median_lies_in_its_range(values):
    middle, low, high = median_range(values)
    assert middle == median(values)
    assert min(values) <= low <= middle <= high <= max(values)


def test_a_price_adds_up(shop):
    """By hand: a quarter of a blank 1.00, six eyelets 0.30, a clip 1.50, consumables 0.60."""
    found = quote(shop.file, CAMP, SHELVES, {})
    parts = dict(found.parts)
    assert parts[str(SHEET)] == pytest.approx(1.0)
    assert parts["eyelet-6.4"] == pytest.approx(0.3)
    assert parts["flat-clip-2"] == pytest.approx(1.5)
    hands = (15 + 11 + 15 + 45 + 40 + 60) / 4 + 45 + 5 + 15 + 48 + 60 + 45 + 50
    machine = (90 + 200) / 4
    assert (found.hands, found.machine) == (pytest.approx(hands), pytest.approx(machine))
    goods = 1.0 + 0.3 + 1.5 + 0.6 + 30 * hands / 3600 + 8 * machine / 3600
    assert found.cost == pytest.approx(goods * 1.2)
    assert found.price == rounded_up(goods * 1.2 / 0.75, 0.5)
    assert found.unpriced == ()


def test_scrap_raises_the_cost_of_what_is_left(shop):
    plain = quote(shop.file, CAMP, SHELVES, {})
    lossy = quote(shop.file, CAMP, SHELVES, {"scrap camp": 0.2})
    assert lossy.cost == pytest.approx(plain.cost / 0.8)


def test_goods_without_a_price_are_named(shop):
    assert quote(shop.file, CAMP, SHELVES[1:], {}).unpriced == (SHEET,)
    with pytest.raises(InputError, match="no model"):
        quote(shop.file, Wanted("cmp", "s", "black"), (), {})
    with pytest.raises(InputError, match="quantity 0"):
        quote(shop.file, Wanted("camp", "s", "black", None, 0), (), {})


def test_a_mould_pays_for_itself(tmp_path, shop):
    found = quote(shop.file, CAMP, SHELVES, {})
    count = pays_from(found, 240.0)
    brings = found.price - found.cost
    assert count * brings >= 240.0 > (count - 1) * brings
    for wrong in (float("nan"), -1.0, 1e9):
        with pytest.raises(InputError, match="tools for"):
            pays_from(found, wrong)
    cheap = small_shop(tmp_path / "cheap", TEXT.replace("hold = 25.0", "price = 1.0"))
    with pytest.raises(CannotMakeError, match=r"brings 1\.00"):
        pays_from(quote(cheap.file, CAMP, SHELVES, {}), 240.0)
    cheap.close()


@given(st.floats(0.01, 1e4), st.sampled_from([0.05, 0.1, 0.5, 1.0, 5.0]))
@settings(max_examples=60)
def test_prices_are_rounded_up_by_less_than_a_step(price, step):
    found = rounded_up(price, step)
    assert price - 1e-5 <= found < price + step + 1e-5
    assert found / step == pytest.approx(round(found / step))
