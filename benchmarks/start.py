"""How long ``chape --help`` takes beyond bare Python's own start, as a ratio and in seconds."""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

ROUNDS = 15


def seconds(code: str) -> float:
    """Return the median seconds of a few runs of ``python -c code``."""
    taken = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, "-c", code, "--help"], stdout=subprocess.DEVNULL, check=True
        )
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


if __name__ == "__main__":
    bare = seconds("pass")
    whole = seconds("from chape.cli.main import run; run()")
    print(f"bare Python {bare:.3f} s, chape --help {whole:.3f} s")
    print(f"beyond bare Python: {whole - bare:.3f} s (wanted: at most 0.3 s)")
    print(f"ratio {whole / bare:.1f}")
