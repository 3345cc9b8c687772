"""The one door to the compiler, typed, so that kernels stay typed.

Compiled kernels are kept between runs in the person's cache folder, under the hash of chape's own
source: the compiler looks only at the file of the kernel that is called, and would run on with an
old one where a kernel it calls has changed.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, ParamSpec, TypeVar

import numba
import platformdirs
from numba.core import config

if TYPE_CHECKING:
    from collections.abc import Callable

Arguments = ParamSpec("Arguments")
Result = TypeVar("Result")


def _source_digest() -> str:
    root = Path(__file__).parent
    digest = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        content = path.read_bytes()
        if b"chape.kernels" in content:
            digest.update(str(path.relative_to(root)).encode())
            digest.update(content)
    return digest.hexdigest()[:16]


def _cache_folder() -> Path:
    """Return a folder for compiled kernels; a passing one where the person's own is read-only."""
    folder = Path(platformdirs.user_cache_dir("chape")) / "kernels" / _source_digest()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        writable = os.access(folder, os.W_OK)
    except OSError:
        writable = False
    return folder if writable else Path(tempfile.mkdtemp(prefix="chape-kernels-"))


# Read when a kernel is first kept; the library does not declare it.
config.CACHE_DIR = str(_cache_folder())  # type: ignore[attr-defined]


def kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a numeric kernel to machine code, kept on disk between runs."""
    # Without the interpreter's lock, plain threads can share a kernel's rows among the cores.
    compiled: Callable[Arguments, Result] = numba.njit(cache=True, error_model="numpy", nogil=True)(
        function
    )
    return compiled


def parallel_kernel(function: Callable[Arguments, Result]) -> Callable[Arguments, Result]:
    """Compile a kernel whose ``numba.prange`` loops share the machine's cores."""
    compiled: Callable[Arguments, Result] = numba.njit(
        cache=True, error_model="numpy", parallel=True
    )(function)
    return compiled
