"""What keeps a bench from being served is one sentence; what it says when it is."""

import errno
import socket
from contextlib import ExitStack

import pytest
from starlette.testclient import TestClient

from chape.bench import listening, pages, serve
from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.place import Place, open_place
from chape.bench.serve import Serving
from chape.errors import InputError


@pytest.fixture
def run(monkeypatch):
    """Serve without a server, and return what was said and with what settings."""

    def run(serving):
        said, begun = [], []

        class Server:
            def __init__(self, config, _bench):
                self.config = config

            def run(self, sockets):
                begun.append((self.config, [each.getsockname()[:2] for each in sockets]))
                with pytest.raises(InputError, match="another bench"):
                    Place(serving.folder).lock()

        monkeypatch.setattr(serve, "_Server", Server)
        serve.serve(serving, said.append)
        return said, *begun[0]

    return run


def test_it_listens_to_this_computer_alone_and_trusts_no_forwarder(run, tmp_path):
    said, config, ends = run(Serving(tmp_path, port=0, show=False))
    (port,) = {port for _, port in ends}
    assert [host for host, _ in ends] == ["127.0.0.1", "::1"][: len(ends)]
    assert f"http://127.0.0.1:{port}" in said[0]
    assert not config.proxy_headers
    assert not any("network" in line for line in said)


def test_for_the_network_it_says_addresses_and_code(run, tmp_path, monkeypatch):
    monkeypatch.setattr(serve, "own_addresses", lambda: ("192.168.1.5", "[2001:db8::5]"))
    said, _, ends = run(Serving(tmp_path, port=0, lan=True, show=False))
    (port,) = {port for _, port in ends}
    assert [host for host, _ in ends] == list(listening.EVERYWHERE)[: len(ends)]
    doors = f"http://192.168.1.5:{port} or http://[2001:db8::5]:{port}"
    assert f"From other devices of this network: {doors}" in said
    assert any("can be read in it" in line for line in said)
    (code,) = [line[-9:] for line in said if line.startswith("To pair a device")]
    assert code.replace(" ", "").isdigit()


def test_what_cannot_be_served_is_one_sentence(run, tmp_path):
    with pytest.raises(InputError, match="belong together"):
        run(Serving(tmp_path, cert=tmp_path / "cert.pem"))
    (tmp_path / "cert.pem").write_text("none")
    with pytest.raises(InputError, match="cannot be used"):
        run(Serving(tmp_path, cert=tmp_path / "cert.pem", key=tmp_path / "cert.pem"))
    with pytest.raises(InputError, match="--port 70000"):
        run(Serving(tmp_path, port=70000))
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(InputError, match="cannot be used"):
            run(Serving(tmp_path, port=taken.getsockname()[1]))


def test_without_a_built_page_it_says_how_to_build_it(monkeypatch, run, tmp_path):
    monkeypatch.setattr(pages, "static_folder", lambda: None)
    monkeypatch.setattr(serve, "static_folder", lambda: None)
    said, *_ = run(Serving(tmp_path, port=0, show=False))
    assert any("pip install -e ." in line for line in said)
    app = create_app(Bench(open_place(tmp_path)))
    client = TestClient(app, base_url="http://127.0.0.1:8017", client=("127.0.0.1", 50000))
    answer = client.get("/")
    assert answer.status_code == 503
    assert "pip install -e ." in answer.text
    assert client.get("/api/hello").status_code == 200


def test_it_listens_by_both_kinds_of_addresses_where_there_are_both():
    with ExitStack() as hold:
        sockets = listening.listen(0, lan=False, hold=hold)
        port = listening.port_of(sockets)
        for each in sockets:
            with socket.socket(each.family) as caller:
                caller.connect(each.getsockname()[:2])
        with pytest.raises(InputError, match="cannot be used"):
            listening.listen(port, lan=True, hold=hold)


def test_a_port_that_only_one_kind_of_addresses_has_taken_is_passed_over(monkeypatch):
    ports = iter([errno.EADDRINUSE, None])

    def bound(*_):
        taken = next(ports)
        if taken:
            raise OSError(taken, "taken")
        return []

    monkeypatch.setattr(listening, "_bound", bound)
    with ExitStack() as hold:
        assert listening.listen(0, lan=False, hold=hold) == []


def test_without_one_kind_of_addresses_it_listens_by_the_other(monkeypatch):
    """As on a machine whose IPv6 is turned off."""
    monkeypatch.setattr(listening, "LOOPBACK", ("127.0.0.1", "2001:db8::1"))
    with ExitStack() as hold:
        (only,) = listening.listen(0, lan=False, hold=hold)
        assert only.family == socket.AF_INET


def test_its_own_addresses_are_as_a_browser_takes_them():
    for host in listening.own_addresses():
        assert not host.startswith("[fe80")
        assert host.count(":") == 0 or (host[0], host[-1]) == ("[", "]")
