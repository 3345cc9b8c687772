"""A bench in the folder of a small shop, asked as its page asks it."""

from datetime import UTC, datetime, timedelta

from starlette.testclient import TestClient

from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.place import open_place
from chape.shop.stock import Good, Shelf, set_shelf
from small_shop import NOW, small_shop

TOMORROW = (datetime.now(UTC) + timedelta(days=1)).date().isoformat()


def client_of(folder):
    app = create_app(Bench(open_place(folder)))
    return TestClient(app, base_url="http://localhost", client=("127.0.0.1", 50000))


def stocked_bench(folder):
    """A shop with enough on its shelf."""
    shop = small_shop(folder)
    goods = [Good("sheet", "acrylic-pvc-2.0 300x300", "black"), Good("eyelet", "eyelet-6.4")]
    for good in goods:
        shelf = Shelf(good, 100, 10, 10, 500)
        shop.change(lambda c, shelf=shelf: set_shelf(c, shelf, NOW))
    shop.close()
    return client_of(folder)


def order(client, **changes):
    given = {
        "customer": "c1", "model": "camp", "sheet": "acrylic-pvc-2.0", "colour": "black",
        "due": TOMORROW, "quantity": 2,
    }  # fmt: skip
    return client.post("/api/shop/orders", json={**given, **changes})


def taken(client):
    """Take two pieces into work, and plan them."""
    order(client)
    offer = client.get("/api/shop/batches/proposal").json()
    pieces = [serial for each in offer["batches"] for serial in each["pieces"]]
    listed = client.post("/api/shop/batches", json={"pieces": pieces}).json()
    return pieces, listed


def sentence(answer):
    return answer.json()["problem"]["sentence"]
