"""The whole demo: first run, cold, with only the documents changed, peak memory, three grids.

The first run also compiles the kernels, as a fresh clone's does; cold has them compiled and no
results kept.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SPACINGS = (0.4, 0.2828, 0.2)


def make(folder: Path, *options: str, cache: Path) -> float:
    """Run ``chape make`` in ``folder``; return its seconds."""
    begun = time.perf_counter()
    subprocess.run(
        [
            sys.executable,
            "-c",
            "from chape.cli.main import run; run()",
            "make",
            "sheath.toml",
            *options,
            "--json",
        ],
        cwd=folder,
        env={**os.environ, "XDG_CACHE_HOME": str(cache)},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    return time.perf_counter() - begun


def peak_mib() -> float:
    """Return the peak memory of the largest finished child, MiB."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        start = Path(place) / "demo"
        cache = Path(place) / "cache"
        subprocess.run(
            [sys.executable, "-c", "from chape.cli.main import run; run()", "new", str(start)],
            stdout=subprocess.DEVNULL,
            check=True,
        )
        first = make(start, cache=cache)
        print(f"first run, kernels compiled on the way: {first:.1f} s")
        shutil.rmtree(cache / "chape" / "results")
        cold = make(start, cache=cache)
        print(f"cold: {cold:.1f} s (wanted: at most 90)")
        print(f"largest process: {peak_mib():.0f} MiB (wanted: at most 2048)")
        again = make(start, "--date", "2026-03-14", cache=cache)
        print(f"only the documents changed {again:.1f} s (wanted: at most 5)")
        sheath = start / "sheath.toml"
        text = sheath.read_text()
        for spacing in SPACINGS:
            lines = [line for line in text.splitlines() if not line.startswith("spacing")]
            at = lines.index("[sheath]") + 1
            sheath.write_text("\n".join([*lines[:at], f"spacing = {spacing}", *lines[at:]]))
            taken = make(start, "--afresh", cache=cache)
            print(f"spacing {spacing} mm: {taken:.1f} s, times spacing² {taken * spacing**2:.2f}")
