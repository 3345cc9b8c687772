"""Runs the server of the bench until it is stopped."""

from __future__ import annotations

import socket
import webbrowser
from dataclasses import dataclass
from typing import TYPE_CHECKING

import uvicorn

from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.place import open_place
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

LOOPBACK, EVERYWHERE = "127.0.0.1", "0.0.0.0"  # noqa: S104 - only with --lan, where it must be

#: The largest port number there is.
LAST_PORT = 65535


@dataclass(frozen=True, slots=True)
class Serving:
    """How a bench is served.

    Attributes:
        folder: it works in.
        port: it listens on; 0 takes any that is free.
        lan: other devices of the network may be paired.
        show: a browser is opened.
    """

    folder: Path
    port: int = 8017
    lan: bool = False
    show: bool = True


def serve(serving: Serving, say: Callable[[str], None]) -> None:
    """Serve a bench until it is stopped.

    Args:
        serving: how.
        say: told each line for the terminal.

    Raises:
        InputError: the folder or the port is taken or cannot be used.
        OutputError: the folder cannot be written.
    """
    place = open_place(serving.folder)
    with place.lock(), _listening(serving) as listener:
        port = listener.getsockname()[1]
        address = f"http://localhost:{port}"
        say(f"The bench in {place.folder}: {address}")
        say("Stop it with Ctrl-C; nothing is lost.")
        config = uvicorn.Config(
            create_app(Bench(place, serving.lan)),
            proxy_headers=False,
            server_header=False,
            log_level="warning",
            ws_max_size=1_000_000,
            timeout_graceful_shutdown=2,
        )
        if serving.show:
            webbrowser.open(address)
        uvicorn.Server(config).run(sockets=[listener])


def _listening(serving: Serving) -> socket.socket:
    """Return a socket that listens, so that a taken port is said before anything starts."""
    if not 0 <= serving.port <= LAST_PORT:
        raise InputError(
            f"found --port {serving.port}", mend=f"Write 1 to {LAST_PORT}, or 0 for any"
        )
    listener = socket.socket()
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((EVERYWHERE if serving.lan else LOOPBACK, serving.port))
    except OSError as error:
        listener.close()
        raise InputError(
            f"port {serving.port} cannot be used ({error.strerror})",
            mend="Choose another with --port, or stop what uses it",
        ) from None
    return listener
