"""Only this computer and paired devices come in, and no page of elsewhere."""

import json

import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from chape.bench import devices as devices_module
from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.pairing import Pairing
from chape.bench.place import open_place
from chape.bench.problem import RefusedError

OWN, OTHER = ("127.0.0.1", 50000), ("192.168.1.7", 50001)
HERE, THERE = "http://127.0.0.1:8017", "http://192.168.1.5:8017"
NEW = {"title": "press", "seconds": 60}


@pytest.fixture(scope="module")
def benches(tmp_path_factory):
    """Two benches: one for this computer alone, one for the network."""
    said = []
    benches = {
        lan: Bench(open_place(tmp_path_factory.mktemp("bench")), lan, said.append)
        for lan in (False, True)
    }
    return {lan: (bench, create_app(bench)) for lan, bench in benches.items()}, said


def client_of(benches, *, lan, peer=OWN, base=HERE):
    return TestClient(benches[0][lan][1], base_url=base, client=peer)


@pytest.fixture
def own(benches):
    return client_of(benches, lan=False)


@pytest.fixture
def other(benches):
    return client_of(benches, lan=True, peer=OTHER, base=THERE)


def paired(benches, name="phone"):
    bench, app = benches[0][True]
    client = TestClient(app, base_url=THERE, client=OTHER)
    bench.pairing = Pairing(benches[1].append)
    client.get("/api/hello")
    code = benches[1][-1][-9:]
    answer = client.post("/api/pair", json={"code": code, "device": name})
    assert answer.status_code == 200, answer.json()
    return client, answer


def test_this_computer_comes_in_by_every_name_it_has(benches):
    for base in (HERE, "http://localhost:8017", "http://[::1]:8017"):
        assert client_of(benches, lan=False, base=base).get("/api/timers").status_code == 200


@pytest.mark.parametrize("base", ["http://evil.test", "http://evil.test:8017", THERE])
def test_a_name_that_was_made_to_point_here_is_refused(benches, base):
    answer = client_of(benches, lan=False, base=base).get("/api/timers")
    assert answer.status_code == 403
    assert "does not go by that name" in answer.json()["problem"]["sentence"]
    assert client_of(benches, lan=False, base=base).get("/").status_code == 403


@pytest.mark.parametrize("origin", ["http://evil.test", "null", "http://127.0.0.1:9999"])
def test_a_page_of_elsewhere_changes_nothing(own, origin):
    answer = own.post("/api/timers", json=NEW, headers={"Origin": origin})
    assert answer.status_code == 403
    assert own.get("/api/timers").json() == []


def test_without_an_origin_the_browser_must_not_say_it_comes_from_elsewhere(own):
    for site in ("cross-site", "same-site"):
        answer = own.post("/api/timers", json=NEW, headers={"Sec-Fetch-Site": site})
        assert answer.status_code == 403
        assert own.get("/api/timers", headers={"Sec-Fetch-Site": site}).status_code == 403


def test_its_own_page_and_programs_without_a_browser_change_things(own):
    for headers in ({"Origin": HERE}, {"Sec-Fetch-Site": "same-origin"}, {}):
        key = own.post("/api/timers", json=NEW, headers=headers).json()["id"]
        assert own.delete(f"/api/timers/{key}", headers=headers).status_code == 204


@pytest.mark.parametrize("origin", [None, "null", "http://evil.test", "https://127.0.0.1:8017"])
def test_a_socket_from_elsewhere_is_refused(own, origin):
    headers = {} if origin is None else {"Origin": origin}
    with (
        pytest.raises(WebSocketDisconnect) as refused,
        own.websocket_connect("ws://127.0.0.1:8017/api/events", headers=headers),
    ):
        pass
    assert refused.value.code == 1008


def test_a_socket_of_its_own_page_is_told_what_changes(own):
    with own.websocket_connect("ws://127.0.0.1:8017/api/events", headers={"Origin": HERE}) as live:
        key = own.post("/api/timers", json=NEW).json()["id"]
        assert live.receive_json() == {
            "kind": "changed",
            "what": "timer",
            "name": "",
            "version": None,
        }
        own.delete(f"/api/timers/{key}")


def test_another_device_sees_nothing_until_it_is_paired(other):
    assert other.get("/api/timers").status_code == 403
    assert other.post("/api/timers", json=NEW).status_code == 403
    assert other.get("/api").status_code == 403
    told = other.get("/api/hello").json()
    assert told == {
        "version": told["version"], "lan": True, "paired": False, "device": None,
        "folder_name": None, "has_shop": False,
    }  # fmt: skip
    with (
        pytest.raises(WebSocketDisconnect),
        other.websocket_connect("ws://192.168.1.5:8017/api/events", headers={"Origin": THERE}),
    ):
        pass


def test_a_peer_that_calls_the_bench_by_this_computers_name_is_not_this_computer(benches):
    sly = client_of(benches, lan=True, peer=OTHER, base=HERE)
    assert sly.get("/api/timers").status_code == 403
    headers = {"X-Forwarded-For": "127.0.0.1", "Forwarded": "for=127.0.0.1"}
    assert sly.get("/api/timers", headers=headers).status_code == 403
    # Nor is what another program on this computer passes on from elsewhere.
    passed = client_of(benches, lan=True, peer=OWN, base=THERE)
    assert passed.get("/api/timers").status_code == 403


@pytest.mark.parametrize(
    ("peer", "base", "status"),
    [
        ("2001:db8:0:1::7", "http://[2001:db8:0:1::5]:8017", 200),
        ("2001:db8:0:2::7", "http://[2001:db8:0:1::5]:8017", 403),
        ("2001:db8:0:2::7", "http://[::1]:8017", 403),
        ("fe80::7", "http://[fe80::5]:8017", 200),
        ("fe80::7%eth0", "http://[fe80::5]:8017", 200),
        ("fd00::7", "http://[fd00:1::5]:8017", 200),
        ("::ffff:192.168.1.7", "http://192.168.1.5:8017", 200),
        ("::1", "http://[::1]:8017", 200),
    ],
)
def test_by_ipv6_only_the_network_it_is_in_comes_in(benches, peer, base, status):
    client = client_of(benches, lan=True, peer=(peer, 50002), base=base)
    answer = client.get("/api/hello")
    assert answer.status_code == status
    if status == 403:
        assert "its own network" in answer.json()["problem"]["sentence"]
        return
    assert answer.json()["paired"] == (peer == "::1")
    assert client.get("/api/timers").status_code == (200 if peer == "::1" else 403)


def test_an_address_in_brackets_is_its_own_page_and_no_other(benches):
    base = "http://[::1]:8017"
    client = client_of(benches, lan=False, peer=("::1", 50000), base=base)
    key = client.post("/api/timers", json=NEW, headers={"Origin": base}).json()["id"]
    client.delete(f"/api/timers/{key}")
    for origin in ("http://::1:8017", "http://[::1]", "http://[::2]:8017"):
        answer = client.post("/api/timers", json=NEW, headers={"Origin": origin})
        assert answer.status_code == 403
    for host in ("[::1", "[::1]x", "::1", "[::1]:80x", "[evil.test]:8017"):
        assert client.get("/api/timers", headers={"Host": host}).status_code == 403, host
    with client.websocket_connect("ws://[::1]:8017/api/events", headers={"Origin": base}):
        pass


def test_its_addresses_are_drawn_for_a_phones_camera_and_for_no_stranger(benches, other):
    bench = benches[0][True][0]
    bench.doors = ("http://192.168.1.5:8017",)
    own = client_of(benches, lan=True)
    assert own.get("/api/doors").json() == ["http://192.168.1.5:8017"]
    drawn = own.get("/api/doors/0.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert b"<svg" in drawn.content
    assert own.get("/api/doors/1.svg").status_code == 404
    assert other.get("/api/doors").status_code == 403
    assert other.get("/api/doors/0.svg").status_code == 403


def test_a_code_pairs_one_device_once(benches):
    client, answer = paired(benches)
    cookie = answer.headers["set-cookie"].lower()
    assert cookie.startswith("chape-bench-8017=")
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert "max-age=2592000" in cookie
    assert client.get("/api/hello").json()["device"] == "phone"
    assert client.get("/api/timers").status_code == 200
    again = TestClient(benches[0][True][1], base_url=THERE, client=OTHER)
    assert again.post("/api/pair", json={"code": benches[1][-1][-9:]}).status_code in {403, 429}
    with client.websocket_connect("ws://192.168.1.5:8017/api/events", headers={"Origin": THERE}):
        pass


def test_a_revoked_device_is_out_at_once(benches):
    client, _ = paired(benches, "tablet")
    key = next(each["id"] for each in client.get("/api/devices").json() if each["this"])
    with client.websocket_connect(
        "ws://192.168.1.5:8017/api/events", headers={"Origin": THERE}
    ) as live:
        at_bench = client_of(benches, lan=True)
        assert at_bench.delete(f"/api/devices/{key}").status_code == 204
        with pytest.raises(WebSocketDisconnect):
            live.receive_json()
    assert client.get("/api/timers").status_code == 403
    assert at_bench.delete(f"/api/devices/{key}").status_code == 404


def test_a_device_revokes_itself_alone(benches):
    first, _ = paired(benches, "first")
    second, _ = paired(benches, "second")
    keys = {each["name"]: each["id"] for each in first.get("/api/devices").json()}
    assert first.delete(f"/api/devices/{keys['second']}").status_code == 403
    assert first.post("/api/pair/code").status_code == 403
    assert first.delete(f"/api/devices/{keys['first']}").status_code == 204
    assert second.get("/api/timers").status_code == 200


def test_a_forged_or_old_cookie_is_worth_nothing(benches, monkeypatch):
    client, answer = paired(benches, "old")
    cookie = answer.headers["set-cookie"].split(";")[0].split("=", 1)[1]
    other = client_of(benches, lan=True, peer=OTHER, base=THERE)
    for forged in (cookie[:-1] + ("A" if cookie[-1] != "A" else "B"), "", "x.y.z", "é"):
        headers = {"Cookie": f"chape-bench-8017={forged}".encode()}
        assert other.get("/api/timers", headers=headers).status_code == 403
    assert client.get("/api/timers").status_code == 200
    monkeypatch.setattr(devices_module, "LASTS", -1)
    assert client.get("/api/timers").status_code == 403


def test_the_key_and_the_devices_are_for_their_owner_alone(benches):
    paired(benches, "\x07 a\nvery " + "long " * 20)
    own = benches[0][True][0].place.own
    for name in ("key", "devices.json"):
        assert (own / name).stat().st_mode & 0o777 == 0o600
    names = [each["name"] for each in json.loads((own / "devices.json").read_text())]
    assert all(name.isprintable() and len(name) <= 40 for name in names)


class Clock:
    now = 1000.0

    def __call__(self):
        return self.now


def test_a_code_is_spoilt_by_five_wrong_tries_and_ends_after_ten_minutes():
    clock, said = Clock(), []
    pairing = Pairing(said.append, clock)
    pairing.offer()
    pairing.offer()
    assert len(said) == 1
    code = said[0][-9:]
    wrong = f"{(int(code.replace(' ', '')) + 1) % 10**8:08d}"
    with pytest.raises(RefusedError, match="not the code"):
        pairing.use(wrong)
    with pytest.raises(RefusedError, match="too fast"):
        pairing.use(code)
    for _ in range(4):
        clock.now += 1.1
        with pytest.raises(RefusedError):
            pairing.use(wrong)
    clock.now += 1.1
    with pytest.raises(RefusedError, match="does not count any more"):
        pairing.use(code)
    pairing.offer()
    assert len(said) == 1, "a spoilt code is followed by another only after a minute"
    clock.now += 60
    pairing.offer()
    clock.now += 601
    with pytest.raises(RefusedError, match="does not count any more"):
        pairing.use(said[1][-9:])


def test_the_bench_of_one_computer_pairs_nothing(own):
    answer = own.post("/api/pair", json={"code": "12345678"})
    assert answer.status_code == 403
    assert "--lan" in answer.json()["problem"]["mend"]


def test_too_much_is_refused_however_its_length_is_told(own):
    large = b"x" * 9_000_000
    assert own.post("/api/timers", content=large).status_code == 413
    parts = (large[:1_000_000] for _ in range(9))
    told = own.post("/api/timers", content=parts)
    assert told.status_code == 413
    assert told.json()["problem"]["sentence"] == "That is larger than 8 MB"
    for length in ("-1", "1e3", ""):
        answer = own.post("/api/timers", content=b"{}", headers={"Content-Length": length})
        assert answer.status_code in {413, 422}


@pytest.mark.parametrize(
    "path",
    ["/..%2f..%2fetc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/assets/../../../key", "//etc/passwd"],
)
def test_nothing_outside_the_page_is_served(own, path):
    answer = own.get(path)
    assert answer.status_code in {403, 404, 503}
    assert b"root:" not in answer.content


def test_what_is_sent_keeps_a_page_to_this_server(own):
    for path in ("/", "/api/hello", "/api/nothing"):
        headers = own.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
    assert own.get("/api/hello").headers["cache-control"] == "no-store"
    # What is missing now may be there after the next build.
    assert own.get("/assets/gone.js").headers["cache-control"] == "no-store"
