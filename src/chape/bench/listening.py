"""Where the bench listens, by both kinds of addresses, and by which ones others reach it."""

from __future__ import annotations

import errno
import socket
from contextlib import ExitStack

from chape.errors import InputError

#: The largest port number there is.
LAST_PORT = 65535

#: This computer alone, and every way into it; by IPv4 and by IPv6.
LOOPBACK = ("127.0.0.1", "::1")
EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104 - only with --lan, where it must be

#: Addresses for examples: nothing is sent to them, but the way to them is known.
AWAY = ("192.0.2.1", "2001:db8::1")

FAMILIES = (socket.AF_INET, socket.AF_INET6)

#: What a system says that does without one kind of addresses.
WITHOUT = {errno.EAFNOSUPPORT, errno.EADDRNOTAVAIL, errno.EPROTONOSUPPORT, errno.EINVAL}

#: So often another free port is looked for where one of the two kinds has it taken.
TRIES = 20


def listen(port: int, *, lan: bool, hold: ExitStack) -> list[socket.socket]:
    """Return sockets that listen, so that a taken port is said before anything starts.

    Args:
        port: the same for both kinds of addresses; 0 takes any that is free.
        lan: other devices may come in.
        hold: closes them in the end.

    Raises:
        InputError: the port cannot be, or is taken.
    """
    if not 0 <= port <= LAST_PORT:
        raise InputError(f"found --port {port}", mend=f"Write 1 to {LAST_PORT}, or 0 for any")
    hosts = EVERYWHERE if lan else LOOPBACK
    for left in reversed(range(TRIES if port == 0 else 1)):
        with ExitStack() as trying:
            try:
                sockets = _bound(hosts, port, trying)
            except OSError as error:
                if left and error.errno == errno.EADDRINUSE:
                    continue
                raise InputError(
                    f"port {port} cannot be used ({error.strerror})",
                    mend="Choose another with --port, or stop what uses it",
                ) from None
            hold.enter_context(trying.pop_all())
            return sockets
    raise AssertionError("the last try returns or raises")


def port_of(sockets: list[socket.socket]) -> int:
    """Return the port that all of them listen at."""
    return int(sockets[0].getsockname()[1])


def own_addresses() -> tuple[str, ...]:
    """Return the addresses by which this computer goes in its network, as a browser takes them.

    Nothing is sent for that. Where it is in no network, it is its name.
    """
    found = []
    for family, away in zip(FAMILIES, AWAY, strict=True):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as asking:
                asking.connect((away, 9))
                host = str(asking.getsockname()[0])
        except OSError:
            continue
        if host not in {*LOOPBACK, *EVERYWHERE}:
            found.append(f"[{host}]" if family == socket.AF_INET6 else host)
    return tuple(found) or (socket.gethostname(),)


def _bound(hosts: tuple[str, str], port: int, hold: ExitStack) -> list[socket.socket]:
    found: list[socket.socket] = []
    without: OSError | None = None
    for family, host in zip(FAMILIES, hosts, strict=True):
        try:
            each = hold.enter_context(socket.socket(family))
            each.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            if family == socket.AF_INET6:
                each.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
            each.bind((host, port))
            # Who comes before the server is up waits for it, and is not turned away.
            each.listen()
        except OSError as error:
            if error.errno not in WITHOUT:
                raise
            without = error
            continue
        port = port or port_of([each])
        found.append(each)
    if not found and without is not None:
        raise without
    return found
