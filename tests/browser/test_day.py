"""A day in the shop: from a typed order to a sheath that has passed; and a phone let in."""

import csv
import io
import json
import zipfile
from datetime import UTC, datetime, timedelta

import httpx2
import pytest

from chape.shop.stock import Good, Shelf, set_shelf
from small_shop import NOW, small_shop

TOMORROW = (datetime.now(UTC) + timedelta(days=1)).date().isoformat()

#: This machine by an address that is not its own name: to the bench, another device.
OTHER = "127.0.0.2"

#: What a gloved thumb hits, CSS pixels.
GLOVED = 64

#: Searches step back behind everything else, which takes long on a busy machine, ms.
SEARCHING = 240_000

#: Plans are searched for a moment only: what the pages do with them is the same.
SOON = "from chape.bench.shop import hurry, plan; hurry.RUSH_SECONDS = plan.MORNING = 0.3"

HEAD = "customer,model,sheet,colour,due,quantity\n"


@pytest.fixture(scope="module")
def bench(browser, serve, tmp_path_factory):
    """A shop with a full shelf, and nothing to do yet."""
    del browser  # nothing is made where there is none
    folder = tmp_path_factory.mktemp("shop") / "bench"
    shop = small_shop(folder)
    for good in (Good("sheet", "acrylic-pvc-2.0 300x300", "black"), Good("eyelet", "eyelet-6.4")):
        shop.change(lambda c, good=good: set_shelf(c, Shelf(good, 100, 10, 10, 500), NOW))
    shop.close()
    return serve(folder, "--lan", first=SOON)


def ask(bench, path):
    return httpx2.get(f"{bench.address}/api/shop/{path}").json()


def kept(page, link):
    """Take what a link leads to."""
    with page.expect_download() as taking:
        link.click()
    return taking.value.path().read_bytes()


def typed_order(page, customer, quantity):
    page.get_by_label("Customer, a reference").fill(customer)
    page.get_by_label("Due").fill(TOMORROW)
    page.get_by_label("Pieces").fill(str(quantity))


def sure(page, words, certain):
    page.get_by_role("button", name=words, exact=True).click()
    page.get_by_role("button", name=certain).click()


def test_with_gloves_on_an_order_goes_from_its_entry_to_its_fit(bench, visit, look):
    page = visit(f"{bench.address}/#/day/orders/new", width=390, height=844, has_touch=True)
    typed_order(page, "c7", 2)
    page.get_by_role("button", name="What would it displace?").click()
    card = page.get_by_label("What it would displace")
    card.get_by_text("No other order leaves too late because of it").wait_for(timeout=SEARCHING)
    assert ask(bench, "orders")["count"] == 0
    look(page, full_page=True)
    card.get_by_role("button", name="Take it on for c7").click()
    page.get_by_role("heading", name="Order 20").wait_for()

    page.get_by_role("link", name="Batches").click()
    page.get_by_text("1 of acrylic-pvc-2.0 300x300 black off the shelf").wait_for()
    look(page)
    sure(page, "Take 2 pieces into work", "Yes, take them")
    page.get_by_role("button", name="Plan the day").click()
    ahead = page.get_by_role("region", name="Next for your hands")
    first = ahead.get_by_role("heading", name="Lay the sheet in the press, heat")
    first.wait_for(timeout=SEARCHING)
    assert page.get_by_role("button", name="Seen").count() == 0

    done = ahead.get_by_role("button", name="It is done")
    assert done.bounding_box()["height"] >= GLOVED
    done.tap()
    ahead.get_by_role("button", name="Not yet").tap()
    done.tap()
    ahead.get_by_role("button", name="Yes, it is done").tap()
    page.get_by_role("heading", name="Move the hot sheet to the table").wait_for()
    alone = page.locator(".alone li")
    assert "Press" in alone.inner_text()
    minutes, seconds = alone.locator("output").inner_text().split(":")
    assert 60 < 60 * int(minutes) + int(seconds) <= 120
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    look(page, full_page=True)

    serial = ask(bench, "orders")["orders"][0]["pieces"][0]["serial"]
    scrapped_and_planned_anew(bench, page, serial)
    tried_and_passed(page, f"{serial[:-1]}2", look)


def scan(page, text):
    page.get_by_label("Scan or type a label").fill(text)
    page.keyboard.press("Enter")


def scrapped_and_planned_anew(bench, page, serial):
    scan(page, f"{serial} of something else")
    page.get_by_text("That is no label of this shop").wait_for()
    scan(page, serial)
    page.get_by_text("It is somewhere else than the plan thinks").click()
    sure(page, "scrapped", "Yes, scrap it")
    page.get_by_role("link", name=f"{serial[:-1]}3").wait_for()
    page.get_by_role("link", name="Now", exact=True).click()
    page.get_by_role("button", name="A step ran late: plan anew").click()
    page.get_by_role("button", name="Planning …").wait_for()
    page.get_by_role("button", name="A step ran late: plan anew").wait_for(timeout=SEARCHING)
    assert page.locator(".notices").all_inner_texts() == []
    assert serial not in json.dumps(ask(bench, "plan?lines=200"))


def tried_and_passed(page, serial, look):
    scan(page, serial)
    page.get_by_text("It is somewhere else than the plan thinks").click()
    sure(page, "closed", "Yes, it is closed")
    page.get_by_role("heading", name="How does it fit?").wait_for()
    for question in page.locator(".question").all():
        question.get_by_role("button", name="Yes").click()
    page.get_by_label("A spring scale read").fill("24.5")
    look(page, full_page=True)
    page.get_by_role("button", name="Keep: it has passed").click()
    page.get_by_text("24.5 N", exact=True).wait_for()


def test_papers_open_and_a_price_is_worked_out(bench, visit, look):
    page = visit(f"{bench.address}/#/day/papers")
    page.get_by_role("link", name="Travellers").wait_for()
    for paper in page.locator("a.paper-key").all():
        answer = page.request.get(f"{bench.address}{paper.get_attribute('href')}")
        assert answer.body().startswith(b"%PDF"), paper.inner_text()
    look(page)
    page.get_by_role("link", name="Prices").click()
    page.get_by_label("Pieces").fill("3")
    page.get_by_role("button", name="Work it out").click()
    page.get_by_text("Cost with scrap and overhead").wait_for()
    look(page)
    page.get_by_label("Pieces").fill("4")
    assert page.get_by_text("Cost with scrap and overhead").count() == 0


def test_a_heat_trial_is_kept_and_what_it_teaches_accepted(bench, visit, look):
    trial = {"sheet": "acrylic-pvc-2.0", "seconds": 200, "outcome": "good"}
    for _ in range(2):
        httpx2.post(f"{bench.address}/api/shop/heats", json=trial)
    page = visit(f"{bench.address}/#/day/learned", width=390, height=844)
    page.get_by_text("Nothing new is proposed").wait_for()
    page.get_by_role("button", name="Keep a heat trial").click()
    page.get_by_label("Sheet").select_option("acrylic-pvc-2.0")
    page.get_by_label("Heated for").fill("200")
    look(page, full_page=True)
    page.get_by_role("button", name="Keep it").click()
    page.get_by_role("heading", name="In the press, acrylic-pvc-2.0").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    look(page, full_page=True)
    sure(page, "Use it from now on", "Yes, use it")
    page.get_by_role("button", name="Go back from In the press").wait_for()
    assert [row["what"] for row in ask(bench, "learn")["accepted"]] == ["heat acrylic-pvc-2.0"]


def test_a_table_of_orders_comes_in_and_all_of_it_goes_out(bench, visit, look):
    rows = [f"c1,{model},acrylic-pvc-2.0,black,{TOMORROW},1" for model in ("camp", "none")]
    before = ask(bench, "orders?state=all")["count"]
    page = visit(f"{bench.address}/#/day/orders/table")
    content = (HEAD + "\n".join(rows)).encode()
    page.get_by_label("The file").set_input_files(
        {"name": "fair.csv", "mimeType": "text/csv", "buffer": content}
    )
    page.get_by_role("button", name="Enter its orders").click()
    page.get_by_text("fair.csv, line 3, model").wait_for()
    page.get_by_text("Nothing was entered. 1 row cannot be.").wait_for()
    look(page)
    assert ask(bench, "orders?state=all")["count"] == before
    page.get_by_role("button", name="Enter the 1 good row all the same").click()
    page.get_by_text("1 order entered.").wait_for()

    page.get_by_role("link", name="Backup").click()
    backup = kept(page, page.get_by_role("link", name="Take a backup"))
    with zipfile.ZipFile(io.BytesIO(backup)) as whole:
        assert "shop.toml" in whole.namelist()
        assert whole.testzip() is None
    tables = kept(page, page.get_by_role("link", name="Take all tables"))
    assert "orders.csv" in zipfile.ZipFile(io.BytesIO(tables)).namelist()
    orders = kept(page, page.get_by_role("link", name="Take the orders")).decode()
    assert len(list(csv.DictReader(io.StringIO(orders)))) == before + 1


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
    own.get_by_text("phone at the bench").or_(own.get_by_text("computer at the bench")).wait_for()
    own.get_by_role("img", name="Code for http").first.wait_for()
    look(own)
    own.get_by_role("button", name="Put a code on the terminal").click()
    own.get_by_text("A code stands on the terminal").wait_for()
    assert bench.line(r"type this code .*: (\d{4} \d{4})") != code
    own.get_by_role("button", name="Shut out").click()
    own.get_by_text("No other device").wait_for()
    assert page.request.get(f"{other}/api/knives").status == 403
