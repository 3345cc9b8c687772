"""Knives and sheaths of a bench: versions, history, two pages at once, and names that lead out."""

import os
import tomllib

import pytest
from starlette.testclient import TestClient

from chape.bench import history as history_module
from chape.bench import record_text
from chape.bench import records as records_module
from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.history import History, version_of
from chape.bench.place import Kind, Place, open_place
from chape.bench.safe_write import write_whole
from chape.bench.watching import Watching
from chape.demo import demo_file
from chape.errors import InputError, OutputError

BASE = "http://127.0.0.1:8017"


@pytest.fixture
def bench(tmp_path):
    return Bench(open_place(tmp_path / "bench"))


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    return create_app(Bench(open_place(tmp_path_factory.mktemp("bench"))))


@pytest.fixture
def client(app, bench):
    app.state.bench = bench
    return TestClient(app, base_url=BASE, client=("127.0.0.1", 50000))


@pytest.fixture
def camp(client):
    answer = client.post("/api/knives", json={"name": "camp", "from": "example"})
    assert answer.status_code == 201, answer.json()
    return answer.json()


@pytest.fixture
def tarn(client, camp):
    answer = client.post("/api/sheaths", json={"name": "tarn", "knife": camp["name"]})
    assert answer.status_code == 201, answer.json()
    return answer.json()


def put(client, path, record, **more):
    body = {"base": record["version"], "tables": record["tables"], **more}
    return client.put(f"/api/{path}", json=body)


@pytest.mark.usefixtures("tarn")
def test_a_knife_from_the_shelf_to_its_sheath(client):
    (knife,) = client.get("/api/knives").json()
    assert (knife["length"], knife["sheaths"]) == (230.0, ["tarn"])
    assert 20 < len(knife["outline"]) <= 200
    (sheath,) = client.get("/api/sheaths").json()
    assert (sheath["knife"], sheath["style"], sheath["problem"]) == ("camp", "folded", None)
    answer = client.delete("/api/knives/camp", params={"base": knife["version"]})
    assert answer.status_code == 422
    assert "tarn" in answer.json()["problem"]["sentence"]


def test_only_what_changed_is_written_and_remarks_stay(client, tarn, bench):
    path = bench.place.file_of(Kind.SHEATH, "tarn")
    before = path.read_text("utf-8").splitlines()
    tarn["tables"]["sheath"]["clearance"]["handle_side"] = 0.6
    tarn["tables"]["sheath"]["tip_pads"] = None
    tarn["tables"]["sheath"]["slots"] = [{"along": 0.2, "length": 25.0, "width": 4.0}]
    changed = put(client, "sheaths/tarn", tarn).json()
    after = path.read_text("utf-8").splitlines()
    assert [line for line in after if line not in before] == [
        "[[sheath.slots]]", "along = 0.2", "length = 25.0", "width = 4.0",
        "handle_side = 0.6        # beside guard and handle: what lets the knife sway",
    ]  # fmt: skip
    assert "tip_pads" not in changed["tables"]["sheath"]
    newest = client.get("/api/sheaths/tarn/history").json()[0]
    assert newest["version"] == changed["version"]
    assert newest["sentence"] == (
        "room beside the handle: 0.4 to 0.6 mm; tip pads: taken out; slots: added"
    )


@pytest.mark.usefixtures("camp")
def test_what_cannot_be_edited_in_place_is_written_anew(client, bench):
    path = bench.place.file_of(Kind.KNIFE, "camp")
    path.write_text("a = " + "[" * 120 + "]" * 120 + "\n" + path.read_text("utf-8"))
    knife = client.get("/api/knives/camp").json()
    assert knife["problem"]["field"] == "a"
    del knife["tables"]["a"]
    assert put(client, "knives/camp", knife).json()["tables"] == knife["tables"]


@pytest.mark.usefixtures("camp")
def test_an_inch_file_stays_in_inches_and_is_told_in_mm(client, bench):
    path = bench.place.file_of(Kind.KNIFE, "camp")
    text = (
        '# mine\n[knife]\nname = "Inch"\nunit = "inch"\nmeasured = 2026-01-02\n[outline]\n'
        "stations = [\n  [0, 1, 1],  # tip\n  [2, 0, 1],\n  [9, 0.5, 0.5],\n]\n[blade]\n"
        "length = 4.7 # blade\nspine_thickness = [[0, 0.15]]\n[handle]\nthickness = [[5, 0.7]]\n"
    )
    path.write_text(text)
    knife = client.get("/api/knives/camp").json()
    assert knife["tables"]["blade"]["length"] == 119.38
    assert knife["tables"]["outline"]["stations"][1] == [50.8, 0.0, 25.4]
    assert knife["tables"]["knife"]["unit"] == "mm"
    knife["tables"]["blade"]["length"] = 127.0
    knife["tables"]["outline"]["stations"].insert(1, [25.4, 12.7, 25.4])
    assert put(client, "knives/camp", knife).status_code == 200
    wanted = text.replace("length = 4.7", "length = 5.0")
    wanted = wanted.replace("  # tip\n", "  # tip\n  [1.0, 0.5, 1.0],\n")
    assert path.read_text() == wanted
    sentences = [each["sentence"] for each in client.get("/api/knives/camp/history").json()]
    assert sentences == [
        "outline by stations: changed; length of the blade: 119.4 to 127 mm",
        "as it was on the disk",
        "begun",
    ]


def test_of_two_pages_the_second_is_told_and_nothing_is_lost(client, tarn):
    mine = {**tarn, "tables": {**tarn["tables"], "unit": "mm"}}
    tarn["tables"]["blank"]["copies"] = 3
    theirs = put(client, "sheaths/tarn", tarn).json()
    mine["tables"] = {**theirs["tables"], "blank": {**theirs["tables"]["blank"], "gap": 9.0}}
    refused = put(client, "sheaths/tarn", mine)
    assert refused.status_code == 409
    told = refused.json()
    assert (told["version"], told["tables"]) == (theirs["version"], theirs["tables"])
    kept = put(client, "sheaths/tarn", {**mine, "version": told["version"]})
    assert kept.json()["tables"]["blank"] == mine["tables"]["blank"]


def test_going_back_and_bringing_back(client, tarn):
    tarn["tables"]["blank"]["copies"] = 3
    later = put(client, "sheaths/tarn", tarn).json()
    wish = {"to": tarn["version"], "base": later["version"]}
    again = client.post("/api/sheaths/tarn/back", json=wish).json()
    assert again["version"] == tarn["version"]
    assert client.post("/api/sheaths/tarn/back", json=wish).status_code == 409
    assert client.delete("/api/sheaths/tarn", params={"base": "0"}).status_code == 409
    assert client.delete("/api/sheaths/tarn", params={"base": again["version"]}).status_code == 204
    assert client.get("/api/sheaths/tarn").status_code == 404
    (gone,) = client.get("/api/sheaths/gone").json()
    back = client.post("/api/sheaths/tarn/back", json={"to": gone["version"]})
    assert back.json()["version"] == tarn["version"]
    assert client.get("/api/sheaths/gone").json() == []
    assert client.post("/api/sheaths/tarn/back", json={"to": "0" * 16}).status_code == 404


@pytest.mark.parametrize(
    ("keys", "value", "field"),
    [
        (("sheath", "clearance", "side"), -3, "sheath.clearance.side"),
        (("sheath", "sheet"), "rubber", "sheath.sheet"),
        (("sheath", "knife"), "../../../../etc/passwd", "sheath.knife"),
        (("mould", "marks"), [{"figure": "/etc/passwd", "x": 60}], "mould.marks.figure"),
        (("blank", "others"), [{"sheath": "../../../x.toml"}], "blank.others.sheath"),
        (("mould", "marks"), [{"figure": "../../.chape/key", "x": 60}], "mould.marks.figure"),
        (("sheath", "colour"), "red", "sheath.colour"),
        (("sheath", "clearance"), 7, "sheath.clearance"),
    ],
)
def test_what_cannot_be_is_refused_and_the_file_stays(client, tarn, bench, keys, value, field):
    before = bench.place.file_of(Kind.SHEATH, "tarn").read_bytes()
    *tables, key = keys
    table = tarn["tables"]
    for each in tables:
        table = table[each]
    table[key] = value
    answer = put(client, "sheaths/tarn", tarn)
    assert answer.status_code == 422
    assert answer.json()["problem"]["field"] == field
    assert bench.place.file_of(Kind.SHEATH, "tarn").read_bytes() == before


@pytest.mark.parametrize("name", ["", ".", "..", "a/b", "A", "a b", "-a", "x" * 41, "é", "a\0b"])
def test_a_name_is_a_plain_word(bench, client, name):
    with pytest.raises(InputError, match="cannot be a name"):
        bench.place.folder_of(Kind.KNIFE, name)
    assert client.post("/api/knives", json={"name": name}).status_code == 422


def test_a_folder_of_the_old_form_is_shown_where_it_lies(app, tmp_path):
    folder = tmp_path / "My Demo!"
    folder.mkdir()
    (folder / "knife.toml").write_text(demo_file("camp-knife.toml"))
    text = demo_file("camp-sheath.toml").replace("camp-knife.toml", "knife.toml")
    (folder / "sheath.toml").write_text(text)
    app.state.bench = Bench(open_place(folder))
    client = TestClient(app, base_url=BASE, client=("127.0.0.1", 50000))
    (sheath,) = client.get("/api/sheaths").json()
    assert (sheath["name"], sheath["knife"]) == ("my-demo", "my-demo")
    record = client.get("/api/sheaths/my-demo").json()
    record["tables"]["blank"]["copies"] = 2
    assert put(client, "sheaths/my-demo", record).status_code == 200
    assert tomllib.loads((folder / "sheath.toml").read_text())["blank"]["copies"] == 2
    other = client.post("/api/sheaths", json={"name": "two", "knife": "my-demo", "like": "my-demo"})
    assert other.json()["knife"] == "my-demo"
    assert other.json()["tables"]["sheath"]["knife"] == "../../knife.toml"


def test_an_outline_is_moved_versioned_and_taken_back(client, camp, bench):
    square = [[0, 10], [60, 0], [230, 0], [230, 25], [60, 28]]
    assert put(client, "knives/camp", camp, outline=square).status_code == 422
    folder = bench.place.file_of(Kind.KNIFE, "camp").parent
    tables = camp["tables"]
    tables["outline"] = {"drawing": "outline.svg"}
    (folder / "outline.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    drawn = put(client, "knives/camp", camp, outline=square).json()
    moved = put(client, "knives/camp", drawn, outline=[[0, 11], *square[1:]]).json()
    assert moved["version"] != drawn["version"]
    assert moved["tables"] == drawn["tables"]
    sentences = [each["sentence"] for each in client.get("/api/knives/camp/history").json()]
    assert sentences[0] == "outline moved"
    assert client.get("/api/knives").json()[0]["length"] == 230.0
    before = (folder / "outline.svg").read_bytes()
    wish = {"to": drawn["version"], "base": moved["version"]}
    assert client.post("/api/knives/camp/back", json=wish).json()["version"] == drawn["version"]
    assert (folder / "outline.svg").read_bytes() != before
    crossed = [[0, 10], [230, 25], [230, 0], [60, 28]]
    answer = put(client, "knives/camp", drawn, outline=crossed)
    assert "crosses itself" in answer.json()["problem"]["sentence"]


@pytest.mark.usefixtures("camp")
def test_a_file_that_is_no_toml_is_shown_with_its_problem(client, bench):
    bench.place.file_of(Kind.KNIFE, "camp").write_text("[knife\n")
    (knife,) = client.get("/api/knives").json()
    assert "breaks a rule of TOML" in knife["problem"]["sentence"]
    assert client.get("/api/knives/camp").json()["tables"] == {}


@pytest.mark.usefixtures("tarn")
def test_what_is_changed_by_hand_is_told(bench):
    told = []
    watching = Watching(bench.records)
    bench.events.tell = told.append
    watching.look()
    assert told == []
    path = bench.place.file_of(Kind.SHEATH, "tarn")
    path.write_text(path.read_text("utf-8") + "# mine\n")
    bench.place.file_of(Kind.KNIFE, "camp").unlink()
    watching.look()
    watching.look()
    version = bench.records.read(Kind.SHEATH, "tarn").version
    assert sorted((each["what"], each["name"], each["version"]) for each in told) == [
        ("knife", "camp", None), ("sheath", "tarn", version),
    ]  # fmt: skip


def test_history_is_pruned_and_survives_what_was_cut_off(tmp_path, monkeypatch):
    monkeypatch.setattr(history_module, "MOST", 20)
    monkeypatch.setattr(history_module, "SLACK", 5)
    history = History(tmp_path / "history")
    for n in range(60):
        history.keep({"knife.toml": b"%d" % n}, n, f"version {n}")
    kept = history.all()
    assert 20 <= len(kept) <= 25
    assert kept[-1].sentence == "version 59"
    assert len(list((tmp_path / "history").iterdir())) == len(kept) + 1
    assert history.files_of(kept[0].version) == {"knife.toml": b"%d" % kept[0].time}
    assert history.files_of(version_of({"knife.toml": b"1"})) is None
    log = tmp_path / "history/log.jsonl"
    log.write_bytes(log.read_bytes()[:-10])
    history.keep({"knife.toml": b"60"}, 60, "after")
    assert [each.sentence for each in history.all()][-2:] == ["version 58", "after"]
    blob = tmp_path / "history" / kept[1].files["knife.toml"]
    blob.write_bytes(b"other")
    assert history.files_of(kept[1].version) is None


def test_a_write_that_is_cut_off_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "knife.toml"
    write_whole(path, b"old")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [each.name for each in tmp_path.iterdir()] == ["knife.toml"]


def test_a_folder_has_one_bench(tmp_path):
    place = open_place(tmp_path)
    with place.lock(), pytest.raises(InputError, match="another bench"):
        Place(tmp_path).lock()
    with place.lock():
        pass
    with pytest.raises(InputError, match="this is a file"):
        open_place(place.own / "lock")


@pytest.mark.usefixtures("tarn")
def test_every_field_of_a_form_has_its_sentence(client):
    for path in ("knives/camp", "sheaths/tarn"):
        fields = client.get(f"/api/{path}/form").json()
        assert len(fields) > 25
        assert all(field["help"] for field in fields), path
        # A label is words of its own, and tells its value from every other of its table.
        keys = {field["path"].rsplit(".", 1)[-1].replace("_", " ") for field in fields}
        assert not [field["path"] for field in fields if field["label"] in keys]
        assert len({(field["group"], field["label"]) for field in fields}) == len(fields)
    by_path = {field["path"]: field for field in fields}
    side = by_path["sheath.clearance.handle_side"]
    assert (side["kind"], side["unit"], side["default"]) == ("length", "mm", 0.4)
    assert side["label"] == "Room beside the handle"
    sheets = by_path["sheath.sheet"]["choices"]
    assert "acrylic-pvc-2.0" in [choice["value"] for choice in sheets]
    assert by_path["sheath.tip_pads.start"]["optional_table"]
    assert by_path["sheath.clips.*.along"]["most"] == 1


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ('{"base": "BASE", "tables": {"a": ' + "[" * 20_000 + "]" * 20_000 + "}}", 400),
        ('{"base": "BASE", "tables": {"a": ' + "[" * 300 + "]" * 300 + "}}", 422),
        ('{"base": "BASE", "tables": {"sheath": {"name": "\\ud800", "knife": "k"}}}', 422),
        ('{"base": "BASE", "tables": {"blank": {"gap": NaN}}}', 422),
        ('{"base": "BASE", "tables": {"sheath": {"clips": [null]}}}', 422),
        ('{"base": "BASE", "tables": {"sheath": {"name": "' + "x" * 20_000 + '"}}}', 422),
        ("[1]", 422),
        ("hello", 422),
    ],
)
def test_whatever_is_sent_is_answered_with_a_sentence(client, tarn, body, status, monkeypatch):
    monkeypatch.setattr(record_text, "LARGEST_FILE", 10_000)
    content = body.replace("BASE", tarn["version"])
    headers = {"Content-Type": "application/json"}
    answer = client.put("/api/sheaths/tarn", content=content, headers=headers)
    assert answer.status_code == status
    assert answer.json()["problem"]["sentence"]
    assert client.get("/api/sheaths/tarn").json()["version"] == tarn["version"]


def test_a_change_that_cannot_be_written_is_kept_and_the_old_stays(
    client, tarn, bench, monkeypatch
):
    path = bench.place.file_of(Kind.SHEATH, "tarn")
    whole = records_module.write_whole

    def full(target, *rest):
        if target == path:
            raise OutputError(target, "the disk is full", mend="Free some space")
        whole(target, *rest)

    tarn["tables"]["blank"]["copies"] = 3
    with monkeypatch.context() as patched:
        patched.setattr(records_module, "write_whole", full)
        refused = put(client, "sheaths/tarn", tarn)
    assert refused.json()["problem"]["sentence"] == "The disk is full"
    assert client.get("/api/sheaths/tarn").json()["version"] == tarn["version"]
    newest = client.get("/api/sheaths/tarn/history").json()[0]
    assert newest["sentence"] == "sheaths on the blank: 4 to 3"
    wish = {"to": newest["version"], "base": tarn["version"]}
    back = client.post("/api/sheaths/tarn/back", json=wish).json()
    assert back["tables"]["blank"]["copies"] == 3
