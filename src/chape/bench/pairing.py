"""The code that pairs a device: eight digits on the terminal, for one use and a short time.

With five tries for a code, a second between tries and a minute after a spoilt code, guessing for a
day finds one of a hundred million codes with a chance below one in ten thousand.
"""

from __future__ import annotations

import secrets
import threading
import time
from typing import TYPE_CHECKING

from chape.bench.problem import NOT_PAIRED, RefusedError

if TYPE_CHECKING:
    from collections.abc import Callable

#: A code counts for ten minutes, s, and for five tries.
LASTS, TRIES = 600.0, 5

#: Between two tries, and from a code spoilt by wrong tries to the next, s.
BETWEEN, AFTER_SPOILT = 1.0, 60.0

TOO_OFTEN = 429


class Pairing:
    """The code that counts now.

    Args:
        say: told each new code, for the terminal.
        clock: in seconds.
    """

    def __init__(
        self, say: Callable[[str], None], clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._say = say
        self._clock = clock
        self._lock = threading.Lock()
        self._code = ""
        self._until = 0.0
        self._tries = 0
        self._next_try = 0.0
        self._next_code = 0.0

    def offer(self) -> None:
        """Put a new code on the terminal, unless one counts or the last was just spoilt."""
        with self._lock:
            now = self._clock()
            if (self._code and now < self._until) or now < self._next_code:
                return
            self._code = f"{secrets.randbelow(10**8):08d}"
            self._until = now + LASTS
            self._tries = 0
            code = self._code
        self._say(
            f"To pair a device, type this code on it within ten minutes: {code[:4]} {code[4:]}"
        )

    def use(self, code: str) -> None:
        """Use up the code.

        Raises:
            RefusedError: it is not the code, or none counts, or it was tried too often.
        """
        with self._lock:
            now = self._clock()
            if now < self._next_try:
                raise RefusedError(
                    TOO_OFTEN, "That was too fast", mend="Wait a second and type it again"
                )
            self._next_try = now + BETWEEN
            if not self._code or now >= self._until:
                raise RefusedError(
                    NOT_PAIRED,
                    "That code does not count any more",
                    mend="Load this page anew, and take the new code from the terminal",
                )
            typed = "".join(digit for digit in code if digit.isdecimal() and digit.isascii())
            right = secrets.compare_digest(typed, self._code)
            self._tries += 1
            if right:
                self._code = ""
                return
            if self._tries >= TRIES:
                self._code = ""
                self._next_code = now + AFTER_SPOILT
                raise RefusedError(
                    NOT_PAIRED,
                    "That was not the code, and it does not count any more",
                    mend="Wait a minute, load this page anew, and take the new one",
                )
        raise RefusedError(
            NOT_PAIRED, "That is not the code", mend="Take it from the terminal of the bench"
        )
