"""Timers for what stands and heats, on the disk, so that no reload and no restart loses one."""

from __future__ import annotations

import json
import secrets
import threading
import time
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from chape.bench.problem import MISSING, RefusedError
from chape.bench.safe_write import write_whole
from chape.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.bench.events import Events

#: More timers than this nobody listens to; none runs longer than a day, s.
MOST, LONGEST = 50, 86_400

#: A timer that has long rung is cleared after a day, ms.
STALE = 86_400_000


@dataclass(frozen=True, slots=True)
class Timer:
    """A timer.

    Attributes:
        title: what it is for.
        seconds: it runs.
        ends: milliseconds since 1970.
    """

    id: str
    title: str
    seconds: float
    ends: int

    @property
    def done(self) -> bool:
        """It has rung."""
        return self.ends <= now()


class Timers:
    """All timers of a bench.

    Args:
        file: they are kept in.
        events: told of every change.
    """

    def __init__(self, file: Path, events: Events) -> None:
        self._file = file
        self._events = events
        self._lock = threading.Lock()

    def all(self) -> list[Timer]:
        """Return all timers, the one that rings first first."""
        return sorted(self._read(), key=lambda timer: timer.ends)

    def start(self, title: str, seconds: float) -> Timer:
        """Start a timer.

        Raises:
            InputError: it would run no time or too long, or too many run already.
            OutputError: the folder cannot be written.
        """
        if not 0 < seconds <= LONGEST:
            raise InputError(
                f"a timer of {seconds:g} s cannot be set",
                mend=f"Set more than 0 and at most {LONGEST} s",
                field="seconds",
            )
        timer = Timer(secrets.token_hex(6), title, seconds, now() + round(seconds * 1000))
        with self._lock:
            timers = [each for each in self._read() if each.ends > now() - STALE]
            if len(timers) >= MOST:
                raise InputError(f"{MOST} timers are set already", mend="Clear some first")
            self._write([*timers, timer])
        return timer

    def clear(self, key: str) -> None:
        """Stop a timer, or clear one that has rung.

        Raises:
            RefusedError: there is none.
            OutputError: the folder cannot be written.
        """
        with self._lock:
            timers = self._read()
            left = [each for each in timers if each.id != key]
            if len(left) == len(timers):
                raise RefusedError(MISSING, "There is no such timer", mend="Load the page anew")
            self._write(left)

    def _read(self) -> list[Timer]:
        try:
            return [Timer(**each) for each in json.loads(self._file.read_bytes())]
        except (OSError, ValueError, TypeError):
            return []

    def _write(self, timers: list[Timer]) -> None:
        write_whole(self._file, json.dumps([asdict(each) for each in timers]).encode())
        self._events.changed("timer", "", None)


def now() -> int:
    """Return the time, milliseconds since 1970."""
    return int(time.time() * 1000)
