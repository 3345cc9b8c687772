"""What the shop's pages carry in and out, and look into before anyone says yes."""

import io
import json
import zipfile
from importlib import resources
from pathlib import Path
from types import SimpleNamespace

import pytest
from typer.main import get_command

from chape.bench.shop import hurry
from chape.bench.work import Works
from chape.cli.shop import shop
from chape.shop.folder import restore
from shop_bench import TOMORROW, client_of, order, sentence, stocked_bench

HEAD = "customer,model,sheet,colour,due,quantity\n"
GOOD = f"c7,camp,acrylic-pvc-2.0,black,{TOMORROW},2\n"
BAD = f"c8,none,acrylic-pvc-2.0,black,{TOMORROW},1\n"


@pytest.fixture
def client(tmp_path):
    return stocked_bench(tmp_path / "bench")


def sent(client, text, **fields):
    content = text if isinstance(text, bytes) else text.encode()
    files = {"file": ("of the fair.csv", content, "text/csv")}
    return client.post("/api/shop/orders/table", files=files, data=fields)


def open_orders(client):
    return client.get("/api/shop/orders").json()["count"]


def test_bad_rows_are_named_by_line_and_good_ones_kept_only_when_asked(client):
    told = sent(client, HEAD + GOOD + BAD + GOOD).json()
    assert (told["entered"], told["good"], open_orders(client)) == ([], 2, 0)
    (bad,) = told["bad"]
    assert (bad["place"], bad["field"]) == ("of the fair.csv, line 3", "model")
    told = sent(client, HEAD + GOOD + BAD + GOOD, keep_good="true").json()
    assert (len(told["entered"]), open_orders(client)) == (2, 2)
    assert len(sent(client, HEAD + GOOD).json()["entered"]) == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", 'names no column "customer"'),
        (b"\xff\xfe\x00a", "not UTF-8"),
        ("name,street\n", 'names a column "name"'),
        (HEAD + 'c7,"camp', "breaks the rules of CSV"),
    ],
)
def test_what_is_no_order_table_is_one_sentence(client, text, says):
    refused = sent(client, text)
    assert refused.status_code == 422
    assert says in sentence(refused)
    assert refused.json()["problem"]["file"] == "of the fair.csv"
    assert open_orders(client) == 0


def test_orders_go_out_as_a_table_that_comes_in_again(client):
    order(client, note='a "quoted", word')
    answer = client.get("/api/shop/orders.csv")
    assert 'filename="orders.csv"' in answer.headers["content-disposition"]
    assert len(sent(client, answer.content).json()["entered"]) == 1
    assert client.get("/api/shop/orders.csv?state=shipped").text.count("\n") == 1


def test_a_backup_brings_the_shop_back_and_leaves_nothing_behind(client, tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    reference = order(client).json()["reference"]
    before = set(tmp_path.iterdir())
    answer = client.get("/api/shop/backup.zip")
    assert set(tmp_path.iterdir()) == before
    (tmp_path / "kept.zip").write_bytes(answer.content)
    restore(tmp_path / "kept.zip", tmp_path / "again").close()
    again = client_of(tmp_path / "again").get("/api/shop/orders").json()["orders"]
    assert [row["reference"] for row in again] == [reference]


def test_every_table_goes_out_in_two_open_forms(client):
    order(client)
    with zipfile.ZipFile(io.BytesIO(client.get("/api/shop/export.zip").content)) as package:
        rows = json.loads(package.read("orders.json"))
        assert len(rows) == 1
        assert package.read("orders.csv").decode().count("\n") == 2


def test_a_rush_is_looked_into_and_nothing_is_entered(client, monkeypatch):
    begun = {}

    def start(_works, wanted):
        told = wanted.then(wanted.make(lambda *_: None, *wanted.arguments))
        begun["w1"] = SimpleNamespace(id="w1", name=wanted.name, result=told)
        return begun["w1"]

    monkeypatch.setattr(Works, "start", start)
    monkeypatch.setattr(Works, "one", lambda _works, key: begun[key])
    monkeypatch.setattr(hurry, "RUSH_SECONDS", 0.1)
    asked = {
        "customer": "c9", "model": "camp", "sheet": "acrylic-pvc-2.0", "colour": "black",
        "due": TOMORROW, "quantity": 2,
    }  # fmt: skip
    work = client.post("/api/shop/rush", json=asked).json()["work"]
    leaf = client.get(f"/api/shop/rush/{work}").json()
    assert leaf["displaced"] == []
    assert leaf["in_time"]
    assert leaf["price"] >= leaf["cost"] > 0
    assert [row["count"] for row in leaf["goods"] if "acrylic" in row["title"]] == [1]
    assert open_orders(client) == 0
    wrong = client.post("/api/shop/rush", json={**asked, "quantity": 0})
    assert wrong.json()["problem"]["field"] == "quantity"
    begun["w2"] = SimpleNamespace(id="w2", name="plan", result={})
    assert client.get("/api/shop/rush/w2").status_code == 404


def test_a_heat_trial_is_kept_and_says_what_to_try_next(client):
    assert client.get("/api/shop/heats").json()["rows"] == []
    trial = {"sheet": "acrylic-pvc-2.0", "seconds": 130, "outcome": "good"}
    (row,) = client.post("/api/shop/heats", json=trial).json()["rows"]
    assert (row["step"], row["heater"], row["trials"]) == ("heat", "press", 1)
    assert row["low"] < row["next"] < 200
    assert client.get("/api/shop/learn").json()["proposed"] == []
    wrong = client.post("/api/shop/heats", json={**trial, "sheet": "tin"})
    assert wrong.status_code == 422
    assert client.post("/api/shop/heats", json={**trial, "seconds": -1}).status_code == 422


def test_heats_of_a_sheet_of_the_shops_own_are_proposed(client, tmp_path):
    """The shop's own catalogue counts, not only the one that comes with chape."""
    listed = resources.files("chape.catalog").joinpath("data/sheets.toml").read_text()
    entry = listed.partition('["acrylic-pvc-2.0"]')[2].partition("\n[")[0]
    (tmp_path / "bench/workshop.toml").write_text(f"[sheets.own-sheet]{entry}")
    trial = {"sheet": "own-sheet", "seconds": 200, "outcome": "good"}
    for _ in range(3):
        client.post("/api/shop/heats", json=trial)
    (row,) = client.get("/api/shop/learn").json()["proposed"]
    assert (row["what"], row["title"]) == ("heat own-sheet", "In the press, own-sheet")
    leaf = client.post("/api/shop/learn/accept", json={"what": row["what"]}).json()
    assert [each["what"] for each in leaf["accepted"]] == ["heat own-sheet"]


def test_cutters_are_listed_where_a_job_names_them(client):
    assert client.get("/api/shop/cutters").json() == []
    refused = client.post("/api/shop/cutters/changed", json={"name": "ball-6"})
    assert "no job of the shop uses" in sentence(refused).lower()


def test_of_every_command_of_the_shop_it_is_said_which_page_does_it():
    told = (Path(__file__).parents[2] / "docs/bench.md").read_text()
    told = told[told.index("What `chape shop` does") :]

    def names(group, before=""):
        for name, each in group.commands.items():
            if hasattr(each, "commands"):
                yield from names(each, f"{before}{name} ")
            else:
                yield f"{before}{name}"

    missing = [name for name in names(get_command(shop)) if f"`{name}`" not in told]
    assert missing == []


def test_whole_sheets_are_cut_as_shown_or_not_at_all(client, tmp_path):
    assert "what a whole one measures" in sentence(client.get("/api/shop/stock/cuts"))
    file = tmp_path / "bench/shop.toml"
    file.write_text(f'{file.read_text()}\n[sheets."acrylic-pvc-2.0"]\nwidth = 1220\ndepth = 610\n')
    assert client.get("/api/shop/stock/cuts").json() == []
    order(client, colour="tan", quantity=6)
    whole = {"kind": "sheet", "name": "acrylic-pvc-2.0 1220x610", "colour": "tan"}
    shelf = {**whole, "on_hand": 2, "reorder_at": 0, "pack": 1, "pack_price": 60}
    client.put("/api/shop/stock", json=shelf)
    (row,) = shown = client.get("/api/shop/stock/cuts").json()
    assert (row["used"], row["bound"], row["buy"], row["on_hand"]) == (1, 1, 0, 2)
    assert row["blanks"] == [{"title": "acrylic-pvc-2.0 300x300 tan", "count": 2}]
    picture = client.get("/api/shop/stock/cuts/0/0.svg?unit=inch")
    assert b"<svg" in picture.content
    assert client.get("/api/shop/stock/cuts/0/9.svg").status_code == 404
    order(client, colour="tan", quantity=4)
    assert client.post("/api/shop/stock/cuts", json={"cuts": shown}).status_code == 409
    shown = client.get("/api/shop/stock/cuts").json()
    leaf = client.post("/api/shop/stock/cuts", json={"cuts": shown}).json()
    count = {each["title"]: each["on_hand"] for each in leaf["shelves"]}
    assert count["acrylic-pvc-2.0 1220x610 tan"] == 1
    assert count["acrylic-pvc-2.0 300x300 tan"] == 3
    assert client.get("/api/shop/stock/cuts").json() == []
