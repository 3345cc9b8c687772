"""A day at the bench: a step ticked with gloves on, a label scanned, a fit kept, a phone let in."""

from datetime import UTC, datetime, timedelta

import httpx2
import pytest

from chape.shop.plan import make_plan
from chape.shop.propose import propose, take_pieces
from chape.shop.schedule import Effort
from chape.shop.stock import Good, Shelf, set_shelf
from small_shop import NOW, enter, order_line, small_shop

#: This machine by an address that is not its own name: to the bench, another device.
OTHER = "127.0.0.2"

#: What a gloved thumb hits, CSS pixels.
GLOVED = 64


@pytest.fixture(scope="module")
def bench(browser, serve, tmp_path_factory):
    """A shop with one blank of two pieces in work, and its day planned."""
    del browser  # nothing is made where there is none
    folder = tmp_path_factory.mktemp("day") / "bench"
    shop = small_shop(folder)
    tomorrow = (datetime.now(UTC) + timedelta(days=1)).date()
    enter(shop, order_line(due=tomorrow, quantity=2, customer="c7"))
    for good in (Good("sheet", "acrylic-pvc-2.0 300x300", "black"), Good("eyelet", "eyelet-6.4")):
        shop.change(lambda c, good=good: set_shelf(c, Shelf(good, 100, 10, 10, 500), NOW))
    offered = propose(shop, tomorrow, 20)
    pieces = [wish.serial for batch in offered.batches for wish in batch.wishes]
    take_pieces(shop, pieces, tomorrow, datetime.now(UTC))
    make_plan(shop, datetime.now(UTC).astimezone(), Effort(seconds=0.2))
    shop.close()
    return serve(folder, "--lan")


def test_a_step_is_ticked_on_a_phone_with_gloves_on(bench, visit, look):
    page = visit(f"{bench.address}/#/day", width=390, height=844, has_touch=True)
    ahead = page.get_by_role("region", name="Next for your hands")
    assert ahead.get_by_role("heading").inner_text() == "Lay the sheet in the press, heat"
    done = ahead.get_by_role("button", name="It is done")
    assert done.bounding_box()["height"] >= GLOVED
    look(page)
    done.tap()
    look(page)
    ahead.get_by_role("button", name="Not yet").tap()
    done.tap()
    ahead.get_by_role("button", name="Yes, it is done").tap()
    page.get_by_role("heading", name="Move the hot sheet to the table").wait_for()
    alone = page.locator(".alone li")
    assert "Press" in alone.inner_text()
    minutes, seconds = alone.locator("output").inner_text().split(":")
    assert 100 < 60 * int(minutes) + int(seconds) <= 120
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    look(page, full_page=True)


def test_a_scanned_label_leads_to_its_piece_and_its_fit_is_kept(bench, visit, look):
    page = visit(f"{bench.address}/#/day/safety")
    page.get_by_role("heading", name="Look after yourself").wait_for()
    page.get_by_label("Scan or type a label").fill("2026-0001-1 of something else")
    page.keyboard.press("Enter")
    page.get_by_text("That is no label of this shop").wait_for()
    page.get_by_label("Scan or type a label").fill(f"{NOW.year}-0001-1")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name=f"{NOW.year}-0001-1").wait_for()
    page.get_by_text("It is somewhere else than the plan thinks").click()
    page.get_by_role("button", name="closed").click()
    page.get_by_role("button", name="Yes, it is closed").click()
    page.get_by_role("heading", name="How does it fit?").wait_for()
    for question in page.locator(".question").all():
        question.get_by_role("button", name="Yes").click()
    page.get_by_label("A spring scale read").fill("24.5")
    look(page, full_page=True)
    page.get_by_role("button", name="Keep: it has passed").click()
    page.get_by_text("24.5 N", exact=True).wait_for()
    look(page, full_page=True)


def test_an_order_is_entered_by_keyboard_in_the_dark(bench, visit, look):
    page = visit(f"{bench.address}/#/day/orders", color_scheme="dark")
    page.get_by_role("link", name="Enter an order").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Customer, a reference").fill("c8")
    page.get_by_label("Due").fill("2099-01-01")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Order 20").wait_for()
    look(page)


def test_a_device_is_refused_until_it_types_the_code_and_once_it_is_shut_out(bench, visit, look):
    other = f"http://{OTHER}:{bench.port}"
    page = visit(other, width=390, height=844)
    code = bench.line(r"type this code .*: (\d{4} \d{4})")
    wrong = f"{(int(code[0]) + 1) % 10}{code[1:]}"
    assert page.request.get(f"{other}/api/knives").status == 403
    page.get_by_label("Code").fill(wrong)
    page.get_by_role("button", name="Come in").click()
    page.get_by_text("That is not the code").wait_for()
    look(page)
    assert httpx2.get(f"{bench.address}/api/devices").json() == []
    page.wait_for_timeout(1100)
    page.get_by_label("Code").fill(code)
    page.get_by_role("button", name="Come in").click()
    page.get_by_role("heading", name="Knives").wait_for()
    look(page)

    own = visit(f"{bench.address}/#/devices")
    own.get_by_role("button", name="Shut out").click()
    own.get_by_text("No other device").wait_for()
    assert page.request.get(f"{other}/api/knives").status == 403
