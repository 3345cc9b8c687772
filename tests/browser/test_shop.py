"""The whole shop on its pages: from a typed order to a sheath that has passed, and all between."""

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

#: What a gloved thumb hits, CSS pixels.
GLOVED = 64

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
    return serve(folder, first=SOON)


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


def test_an_order_is_looked_into_typed_batched_planned_ticked_and_fitted(bench, visit, look):
    page = visit(f"{bench.address}/#/day/orders/new")
    typed_order(page, "c7", 2)
    page.get_by_role("button", name="What would it displace?").click()
    card = page.get_by_label("What it would displace")
    card.get_by_text("No other order leaves too late because of it").wait_for()
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
    ahead.get_by_role("heading", name="Lay the sheet in the press, heat").wait_for()
    assert page.get_by_role("button", name="Seen").count() == 0

    done = ahead.get_by_role("button", name="It is done")
    assert done.bounding_box()["height"] >= GLOVED
    done.click()
    ahead.get_by_role("button", name="Yes, it is done").click()
    page.get_by_role("heading", name="Move the hot sheet to the table").wait_for()

    serial = f"{ask(bench, 'orders')['orders'][0]['reference']}-1"
    page.get_by_label("Scan or type a label").fill(serial)
    page.keyboard.press("Enter")
    page.get_by_text("It is somewhere else than the plan thinks").click()
    sure(page, "scrapped", "Yes, scrap it")
    page.get_by_role("link", name=f"{serial[:-1]}3").wait_for()
    page.get_by_role("link", name="Now", exact=True).click()
    page.get_by_role("button", name="A step ran late: plan anew").click()
    page.get_by_role("button", name="Planning …").wait_for()
    page.get_by_role("button", name="A step ran late: plan anew").wait_for()
    assert serial not in json.dumps(ask(bench, "plan?lines=200"))

    other = f"{serial[:-1]}2"
    page.get_by_label("Scan or type a label").fill(other)
    page.keyboard.press("Enter")
    page.get_by_text("It is somewhere else than the plan thinks").click()
    sure(page, "closed", "Yes, it is closed")
    page.get_by_role("heading", name="How does it fit?").wait_for()
    for question in page.locator(".question").all():
        question.get_by_role("button", name="Yes").click()
    page.get_by_label("A spring scale read").fill("24.5")
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
