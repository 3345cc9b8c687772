"""The whole demo: cold, with only the documents changed, peak memory, and three grid sizes.

Cold means no kept results; compiled kernels are kept by an earlier run unless ``--bare`` clears
them first.
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

import chape

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


def clear_kernels() -> None:
    """Remove every compiled kernel, as in a fresh clone."""
    for folder in Path(chape.__file__).parent.rglob("__pycache__"):
        shutil.rmtree(folder, ignore_errors=True)


def peak_mib() -> float:
    """Return the peak memory of the largest finished child, MiB."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


if __name__ == "__main__":
    if "--bare" in sys.argv:
        clear_kernels()
    with tempfile.TemporaryDirectory() as place:
        start = Path(place) / "demo"
        cache = Path(place) / "cache"
        subprocess.run(
            [sys.executable, "-c", "from chape.cli.main import run; run()", "new", str(start)],
            stdout=subprocess.DEVNULL,
            check=True,
        )
        cold = make(start, cache=cache)
        print(f"cold {cold:.1f} s (wanted: at most 90), peak {peak_mib():.0f} MiB (at most 2048)")
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
