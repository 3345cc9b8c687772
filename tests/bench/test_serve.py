"""What keeps a bench from being served is one sentence; what it says when it is."""

import socket

import pytest
from starlette.testclient import TestClient

from chape.bench import pages, serve
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
                begun.append((self.config, sockets[0].getsockname()[0]))
                with pytest.raises(InputError, match="another bench"):
                    Place(serving.folder).lock()

        monkeypatch.setattr(serve, "_Server", Server)
        serve.serve(serving, said.append)
        return said, *begun[0]

    return run


def test_it_listens_to_this_computer_alone_and_trusts_no_forwarder(run, tmp_path):
    said, config, address = run(Serving(tmp_path, port=0, show=False))
    assert address == "127.0.0.1"
    assert "http://127.0.0.1:" in said[0]
    assert not config.proxy_headers
    assert not any("network" in line for line in said)


def test_for_the_network_it_says_address_and_code(run, tmp_path):
    said, _, address = run(Serving(tmp_path, port=0, lan=True, show=False))
    assert address == serve.EVERYWHERE
    assert any(line.startswith("From other devices of this network: http://") for line in said)
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
