"""The shop as the page sees it: every area answers, and what the shop refuses is one sentence."""

from types import SimpleNamespace

import pytest

from chape.bench.shop import plan
from chape.bench.work import Works
from shop_bench import client_of, order, sentence, stocked_bench, taken

JSON = {"content-type": "application/json"}


def planned(client, monkeypatch):
    """Plan the day, in this process and not in one of its own."""
    begun = []

    def start(_works, order):
        begun.append((order.title, order.line))
        order.make(lambda *_: None, *order.arguments)
        return SimpleNamespace(id="w1")

    monkeypatch.setattr(Works, "start", start)
    monkeypatch.setattr(plan, "ANEW", 0.2)
    assert client.post("/api/shop/plan", json={"anew": True}).json() == {"work": "w1"}
    assert begun == [("Plan the day", "plan")]
    return client.get("/api/shop/plan").json()


@pytest.fixture
def client(tmp_path):
    return stocked_bench(tmp_path / "bench")


def test_an_order_is_entered_listed_and_cancelled(client):
    entered = order(client).json()
    assert [piece["state"] for piece in entered["pieces"]] == ["waiting", "waiting"]
    page = client.get("/api/shop/orders").json()
    assert (page["count"], page["pages"], page["orders"]) == (1, 1, [entered])
    assert client.get("/api/shop/orders?customer=c2").json()["count"] == 0
    gone = client.post(f"/api/shop/orders/{entered['reference']}/cancel").json()
    assert gone["state"] == "cancelled"
    assert client.get("/api/shop/orders").json()["count"] == 0
    assert client.get("/api/shop/orders?state=all").json()["count"] == 1


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"model": "none"}, "model"),
        ({"due": "5"}, "due"),
        ({"sheet": "paper"}, "sheet"),
        ({"quantity": 0}, "quantity"),
        ({"hold": float(10**6)}, "hold"),
        ({"model": None}, None),
    ],
)
def test_an_order_that_cannot_be_is_refused_by_its_field(client, changes, field):
    refused = order(client, **changes)
    assert refused.status_code == 422
    assert refused.json()["problem"]["field"] == field
    assert client.get("/api/shop/orders?state=all").json()["count"] == 0


def test_what_was_proposed_is_taken_whole_or_not_at_all(client):
    pieces, listed = taken(client)
    assert listed["taken"] == [listed["batches"][0]["batch"]]
    assert [row["serial"] for row in listed["batches"][0]["pieces"]] == pieces
    sheet = client.get("/api/shop/stock").json()["shelves"][1]
    assert (sheet["kind"], sheet["on_hand"]) == ("sheet", 99)
    waiting = order(client).json()["pieces"][0]["serial"]
    again = client.post("/api/shop/batches", json={"pieces": [waiting, pieces[0]]})
    assert again.status_code == 422
    assert sentence(again) == f"Piece {pieces[0]} does not wait for a batch"
    assert client.get(f"/api/shop/pieces/{waiting}").json()["state"] == "waiting"


def test_the_shelf_is_counted_and_filled(client):
    eyelets = {"kind": "eyelet", "name": "eyelet-6.4"}
    leaf = client.put(
        "/api/shop/stock",
        json={**eyelets, "on_hand": 4, "reorder_at": 10, "pack": 10, "pack_price": 5.0},
    ).json()
    assert [row["title"] for row in leaf["buy"]] == ["eyelet-6.4"]
    leaf = client.post("/api/shop/stock/receive", json={**eyelets, "packs": 2}).json()
    assert [row["on_hand"] for row in leaf["shelves"] if row["kind"] == "eyelet"] == [24]
    assert leaf["buy"] == []
    wrong = client.put(
        "/api/shop/stock",
        json={"kind": "rope", "name": "x", "on_hand": 1, "reorder_at": 0, "pack": 1,
              "pack_price": 0},
    )  # fmt: skip
    assert sentence(wrong) == 'Found the kind "rope"'


def test_a_step_is_ticked_once_and_what_runs_alone_is_told(client, monkeypatch):
    pieces, _ = taken(client)
    assert not client.get("/api/shop/plan").json()["planned"]
    assert client.get("/api/shop/plan/gantt.svg").status_code == 422
    made = planned(client, monkeypatch)
    assert made["planned"]
    first = next(row for row in made["next"] if row["task"])
    assert first["station"] == "press"
    assert first["alone"] == 120
    ticked = client.post("/api/shop/plan/tick", json={"task": first["task"]}).json()
    assert ticked["pieces"] == len(pieces)
    assert [row["about"] for row in ticked["day"]["alone"]] == [first["about"]]
    piece = client.get(f"/api/shop/pieces/{pieces[0]}").json()
    assert piece["next_task"] == f"{first['about']}.form"
    twice = client.post("/api/shop/plan/tick", json={"task": first["task"]})
    assert sentence(twice) == f"{first['task'][:1].upper()}{first['task'][1:]} is done already"
    svg = client.get("/api/shop/plan/gantt.svg?from=0&hours=0.5")
    assert svg.headers["content-type"] == "image/svg+xml"
    assert b"<svg" in svg.content


def test_a_piece_is_followed_to_its_fit(client):
    pieces, _ = taken(client)
    path = f"/api/shop/pieces/{pieces[0]}"
    assert not client.get(path).json()["may_fit"]
    early = client.post(f"{path}/fit", json={"hold": 20})
    assert sentence(early).endswith("not closed yet")
    assert client.post(f"{path}/move", json={"state": "closed"}).json()["may_fit"]
    wrong = client.post(f"{path}/fit", content='{"hold": NaN}', headers=JSON)
    assert sentence(wrong) == "Found a hold of nan N"
    bad = client.post(f"{path}/fit", json={"hold": 21.5, "faults": ["rattle"]}).json()
    assert (bad["state"], bad["fits"][0]["passed"]) == ("closed", False)
    good = client.post(f"{path}/fit", json={"hold": 22.5, "note": "mended"}).json()
    assert (good["state"], [fit["passed"] for fit in good["fits"]]) == ("passed", [False, True])
    lost = client.post(f"{path}/move", json={"state": "scrapped"}).json()
    assert lost["replacement"] == f"{lost['order']}-3"
    assert sentence(client.get("/api/shop/pieces/no-such")) == 'There is no piece "no-such"'


def test_papers_prices_and_cards(client):
    taken(client)
    for paper in ("care.pdf", "travellers.pdf?of=B1", "reorder.pdf?paper=letter"):
        answer = client.get(f"/api/shop/papers/{paper}")
        assert answer.content.startswith(b"%PDF"), paper
    assert client.get("/api/shop/papers/travellers.pdf?of=B9").status_code == 422
    assert client.get("/api/shop/papers/bill.pdf").status_code == 422
    asked = {"model": "camp", "sheet": "acrylic-pvc-2.0", "colour": "black", "quantity": 3}
    price = client.post("/api/shop/quote", json=asked).json()
    assert price["total"] == pytest.approx(3 * price["price"])
    cards = client.get("/api/shop/safety").json()["stations"]
    assert any("hydrogen chloride" in words for words in cards[0]["cautions"])
    assert client.get("/api/shop/learn").json() == {"proposed": [], "accepted": []}
    assert client.post("/api/shop/learn/accept", json={"what": "check"}).status_code == 422


def test_a_shipping_note_is_kept_and_erased(client):
    path = "/api/shop/customers/c1%2Fsouth/note"
    assert client.put(path, json={"note": "by hand"}).json() == {"note": "by hand"}
    assert client.put(path, json={"note": None}).json() == {"note": None}


def test_a_shop_is_started_where_there_is_none(tmp_path):
    client = client_of(tmp_path / "bench")
    missing = client.get("/api/shop/orders")
    assert (missing.status_code, sentence(missing)) == (404, "There is no shop in this folder")
    assert client.post("/api/shop", json={"kind": "demo"}).json()["open_orders"] == 60
    assert client.get("/api/hello").json()["has_shop"]
    again = client.post("/api/shop", json={"kind": "new"})
    assert sentence(again) == "A shop is there already"
