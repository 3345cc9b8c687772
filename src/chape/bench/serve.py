"""Runs the server of the bench until it is stopped."""

from __future__ import annotations

import ssl
import threading
import webbrowser
from contextlib import ExitStack
from dataclasses import dataclass
from importlib import import_module, resources
from typing import TYPE_CHECKING

import uvicorn

from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.listening import listen, own_addresses, port_of
from chape.bench.pages import HOW_TO_BUILD, static_folder
from chape.bench.place import open_place
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path
    from types import FrameType


@dataclass(frozen=True, slots=True)
class Serving:
    """How a bench is served.

    Attributes:
        folder: it works in.
        port: it listens on; 0 takes any that is free.
        lan: other devices of the network may be paired.
        show: a browser is opened.
        cert, key: files of a certificate and its key; None for both serves without.
    """

    folder: Path
    port: int = 8017
    lan: bool = False
    show: bool = True
    cert: Path | None = None
    key: Path | None = None


def serve(serving: Serving, say: Callable[[str], None]) -> None:
    """Serve a bench until it is stopped.

    Args:
        serving: how.
        say: told each line for the terminal.

    Raises:
        InputError: the folder, the port or the certificate is taken or cannot be used.
        OutputError: the folder cannot be written.
    """
    _check_certificate(serving)
    place = open_place(serving.folder)
    with ExitStack() as hold:
        hold.enter_context(place.lock())
        sockets = listen(serving.port, lan=serving.lan, hold=hold)
        port = port_of(sockets)
        scheme = "http" if serving.cert is None else "https"
        reached = own_addresses() if serving.lan else ()
        doors = tuple(f"{scheme}://{host}:{port}" for host in reached)
        bench = Bench(place, serving.lan, say, doors)
        config = uvicorn.Config(
            create_app(bench),
            proxy_headers=False,
            server_header=False,
            log_level="warning",
            ws_max_size=1_000_000,
            timeout_graceful_shutdown=2,
            ssl_certfile=serving.cert,
            ssl_keyfile=serving.key,
        )
        say(f"The bench in {place.folder}: {scheme}://127.0.0.1:{port}")
        if static_folder() is None:
            say(f"The page itself is not built: {HOW_TO_BUILD}")
        if serving.lan:
            _say_lan(bench, say)
        say("Stop it with Ctrl-C; nothing is lost.")
        threading.Thread(target=_warm_up, args=(bench,), daemon=True).start()
        if serving.show:
            webbrowser.open(f"{scheme}://127.0.0.1:{port}")
        _Server(config, bench).run(sockets=sockets)


class _Server(uvicorn.Server):
    """A server that waits for no look at a sheath when it is told to stop."""

    def __init__(self, config: uvicorn.Config, bench: Bench) -> None:
        super().__init__(config)
        self._bench = bench

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        # Beside the signal: who looks holds the lock that closing takes.
        threading.Thread(target=self._bench.previews.close, daemon=True).start()
        super().handle_exit(sig, frame)


def _warm_up(bench: Bench) -> None:
    """Import what the first question of a page needs, while the page is on its way.

    Then let the process that looks at sheaths load all it takes, by one of chape's own.
    """
    for name in ("chape.pipeline.file", "chape.bench.shelf", "chape.bench.form"):
        import_module(name)
    with resources.as_file(resources.files("chape.demo") / "camp-sheath.toml") as path:
        bench.previews.warm_up(path)


def _say_lan(bench: Bench, say: Callable[[str], None]) -> None:
    say(f"From other devices of this network: {' or '.join(bench.doors)}")
    if bench.doors[0].startswith("http:"):
        say("What goes over the network can be read in it; --cert and --key prevent that.")
    bench.pairing.offer()


def _check_certificate(serving: Serving) -> None:
    if (serving.cert is None) != (serving.key is None):
        raise InputError("a certificate and its key belong together", mend="Give --cert and --key")
    if serving.cert is None:
        return
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(serving.cert, serving.key)
    except (OSError, ValueError) as error:
        raise InputError(
            f"the certificate or its key cannot be used ({error})",
            mend="Give a certificate and its key as PEM files, without a pass phrase",
            file=serving.cert,
        ) from None
