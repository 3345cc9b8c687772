"""Run a kernel over bands of rows on every core.

Plain threads round a compiled kernel that lets go of the interpreter: a quarter of the compile time
of the compiler's own parallel loops, and bands that each do the same work in any order.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


def over_bands(work: Callable[[int, int], None], rows: int, height: int) -> None:
    """Call ``work(first, last)`` for bands of ``height`` rows (the last may be lower).

    Args:
        work: writes only to its own rows, so that the outcome does not depend on the cores.
        rows: how many there are.
        height: of a band.
    """
    firsts = range(0, rows, height)
    with ThreadPoolExecutor(os.cpu_count() or 1) as cores:
        # Gathering the results hands on what a band raised.
        list(cores.map(lambda first: work(first, min(first + height, rows)), firsts))
