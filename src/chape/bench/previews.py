"""Previews for every page of a bench: the newest wish of each page, from one warm process."""

from __future__ import annotations

import itertools
import threading
from contextlib import suppress
from typing import TYPE_CHECKING

from chape.bench.knife_view import look_at_knife
from chape.bench.latest import Latest
from chape.bench.preview import Look, preview
from chape.bench.warm import Warm
from chape.errors import ChapeError

if TYPE_CHECKING:
    from pathlib import Path

    from chape.bench.knife_view import LookAtKnife


class Previews:
    """Looks at sheaths while they are dragged."""

    def __init__(self) -> None:
        self._warm = Warm(patience=30.0)
        self._latest = Latest()
        self._single = itertools.count()

    def look(self, page: str, look: Look) -> str | None:
        """Return a preview as JSON; None where the page has wished for a newer one meanwhile.

        Args:
            page: who asks; wishes of one page overtake each other.
            look: what is to be looked at.

        Raises:
            RefusedError: the process that looks ended or is closed.
        """
        return self._latest.run(page, lambda: self._warm.ask(preview, look))

    def look_at_knife(self, page: str, look: LookAtKnife) -> str | None:
        """Return a knife as JSON; as ``look``. One without a page is never overtaken."""
        kind = f"{page} knife {look.name}" if page else f"knife {next(self._single)}"
        return self._latest.run(kind, lambda: self._warm.ask(look_at_knife, look))

    def warm_up(self, path: Path) -> None:
        """Begin the process and let it load all by looking at a sheath; do not wait for it."""
        look = Look(path, station=0.0)

        def load() -> None:
            with suppress(ChapeError):
                self._warm.ask(preview, look)

        threading.Thread(target=load, daemon=True).start()

    def close(self) -> None:
        """End the process."""
        self._warm.close()
