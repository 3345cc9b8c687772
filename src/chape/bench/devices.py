"""The phones and computers that were paired, and the signed cookie each is known by."""

from __future__ import annotations

import json
import secrets
import threading
import time
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING

from itsdangerous import BadData, URLSafeTimedSerializer

from chape.bench.problem import MISSING, RefusedError
from chape.bench.safe_write import write_whole
from chape.errors import OutputError

if TYPE_CHECKING:
    from pathlib import Path

#: A device has to be paired again after so many seconds: thirty days.
LASTS = 30 * 86_400

#: What a device was last seen at is written down no more often than this, ms.
SEEN_EVERY = 3_600_000

#: So many devices are remembered; the one not seen longest goes for another.
MOST = 50

OWN_ONLY = 0o600


@dataclass(frozen=True, slots=True)
class Device:
    """A paired device.

    Attributes:
        name: as its person called it.
        paired, seen: milliseconds since 1970.
    """

    id: str
    name: str
    paired: int
    seen: int


class Devices:
    """All paired devices of a bench.

    Args:
        folder: of the bench's own files; the key for the cookies is made there when needed.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._file = folder / "devices.json"
        self._lock = threading.Lock()
        self._signer: URLSafeTimedSerializer | None = None

    def all(self) -> list[Device]:
        """Return all devices, the one seen last first."""
        return sorted(self._read().values(), key=lambda device: -device.seen)

    def add(self, name: str) -> tuple[Device, str]:
        """Pair a device, and return it with its cookie.

        Raises:
            OutputError: the folder cannot be written.
        """
        words = " ".join("".join(c if c.isprintable() else " " for c in name).split())
        device = Device(secrets.token_hex(8), words[:40] or "a device", _now(), _now())
        with self._lock:
            known = sorted(self._read().values(), key=lambda each: -each.seen)[: MOST - 1]
            self._write({each.id: each for each in [*known, device]})
        return device, self._signature().dumps(device.id)

    def known(self, cookie: str | None) -> Device | None:
        """Return the device a cookie was given to; None for a forged, old or revoked one."""
        if cookie is None or not self._file.is_file():
            return None
        try:
            key = self._signature().loads(cookie, max_age=LASTS)
        except (BadData, OutputError):
            return None
        device = self._read().get(key) if isinstance(key, str) else None
        if device is not None and _now() - device.seen > SEEN_EVERY:
            self._see(device)
        return device

    def remove(self, key: str) -> None:
        """Revoke a device.

        Raises:
            RefusedError: there is none.
            OutputError: the folder cannot be written.
        """
        with self._lock:
            devices = self._read()
            if key not in devices:
                raise RefusedError(MISSING, "There is no such device", mend="Load the page anew")
            del devices[key]
            self._write(devices)

    def _see(self, device: Device) -> None:
        with self._lock:
            devices = self._read()
            if device.id in devices:
                self._write({**devices, device.id: replace(device, seen=_now())})

    def _signature(self) -> URLSafeTimedSerializer:
        if self._signer is None:
            path = self._folder / "key"
            if not path.is_file():
                write_whole(path, secrets.token_bytes(32), OWN_ONLY)
            self._signer = URLSafeTimedSerializer(path.read_bytes(), salt="chape-bench-device")
        return self._signer

    def _read(self) -> dict[str, Device]:
        try:
            devices = [Device(**each) for each in json.loads(self._file.read_bytes())]
        except (OSError, ValueError, TypeError):
            return {}
        return {device.id: device for device in devices}

    def _write(self, devices: dict[str, Device]) -> None:
        content = json.dumps([asdict(device) for device in devices.values()]).encode()
        write_whole(self._file, content, OWN_ONLY)


def _now() -> int:
    return int(time.time() * 1000)
