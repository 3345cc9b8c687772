"""Who may come in: this computer by itself, other devices once they are paired.

Every request passes here first. A page of elsewhere that a browser shows can send requests too, so
the name the bench was called by and the page a request comes from are both looked at.
"""

from __future__ import annotations

import ipaddress
import socket
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING, Any

from chape.bench.problem import NOT_PAIRED, Problem, answer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.types import ASGIApp, Receive, Scope, Send

    from chape.bench.devices import Devices

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})

#: Names by which this computer calls itself.
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})

#: Addresses of one site, which lead nowhere else (RFC 4193).
UNIQUE_LOCAL = ipaddress.IPv6Network("fc00::/7")

#: What a device may ask for before it is paired.
OPEN = frozenset({"/api/hello", "/api/pair"})

#: The socket was refused; code of the web sockets' standard for a broken rule.
BROKEN_RULE = 1008


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who sent a request.

    Attributes:
        own: it comes from this computer.
        device, name: of a paired one; None for others.
    """

    own: bool
    device: str | None = None
    name: str | None = None

    @property
    def welcome(self) -> bool:
        """It may use the bench."""
        return self.own or self.device is not None


class Access:
    """Lets requests in or turns them away.

    Args:
        app: what they go to.
        devices: that were paired.
        lan: other devices may come in.
    """

    def __init__(self, app: ASGIApp, devices: Devices, *, lan: bool) -> None:
        self.app = app
        self._devices = devices
        self._lan = lan
        self._names = LOOPBACK | (_own_names() if lan else frozenset())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, with its ``Visitor``, or answer it."""
        if scope["type"] not in {"http", "websocket"}:
            await self.app(scope, receive, send)
            return
        headers = {
            name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]
        }
        visitor, refusal = self._judged(scope, headers)
        if refusal is None:
            scope.setdefault("state", {})["visitor"] = visitor
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": BROKEN_RULE, "reason": ""})
        else:
            await answer(NOT_PAIRED, refusal)(scope, receive, send)

    def _judged(self, scope: Scope, headers: Mapping[str, str]) -> tuple[Visitor, Problem | None]:
        """Return who sent a request, and why it is turned away, if it is."""
        stranger = Visitor(own=False)
        host = headers.get("host", "")
        broken = self._broken_rule(scope, headers, host)
        if broken is not None:
            return stranger, broken
        if _host_name(host) in LOOPBACK and _is_loopback(scope):
            return Visitor(own=True), None
        device = self._devices.known(_cookie(headers, host)) if self._lan else None
        if device is not None:
            return Visitor(own=False, device=device.id, name=device.name), None
        path = scope["path"]
        if self._lan and scope["type"] == "http" and (path in OPEN or not _is_inner(path)):
            return stranger, None
        return stranger, Problem(
            sentence="This device is not paired with the bench",
            mend="Type the code that the bench shows on its terminal",
        )

    def _broken_rule(self, scope: Scope, headers: Mapping[str, str], host: str) -> Problem | None:
        """Return why a request is turned away whoever sends it, if it is."""
        name = _host_name(host)
        if name is None or not (name in self._names or (self._lan and _is_address(name))):
            return Problem(
                sentence="The bench does not go by that name",
                mend="Use the address it says on its terminal",
            )
        if not _is_near(scope):
            return Problem(
                sentence="The bench serves its own network alone",
                mend="Join the network that the bench is in",
            )
        if not _comes_from_own_page(scope, headers, host):
            return Problem(sentence="That came from a page of elsewhere")
        return None


def visitor_of(scope: Mapping[str, Any]) -> Visitor:
    """Return who sent a request that was let in."""
    visitor: Visitor = scope["state"]["visitor"]
    return visitor


def _is_inner(path: str) -> bool:
    """Say whether a path leads to anything but the built page, which holds nothing of anyone's."""
    return path == "/api" or path.startswith("/api/")


def _comes_from_own_page(scope: Scope, headers: Mapping[str, str], host: str) -> bool:
    socket_asked = scope["type"] == "websocket"
    secure = scope.get("scheme") in {"https", "wss"}
    own = f"{'https' if secure else 'http'}://{host}"
    origin = headers.get("origin")
    site = headers.get("sec-fetch-site")
    if socket_asked:
        return origin == own
    if scope["method"] not in SAFE:
        return origin == own if origin is not None else site in {None, "same-origin", "none"}
    # A link to the page may stand anywhere; what is behind it is for the page alone.
    return not _is_inner(scope["path"]) or site in {None, "same-origin", "none"}


def _host_name(host: str) -> str | None:
    """Return the name of a Host header, without its port; None where it is none."""
    if host.startswith("["):
        name, bracket, port = host[1:].partition("]")
        port = port.removeprefix(":") if bracket else "x"
    else:
        name, _, port = host.partition(":")
    return name.lower() if name and (not port or port.isdecimal()) else None


def _is_address(name: str) -> bool:
    """Say whether a name is an address in numbers: no one can make such a name point here."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _is_loopback(scope: Scope) -> bool:
    peer = _address(scope.get("client"))
    return peer is not None and peer.is_loopback


def _is_near(scope: Scope) -> bool:
    """Say whether a peer is not far away.

    By IPv6 every computer may be reached from everywhere, where no wall stands before the network.
    So a peer has to call from an address of a single link or site, or from the very network it
    calls into, which are the first 64 bits of the address.
    """
    peer = _address(scope.get("client"))
    if not isinstance(peer, ipaddress.IPv6Address):
        return True
    if peer.is_loopback or peer.is_link_local or peer in UNIQUE_LOCAL:
        return True
    own = _address(scope.get("server"))
    return isinstance(own, ipaddress.IPv6Address) and int(own) >> 64 == int(peer) >> 64


def _address(end: tuple[str, int] | None) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    """Return the address of one end of a line; an IPv4 one also where it is written as IPv6."""
    try:
        found = ipaddress.ip_address(end[0].strip("[]")) if end else None
    except ValueError:
        return None
    if isinstance(found, ipaddress.IPv6Address) and found.ipv4_mapped:
        return found.ipv4_mapped
    return found


def cookie_name(host: str) -> str:
    """Return the name of a device's cookie: browsers hold one for all ports of a computer.

    Args:
        host: the Host header.
    """
    port = host.rpartition(":")[2]
    return f"chape-bench-{port}" if port.isdecimal() else "chape-bench"


def _cookie(headers: Mapping[str, str], host: str) -> str | None:
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(cookie_name(host))
    except CookieError:
        return None
    return None if found is None else found.value


def _own_names() -> frozenset[str]:
    name = socket.gethostname().lower()
    return frozenset({name, f"{name.partition('.')[0]}.local"})
