"""The newest wish counts: of several for the same thing, the ones overtaken are dropped."""

from __future__ import annotations

import itertools
import threading
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

Result = TypeVar("Result")


class Latest:
    """Lets one wish through at a time, and of those that wait only the newest of each kind."""

    def __init__(self) -> None:
        self._turn = threading.Condition()
        self._tickets = itertools.count()
        self._newest: dict[str, int] = {}
        self._busy = False

    def run(self, kind: str, make: Callable[[], Result]) -> Result | None:
        """Return what ``make`` returns; None where a newer wish of its kind came while it waited.

        What has begun is finished.
        """
        with self._turn:
            ticket = next(self._tickets)
            self._newest[kind] = ticket
            self._turn.notify_all()
            self._turn.wait_for(lambda: not self._busy or self._newest.get(kind) != ticket)
            if self._newest.get(kind) != ticket:
                return None
            self._busy = True
        try:
            return make()
        finally:
            with self._turn:
                self._busy = False
                if self._newest.get(kind) == ticket:
                    del self._newest[kind]
                self._turn.notify_all()
