"""Tells every open page what has changed, as it changes."""

from __future__ import annotations

import asyncio
import threading
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

Event = dict[str, Any]

#: A page that has not taken so many events is gone, or reads everything anew when it is back.
MOST_WAITING = 500


@dataclass(frozen=True, slots=True)
class _Listener:
    loop: asyncio.AbstractEventLoop
    device: str | None

    def put(self, queue: asyncio.Queue[Event | None], event: Event | None) -> None:
        if not self.loop.is_closed():
            self.loop.call_soon_threadsafe(_put, queue, event)


class Events:
    """Hands events from any thread to all who listen."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._listeners: dict[asyncio.Queue[Event | None], _Listener] = {}

    def tell(self, event: Event) -> None:
        """Tell all listeners, from any thread."""
        with self._lock:
            listeners = list(self._listeners.items())
        for queue, listener in listeners:
            listener.put(queue, event)

    def changed(self, what: str, name: str, version: str | None) -> None:
        """Tell that a record, the timers or the shop changed; None for one that is gone."""
        self.tell({"kind": "changed", "what": what, "name": name, "version": version})

    def close(self) -> None:
        """Send every listener home."""
        with self._lock:
            listeners = list(self._listeners.items())
        for queue, listener in listeners:
            listener.put(queue, None)

    def dismiss(self, device: str) -> None:
        """Send those of one device home."""
        with self._lock:
            listeners = list(self._listeners.items())
        for queue, listener in listeners:
            if listener.device == device:
                listener.put(queue, None)

    @contextmanager
    def listening(self, device: str | None) -> Iterator[asyncio.Queue[Event | None]]:
        """Lend a queue on which events come; None is the last.

        Args:
            device: that listens; None for this computer itself.
        """
        queue: asyncio.Queue[Event | None] = asyncio.Queue(MOST_WAITING)
        with self._lock:
            self._listeners[queue] = _Listener(asyncio.get_running_loop(), device)
        try:
            yield queue
        finally:
            with self._lock:
                del self._listeners[queue]


def _put(queue: asyncio.Queue[Event | None], event: Event | None) -> None:
    if queue.full():
        while not queue.empty():
            queue.get_nowait()
        event = None
    queue.put_nowait(event)
